"""What a day costs at the tablet: taps, keys and signatures of each page, as its forms stand, for the demo's place.

    python tests/benchmarks/day_in_taps.py [--json]

A tap is a press or a field touched, the button of Now that opens a page, and the one that signs. A key is one letter or digit typed, those of PINs and
slips too. A tap on a name leads into its PIN, a tick at the oath into the code of the slip, a whole code into the PIN, and "All 4" ticks a group: one tap. What a key beside a field writes ("0", the time now, the next seal of the list) is one tap and no key. A page signed by two is passed on, not
opened again. The day is the demo's: two tabulators, two styles, eight officials, PINs of six digits.
"""

import json
import re
import sys
import tempfile
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

from demo_precinct.http_window import Form, Page, Window  # noqa: E402 - the folders above must be found first
from tests.pages.scene import Playbook  # noqa: E402
from webapp.precinct.checklist.checklist import LISTS, steps  # noqa: E402

GOALS = {
    "opening": (200, 330, 26),
    "closing, without the tapes": (200, None, None),
    "the 08:00 reading": (7, None, 1),
    "jam": (7, None, 2),
    "bin emptied": (10, None, 2),
}
TAPES = ("tape-prints", "tape-typed", "tape-signed")
KEYED = re.compile(r'name="([^"]+)"[^>]*>\s*<button type="button" class="key" data-key="(\w+)"')


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
            self.now = page.path
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
        values = values or {}
        if not form.action.startswith(("/practice", "/tablet")):
            self.counted.add(cost_of(form, values, self.counted.text))
        page = super().send(form, values)
        self.counted.text = page.text
        return page


def cost_of(form: Form, values, text: str) -> Cost:
    """What a hand does to fill this form in so, and to send it."""
    keyed, cost = dict(KEYED.findall(text)), Cost(taps=1)
    clock = re.search(r'<time data-now datetime="([0-9:]+)"', text)
    groups, done = set(re.findall(r'data-all="([^"]+)"', text)), set()
    spares = (re.search(r'data-spares="([^"]*)"', text) or ["", ""])[1].split()
    beside = False  # whether the text field before this one was filled in
    for name, control in form.controls.items():
        value = values.get(name, control.value)
        if control.kind in ("hidden", "submit"):
            continue
        typed, beside = beside, bool(value and value != control.value) and control.kind not in ("radio", "checkbox")
        if control.kind in ("radio", "checkbox"):
            ticked = value != control.value
            if ticked and (group := name.rpartition(".")[0]) in groups:
                ticked = group not in done
                done.add(group)
            cost.taps += int(ticked)
        elif value and value != control.value:
            key = keyed.get(name, "")
            by_key = (key == "0" and value == "0") or (key == "now" and clock and value == clock[1])
            if key == "next" and spares and value == spares[0]:
                by_key = bool(spares.pop(0))
            led = (
                name == "code"
                or (name == "pin" and "code" in form.controls)
                or (name.endswith("pin") and name.removesuffix("pin") + "signer" in form.controls)
            )
            cost += Cost(0 if led else 1, 0 if by_key else len(value), 0, int(typed and not led and not by_key))
    if "pin" in form.controls and values.get("pin"):
        cost.signatures += 1
    return cost


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
            book.player.until("packet")
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
    """Two notes that two parties sign, as the form stands."""
    crew, answers = book.player.crew, book.player.answers
    found = {}
    for what, kind, at, own in (
        ("jam", "jam", "T1", {"counted": "yes", "went": "main-bin"}),
        ("bin emptied", "bin-emptied", "B1", {"bin": "main", "container": "C1"}),
    ):
        if kind == "bin-emptied":
            own = own | {"seal": answers.take("C1"), "ballots": ""}
        before = Counter({page: cost.taps for page, cost in counted.by_page.items()})
        crew.note(kind, at, **own)
        path = f"/note/{kind}/{at}"
        assert path not in before
        found[what] = counted.by_page[path]
    return found


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
    from demo_precinct import rehearsal
    from webapp.precinct.place import place_file

    return steps(place_file.read((rehearsal.HERE / "place.toml").read_bytes()))


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
