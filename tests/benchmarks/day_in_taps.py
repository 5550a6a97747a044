"""What a day costs at the tablet: taps, keys and signatures of each page, as its forms stand, for the demo's place.

    python tests/benchmarks/day_in_taps.py [--json]

A tap is a press or a field touched, the button of Now that opens a page, and the one that signs. A key is one letter or digit typed, those of PINs and
slips too (a code without its dashes, which may be left out). A tap on a name leads into its PIN, a tick at the oath into the code of the slip, a whole code
into the PIN, a container into its seal; a reading opens in its first figure. "All 4" ticks a group, "The rest: 0" writes 0 where nothing is written, "Next
seals, in order" fills in a group: one tap each. What a key beside a field writes ("0", the time now, the next seal of the list, what the record knows) is one
tap and no key. What the page says may be left empty is left empty, and the page is sent so. A page signed by two is passed on, not opened again. The closing
goes from the end of the line to the carriers' departure. The day is the demo's: two tabulators, two styles, eight officials, PINs of six digits.
"""

import json
import re
import sys
import tempfile
from dataclasses import dataclass, field
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

from demo_precinct.http_window import Form, Page, Window  # noqa: E402 - the folders above must be found first
from tests.pages.scene import Playbook  # noqa: E402
from webapp.pages.shared.filters import field_id  # noqa: E402
from webapp.precinct.checklist.checklist import LISTS, steps  # noqa: E402

GOALS = {
    "opening": (200, 330, 26),
    "closing, without the tapes": (200, None, None),
    "the 08:00 reading": (7, None, 1),
    "jam": (7, None, 2),
    "bin emptied": (10, None, 2),
    "handed back": (2, 0, 0),
    "spoiled": (3, 0, 0),
    "provisional": (3, 0, 0),
}
TAPES = ("tape-prints", "tape-typed", "tape-signed")
KEYED = re.compile(r'name="([^"]+)"[^>]*>\s*<button type="button" class="key" data-key="(\w+)"')
KEYS = re.compile(r'name="([^"]+)"[^>]*>(?:\s*<button [^>]*>[^<]*</button>)?\s*<span class="keys">(.*?)</span>')
FREE = re.compile(r'id="(f-[^"]+)-hint">[^<]*[Ll]eave it empty where')


@dataclass
class Cost:
    """Of one page or of several."""

    taps: int = 0
    keys: int = 0
    signatures: int = 0
    entered: int = 0  # of the taps: fields that Enter in the field before reaches too, a key instead of a tap

    def __add__(self, other: "Cost") -> "Cost":
        return Cost(
            self.taps + other.taps,
            self.keys + other.keys,
            self.signatures + other.signatures,
            self.entered + other.entered,
        )


@dataclass
class Counted:
    """The cost of each page so far, by its address; the page that was read last."""

    by_page: dict[str, Cost] = field(default_factory=dict)
    now: str = ""
    text: str = ""

    def add(self, cost: Cost) -> None:
        self.by_page[self.now] = self.by_page.get(self.now, Cost()) + cost

    def opened(self, page: Page) -> None:
        """A page of its own costs the tap that opens it; the second signer is handed the tablet."""
        self.text = page.text
        if page.path.startswith("/sign/"):
            return
        if page.path.startswith(
            ("/step/", "/tape/", "/packet/make", "/packet/close", "/balance", "/people/oath/", "/note/")
        ):
            self.now = page.path.partition("?")[0]
            self.add(Cost(taps=2 if page.path.startswith("/note/") else 1))


class CountingWindow(Window):
    """A window that counts what a hand would do before a form is sent."""

    def __init__(self, port: int, counted: Counted):
        super().__init__(port)
        self.counted = counted

    def get(self, path: str) -> Page:
        page = super().get(path)
        self.counted.opened(page)
        return page

    def send(self, form: Form, values=None) -> Page:
        values = left_empty(form, values or {}, self.counted.text)
        if not form.action.startswith(("/practice", "/tablet")):
            self.counted.add(cost_of(form, values, self.counted.text))
        page = super().send(form, values)
        self.counted.text = page.text
        return page


def left_empty(form: Form, values, text: str):
    """The same without what the page says may be left empty: the product works it out, as the rehearsal would have typed it."""
    free = set(FREE.findall(text))

    def asked(name: str) -> bool:
        if field_id(name) not in free or (control := form.controls[name]).kind in ("radio", "checkbox"):
            return True
        found = values.get(name.rpartition("/")[0] + "/ballots_found", "0")
        return bool(control.value) or found != "0"

    return {name: value for name, value in values.items() if asked(name)}


def led_into(form: Form, text: str) -> set[str]:
    """Inputs that a tap elsewhere leads into, or the page opens in."""
    led = {
        name for name in form.controls if name.endswith("pin") and name.removesuffix("pin") + "signer" in form.controls
    }
    led |= set(re.findall(r'data-leads="([^"]+)"', text)) & form.controls.keys()
    if "code" in form.controls:
        led |= {"code", "pin"}
    if "data-begin" in text:
        led.add(next(name for name, control in form.controls.items() if control.kind == "input"))
    return led


def cost_of(form: Form, values, text: str) -> Cost:
    """What a hand does to fill this form in so, and to send it."""
    cost, groups = Cost(taps=1), Groups(form, values, text)
    by_key, led = keys_beside(text, values), led_into(form, text)
    spares = (re.search(r'data-spares="([^"]*)"', text) or ["", ""])[1].split()
    beside = False  # whether the text field before this one was filled in
    for name, control in form.controls.items():
        value = values.get(name, control.value)
        if control.kind in ("hidden", "submit"):
            continue
        typed, beside = beside, bool(value and value != control.value) and control.kind not in ("radio", "checkbox")
        if not value or value == control.value:
            continue
        if name in groups:
            cost.taps += groups.first(name)
        elif control.kind in ("radio", "checkbox"):
            cost.taps += 1
        else:
            pressed = (
                value in by_key.get(name, {}) or bool(spares) and "next" in by_key.get(name, {}) and value == spares[0]
            )
            pressed = pressed and name not in led
            letters = len(value.replace("-", "")) if name == "code" else len(value)
            cost += Cost(
                int(name not in led), 0 if pressed else letters, 0, int(typed and name not in led and not pressed)
            )
        if spares and value == spares[0]:
            spares.pop(0)
    if "pin" in form.controls and values.get("pin"):
        cost.signatures += 1
    return cost


def keys_beside(text: str, values) -> dict[str, dict[str, str]]:
    """By input: the texts that keys beside it write; "next" where one writes the next seal."""
    clock = re.search(r'<time data-now datetime="([0-9:]+)"', text)
    found: dict[str, dict[str, str]] = {}
    for name, key in KEYED.findall(text):
        found.setdefault(name, {})[clock[1] if key == "now" and clock else key] = key
    for name, keys in KEYS.findall(text):
        for written in re.findall(r'data-write="([^"]+)"', keys) + [
            values[like] for like in re.findall(r'data-like="([^"]+)"', keys) if like in values
        ]:
            found.setdefault(name, {})[written] = "write"
    return found


class Groups:
    """What one tap fills in together: "All 4", "The rest: 0", "Next seals, in order", and answers chosen at a tap."""

    def __init__(self, form: Form, values, text: str):
        self.done: set[str] = set()
        self.of: dict[str, str] = {}
        for before in re.findall(r'data-all="([^"]+)"', text):
            self.of |= {name: f"all {before}" for name in form.controls if name.startswith(f"{before}.")}
        for ticks in re.findall(r'data-ticks="([^"]+)"', text):
            self.of |= {name: f"ticks {ticks}" for name in ticks.split()}
        for before in re.findall(r'data-rest="([^"]+)"', text):
            zeros = [n for n in form.controls if n.startswith(f"{before}.") and values.get(n) == "0"]
            self.of |= {name: f"rest {before}" for name in zeros}
        for before in re.findall(r'data-next="([^"]+)"', text):
            self.of |= {name: f"next {before}" for name in form.controls if name.startswith(f"{before}.")}
        for choose in re.findall(r'data-choose="([^"]+)"', text):
            pairs = [pair.split("=") for pair in choose.split()]
            if all(values.get(name) == value for name, value in pairs):
                self.of |= {name: f"choose {choose}" for name, _ in pairs}

    def __contains__(self, name: str) -> bool:
        return name in self.of

    def first(self, name: str) -> int:
        """1 for the tap itself, 0 for the rest of its group."""
        new = self.of[name] not in self.done
        self.done.add(self.of[name])
        return int(new)


def main() -> int:
    """Play the day; print each page, the sums and their goals. 1 where a goal is missed."""
    with tempfile.TemporaryDirectory(prefix="tapeseal-taps-") as folder:
        book = Playbook(Path(folder))
        counted = Counted()
        book.player.crew.window = CountingWindow(book.running.port, counted)
        try:
            for moment in ("dawn", "sworn", "polls-open", "voting"):
                book.player.until(moment)
            opening = dict(counted.by_page)
            notes = of_notes(book, counted)
            book.player.until("the end")
        finally:
            book.close()
    sums = {**summed(opening, counted.by_page), **notes}
    print(
        json.dumps({what: vars(cost) for what, cost in sums.items()}) if "--json" in sys.argv else table(counted, sums)
    )
    missed = [
        what
        for what, goal in GOALS.items()
        if what in sums and any(g is not None and n > g for n, g in zip(vars(sums[what]).values(), goal, strict=False))
    ]
    if missed and "--json" not in sys.argv:
        print(f"Above its goal: {', '.join(missed)}.")
    return int(bool(missed))


def of_notes(book: Playbook, counted: Counted) -> dict[str, Cost]:
    """Notes of the day, from Now or any page on: two that two parties sign, three that are ticked."""
    crew, answers = book.player.crew, book.player.answers
    crew.note("jam", "T1", counted="yes", went="main-bin")
    tile = "/note/bin-emptied/B1?bin=main"
    assert tile in crew.window.get("/note").text
    page = crew.window.get(tile)
    form = page.form("/note/bin-emptied/B1")
    values = crew.values(form, "bin-emptied", "B1") | {"container": "C1", "seal": answers.take("C1"), "ballots": ""}
    crew.signed(page, form, {name: value for name, value in values.items() if name != "bin"})
    return {
        "jam": counted.by_page["/note/jam/T1"],
        "bin emptied": counted.by_page["/note/bin-emptied/B1"],
        "handed back": pressed(book, ["/now", "/note/handed-back"], "/note/handed-back", "cell", "overvote/as-is"),
        "spoiled": pressed(book, ["/note", "/note/spoiled?style=3A"], "/note/spoiled", "usual", "yes"),
        "provisional": pressed(
            book, ["/note", "/note/provisional?style=3A"], "/note/provisional", "usual", "not-in-book"
        ),
    }


def pressed(book: Playbook, links: list[str], action: str, button: str, value: str) -> Cost:
    """A note that is kept at the press of a button: a tap for each link from page to page, one for the button. Now itself is open; Note is one tap away from every page."""
    window, taps = book.player.crew.window, 0
    book.player.crew.hold("lindqvist")
    for before, link in zip(["/count", *links], links, strict=False):
        if link != "/now":
            assert f'href="{link}"' in window.get(before).text, f"{before} has no link to {link}"
            taps += 1
    form = window.get(links[-1]).form(action)
    sent = [(name, text) for name, text in form.filled({}) if name != button]
    page = window.post(form.action, [*sent, (button, value)])
    assert page.status < 400, page.said()
    return Cost(taps=taps + 1)


def summed(opening: dict[str, Cost], pages: dict[str, Cost]) -> dict[str, Cost]:
    """The opening, the first reading, the closing without its tapes."""
    listed = {step.id: step.list for step in steps_of_the_demo()}
    found: dict[str, Cost] = {name: Cost() for name, _ in LISTS}
    for path, cost in {
        **pages,
        **{p: c for p, c in opening.items() if p.startswith(("/step/arrivals", "/people"))},
    }.items():
        step = path.removeprefix("/step/").partition(":")[0]
        if path.startswith("/people/oath/"):
            found["opening"] += cost
        elif path.startswith(("/tape/", "/note/")) or step in TAPES:
            continue
        elif path.startswith("/packet"):
            found["hand-over"] += cost
        elif path.startswith("/balance"):
            found["closing"] += cost
        elif step in listed:
            found[listed[step]] += cost
    reading = pages.get("/step/hourly:08:00", Cost())
    return {
        "opening": found["opening"],
        "the 08:00 reading": reading,
        "closing, without the tapes": found["closing"] + found["hand-over"],
    }


def steps_of_the_demo():
    from demo_precinct import rehearsed_county
    from webapp.precinct.place import place_file

    return steps(place_file.read((rehearsed_county.HERE / "place.toml").read_bytes()))


def table(counted: Counted, sums: dict[str, Cost]) -> str:
    """One line a page, then the sums beside their goals."""
    lines = [
        f"{cost.taps:5} taps {cost.keys:5} keys {cost.signatures:3} signatures  {path}"
        for path, cost in counted.by_page.items()
    ]
    for what, cost in sums.items():
        goal = GOALS.get(what, (None, None, None))
        said = ", ".join(
            f"{n} of {g}" if g is not None else f"{n}" for n, g in zip(vars(cost).values(), goal, strict=False)
        )
        lines.append(
            f"{what}: taps, keys, signatures {said}; with Enter from field to field {cost.taps - cost.entered} taps, {cost.keys + cost.entered} keys"
        )
    return "\n".join(lines)


if __name__ == "__main__":
    sys.exit(main())
