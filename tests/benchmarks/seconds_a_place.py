"""Seconds and PIN entries that one usual place costs at the desk, in a real browser of a tablet's size: from its packet at Intake to "agreed".

    python tests/benchmarks/seconds_a_place.py [--results FILE] [--json]

The place has one tabulator and its day is played first. Then two receivers take it in twice, from two copies of the same office: each step on a page of
its own, as every place was taken in before, and on the three pages (goods, tapes, handed over). Taps, keys, PINs and the machine's seconds are counted in
the browser. A tap on a name leads into its PIN, a key beside a field writes what it says, "All 3" ticks a group: each is one tap, as the page has it.

The hand's seconds are an estimate of ours, no measurement of people. It goes by the keystroke-level model (S. Card, T. Moran, A. Newell, Communications of
the ACM 23 (1980) 396-410: pointing 1.1 s and a press 0.2 s, a digit out of context 0.5 s, a mental preparation 1.35 s). Two figures are our own: 1.5 s to
find a number on a seal, a tape or a slip, 2 s to hand the tablet to the second signer. Carrying, lifting and opening is in neither way.
"""

import argparse
import json
import shutil
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path
from zoneinfo import ZoneInfo

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT)]

from playwright.sync_api import sync_playwright  # noqa: E402 - the folder above must be found first

import webapp  # noqa: E402
from demo_precinct import rehearsal, rehearsed_county, results_file  # noqa: E402
from demo_precinct.http_window import Page  # noqa: E402
from demo_precinct.office_night import Brought, DeskAnswers, DeskNight  # noqa: E402
from demo_precinct.rehearsed_day import MINUTE  # noqa: E402
from tests.browser.browser_window import OPENED, BrowserWindow  # noqa: E402
from tests.browser.conftest import SIZES, launched  # noqa: E402
from webapp.office.setup import office_file, roster  # noqa: E402
from webapp.serving.server import serve_in_thread  # noqa: E402
from webapp.settings import Settings  # noqa: E402

RESULTS = ROOT / "tests" / "office" / "stored" / "results" / "ballots-in-each-contest.csv"
TAP, KEY, THINK, FIND, HAND_OVER = 1.3, 0.5, 1.35, 1.5, 2.0  # seconds
TOGETHER = ("goods", "tapes", "handed-over")
WALKED = {
    "pins": 20,
    "pages": 11,
    "pin_seconds": 7,
}  # a place with one tabulator, as it was timed on paper before the three pages were there
BESIDE = """([name, value]) => { const input = document.getElementsByName(name)[0], field = input.closest('.field');
    return field ? [...field.querySelectorAll('button')].findIndex((key) => key.dataset.write === value || key.dataset.key === value
        || key.dataset.key === 'now' && document.querySelector('time[data-now]')?.getAttribute('datetime') === value) : -1; }"""


@dataclass
class Cost:
    """What a place costs: `fields` figures that are looked up and typed, `passed` times that the tablet changes hands, `machine` seconds of answers."""

    pages: int = 0
    taps: int = 0
    keys: int = 0
    pins: int = 0
    fields: int = 0
    choices: int = 0
    passed: int = 0
    machine: float = 0.0

    @property
    def hand(self) -> float:
        """Seconds of hands and heads, without the machine's own."""
        thought = self.fields + self.choices + self.pins + self.pages
        return self.taps * TAP + self.keys * KEY + thought * THINK + self.fields * FIND + self.passed * HAND_OVER


class Receiver(BrowserWindow):
    """A browser whose taps and keys are counted."""

    def __init__(self, page, port: int, cost: Cost):
        super().__init__(page, port)
        self.cost = cost

    def tap(self, button) -> None:
        self.cost.taps += 1
        button.click()

    def led(self, button) -> Page:
        """A tap that opens the next page; the machine's time until it is there."""
        began = time.perf_counter()
        with self.page.expect_navigation() as led:
            self.tap(button)
        self.cost.machine += time.perf_counter() - began
        self.cost.pages += 1
        return self.shown(led.value.status if led.value else 200)

    def link(self, href: str) -> Page:
        return self.led(self.page.locator(f'a[href="{href}"]').first)

    def fill(self, form, values) -> None:
        """What differs from what the page has, as a hand would put it in."""
        self.page.evaluate(OPENED)
        inside = self.page.locator(f'form[action="{form.action}"]').first
        for name, control in form.controls.items():
            value = values.get(name, control.value)
            if control.kind in ("hidden", "submit") or not value or name in ("signer", "pin"):
                continue
            boxes = inside.locator(f'[name="{name}"]')
            if control.kind in ("radio", "checkbox"):
                box = inside.locator(f'[name="{name}"][value="{value}"]').first
                if not box.is_checked():
                    self.choose(inside, name, box)
            elif boxes.first.input_value() != value:
                self.write(boxes.first, name, value)

    def choose(self, inside, name: str, box) -> None:
        """A tick or a choice; a group of ticks at one tap where the page offers that."""
        self.cost.choices += 1
        group = inside.locator(f'button[data-ticks~="{name}"]:visible')
        if group.count():
            return self.tap(group.first)
        self.cost.taps += 1
        box.set_checked(True, force=True)

    def write(self, box, name: str, value: str) -> None:
        """A figure: by the key beside it, or typed; a tap into it only where it is not open already."""
        self.cost.fields += 1
        beside = self.page.evaluate(BESIDE, [name, value])
        if beside >= 0:
            field = self.page.locator(f'[name="{name}"]').locator("xpath=ancestor::*[contains(@class,'field')][1]")
            return self.tap(field.locator("button").nth(beside))
        if self.page.evaluate("document.activeElement && document.activeElement.name") != name:
            self.tap(box)
        box.fill("")
        box.press_sequentially(value)
        self.cost.keys += len(value)

    def sign(self, action: str, person: str, pin: str) -> Page:
        """A name, its PIN, the button."""
        inside = self.page.locator(f'form[action="{action}"]').first
        name = inside.locator(f'[name="signer"][value="{person}"]')
        if name.get_attribute("type") != "hidden" and not name.is_checked():
            self.cost.taps += 1
            name.check(force=True)
        box = inside.locator('[name="pin"]')
        if self.page.evaluate("document.activeElement && document.activeElement.name") != "pin":
            self.tap(box)
        box.press_sequentially(pin)
        self.cost.keys += len(pin)
        self.cost.pins += 1
        return self.led(inside.locator("button.do").first)


class Table:
    """The desk with the place's goods on it: one office folder, served, its receivers sworn and the tablet held."""

    def __init__(self, folder: Path, codes: dict[str, str], brought: Brought, page, closed: int):
        self.office = office_file.read((folder / "office.toml").read_bytes())
        place = next(iter(roster.load(folder).places.values()))
        self.place, self.brought, self.cost = brought.place, brought, Cost()
        self.app = webapp.create_app(Settings("office", folder, port=0, clock="scripted", start=closed + 60 * MINUTE))
        self.running = serve_in_thread(self.app)
        self.night = DeskNight(self.office, self.running.port, codes, closed + 61 * MINUTE, ZoneInfo(place.zone))
        self.night.open()
        self.window = Receiver(page, self.running.port, self.cost)
        first, second = self.office.officials[:2]
        self.signers = [(one.id, self.night.crew.pins[one.id]) for one in (first, second)]
        shown = self.window.get("/tablet")
        self.window.send(shown.form("/tablet/take"), dict(zip(("signer", "pin"), self.signers[0], strict=True)))
        self.night.crew.answer = DeskAnswers(brought, self.night.wall())

    def close(self) -> None:
        self.running.stop()
        self.app.extensions["room"].close()

    def intake(self, packet: Path) -> None:
        """The packet's file from the stick: the button, the file, "Read them", "Take it in"."""
        page = self.window.page
        page.goto(self.window.root + "/intake")
        inside = page.locator('form[action="/intake/file"]')
        inside.locator('[name="files"]').set_input_files(packet)
        self.cost.taps += 2
        self.window.led(inside.locator("button").first)
        self.window.led(page.locator('form[action="/intake/take"] button').first)

    def signed(self, name: str) -> None:
        """One page of the place, filled in from the goods and signed by two."""
        self.night.now += MINUTE
        self.app.extensions["room"].clock.set(self.night.now)
        path, crew = f"/place/{self.place}/{name}", self.night.crew
        shown = self.window.link(path)
        form = shown.form(path)
        step, _, at = name.partition(":")
        whole = name in TOGETHER
        self.window.fill(form, crew.values(form, "" if whole else step, "" if whole else at))
        shown = self.window.sign(path, *self.signers[0])
        if shown.path.startswith("/sign/"):
            self.cost.passed += 1
            shown = self.window.sign(shown.path, *self.signers[1])
        assert shown.path == f"/place/{self.place}", shown.said()

    def links(self) -> list[str]:
        """What the place's page leads to: pages of several steps, and steps."""
        found = self.window.page.locator(f'a[href^="/place/{self.place}/"]')
        return [one.get_attribute("href").rpartition("/")[2] for one in found.all()]

    def state(self) -> str:
        return self.app.extensions["room"].state(self.place)[1]


def step_by_step(table: Table) -> None:
    """Each step on a page of its own, in the order in which they open; what is not asked of everybody is left."""
    done: list[str] = []
    while "receipt" not in done:
        done.append(next(key for key in table.links() if key not in (*done, *TOGETHER, "paper")))
        table.signed(done[-1])


def on_three_pages(table: Table) -> None:
    """Goods, tapes, handed over; a single tape or a single step has no page of several."""
    for name in TOGETHER:
        links = table.links()
        table.signed(name if name in links else next(one for one in links if one not in TOGETHER and one != "paper"))


def played(folder: Path, results: Path):
    """(the folder with the office before its first packet, codes of the desk, what the carriers bring, when the place closed)."""
    file = results_file.read(results.read_bytes(), 2)
    places = [results_file.place(file, index) for index in (0, 1)]
    codes = rehearsed_county.prepare(folder, rehearsed_county._office_for(places), places)
    truth = results_file.truth(file, 0, places[0], 1)
    day = rehearsal.play_place(folder / "places" / places[0].id, places[0], codes[places[0].id], truth, False)
    return codes[""], day


def measured(results: Path) -> dict[str, tuple[Cost, str]]:
    found = {}
    with tempfile.TemporaryDirectory(prefix="tapeseal-seconds-") as at:
        folder = Path(at)
        codes, day = played(folder, results)
        packet = next((folder / "places" / day.brought.place / "packet").glob("1.cose"))
        with sync_playwright() as playing, launched(playing) as browser:
            for name, way in (("step by step", step_by_step), ("three pages", on_three_pages)):
                shutil.copytree(folder / "office", folder / name)
                width, height = SIZES["tablet lying"]
                page = browser.new_context(viewport={"width": width, "height": height}).new_page()
                table = Table(folder / name, codes, day.brought, page, day.closed)
                try:
                    table.intake(packet)
                    way(table)
                    found[name] = table.cost, table.state()
                finally:
                    table.close()
                    page.context.close()
    return found


def main() -> int:
    wanted = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    wanted.add_argument("--results", type=Path, default=RESULTS, help="a results file; its first precinct is the place")
    wanted.add_argument("--json", action="store_true")
    options = wanted.parse_args()
    found = measured(options.results)
    if options.json:
        print(
            json.dumps(
                {name: vars(cost) | {"hand": cost.hand, "state": state} for name, (cost, state) in found.items()}
            )
        )
        return 0
    print(
        f"before, timed on paper: {WALKED['pages']} signed pages, {WALKED['pins']} PIN entries, {WALKED['pins'] * WALKED['pin_seconds']} s of PINs alone at {WALKED['pin_seconds']} s each"
    )
    for name, (cost, state) in found.items():
        print(
            f"{name}: {cost.pins} PIN entries ({cost.pins * WALKED['pin_seconds']} s at {WALKED['pin_seconds']} s each), {cost.pages} pages, {cost.taps} taps, {cost.keys} keys, "
            f"{cost.fields} figures, {cost.choices} choices; machine {cost.machine:.1f} s, hand about {cost.hand:.0f} s; then: {state}"
        )
    return 0 if all(state == "agreed" for _, state in found.values()) else 1


if __name__ == "__main__":
    sys.exit(main())
