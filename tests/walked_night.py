"""A night of 40 places at three desks in real browsers, over TLS: `python tests/walked_night.py [--out FOLDER] [--http]`.

Every case that a night can bring, some at each desk in the same minute. After every minute Totals, Places, Canvass, the wall, the list of late
places and all receipts are read at each desk and held against what was handed in (`tests/office/many_places.py`). Prints one row a minute; exit 1
where two pages tell two stories. `--http` does the same without a browser, `--out` takes pictures of the last minute.
"""

import argparse
import sys
import tempfile
from contextlib import ExitStack
from dataclasses import replace
from pathlib import Path
from time import monotonic

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))

from cryptography.hazmat.primitives.serialization import Encoding  # noqa: E402 - the folder above must be found first
from playwright.sync_api import sync_playwright  # noqa: E402

from demo_precinct import rehearsal  # noqa: E402
from demo_precinct.http_window import Form, Page  # noqa: E402
from tests.browser.browser_window import OPENED, BrowserWindow, write  # noqa: E402
from tests.browser.conftest import SIZES, launched  # noqa: E402
from tests.browser.trusted import NoCertutil, home_that_trusts, resolving  # noqa: E402
from tests.office import many_places as night_of  # noqa: E402
from tests.office.test_desks import admitted, hold  # noqa: E402
from webapp.commands.server import desk_listeners  # noqa: E402
from webapp.office.setup import roster  # noqa: E402
from webapp.packet.envelope import open_packet, parts_of  # noqa: E402
from webapp.serving import server  # noqa: E402

SEED = 1  # of the demo's day
PLACES = [f"P{n:02}" for n in range(1, 41)]
CASES = {
    "P21": night_of.amended,
    "P22": night_of.amended_backwards,
    "P23": night_of.contradicting,
    "P24": night_of.unknown_key,
    "P25": night_of.another_places_key("P01"),
    "P26": night_of.other_mode,
    "P27": night_of.other_edition,
    "P28": night_of.goods_without_packet,
    "P29": night_of.from_paper,
    "P30": night_of.packet_after_paper,
    "P31": night_of.packet_against_paper,
    "P32": night_of.memory_missing,
    "P33": night_of.container_missing,
    "P34": night_of.off_by(2),
    "P35": night_of.off_by(-2),
    "P36": night_of.finding,
    "P37": night_of.late,
    "P38": night_of.lacks_a_contest,
    "P39": night_of.tape_differs,
    "P40": night_of.never,
}
ROOM = {"P34": "Lantern Street 5, hall", "P35": "Lantern Street 5, hall"}


class DeskBrowser(BrowserWindow):
    """A browser at a desk, over TLS under the office's name."""

    def __init__(self, page, port: int):
        super().__init__(page, port)
        self.root = f"https://{night_of.HOST}:{port}"

    def send(self, form: Form, values=None) -> Page:
        """Write into the form that is open, also into controls beside it that say they are its own, and press its button."""
        own = self.page.locator(f'form[action="{form.action}"]').first
        name = own.get_attribute("id")
        if not name:
            return super().send(form, values)
        self.page.evaluate(OPENED)
        for key, value in (values or {}).items():
            if form.controls[key].kind not in ("hidden", "submit"):
                write(self.page.locator("main"), key, value)
        with self.page.expect_navigation() as led:
            self.page.locator(f'button[form="{name}"]').first.click()
        return self.shown(led.value.status if led.value else 200)

    def upload(self, form: Form, name: str, files) -> Page:
        """Choose these files and send them."""
        inside = self.page.locator(f'form[action="{form.action}"]').first
        chosen = [{"name": one, "mimeType": "application/octet-stream", "buffer": data} for one, data in files]
        inside.locator(f'[name="{name}"]').set_input_files(chosen)
        with self.page.expect_navigation() as led:
            inside.locator("button").first.click()
        return self.shown(led.value.status if led.value else 200)


def demo_packet(folder: Path):
    """The demo's packet, out of its rehearsed day."""
    if not (folder / "office").exists():
        rehearsal.rehearse_demo(folder, SEED)
    parts = parts_of((folder / "places" / "W3" / "packet" / "1.cose").read_bytes())
    return open_packet(parts, roster.load(folder / "office").keys, "practice")


def further_desks(night, stack: ExitStack, home: Path, http: bool) -> list:
    """Three desks, paired over TLS and admitted at the office's own computer, each held by another person."""
    doors = desk_listeners.opened(
        night.folder, replace(night.office, host=night_of.HOST), "practice", "127.0.0.1", 0, 0
    )
    stack.callback(doors.close)
    running = server.opened(list(doors.doorways(night.app)), (doors.tick,))
    stack.callback(running.stop)
    night.hold()
    office, found = night.window, []
    if http:
        found = [night.another() for _ in range(3)]
    else:
        browser = stack.enter_context(trusting(stack.enter_context(sync_playwright()), home, doors.watched.shown))
        width, height = SIZES["tablet lying"]
        for _ in range(3):
            page = browser.new_context(viewport={"width": width, "height": height}).new_page()
            found.append(DeskBrowser(page, running.ports[0]))
            admitted(night, found[-1])
    night.window = office
    for window, person in zip(found, ("calloway", "durand", "fontaine"), strict=True):
        hold(night, window, person)
    return found


def trusting(playing, home: Path, shown):
    """A browser as on a prepared desk: it trusts the office's authority, and finds the office by its name."""
    authority = home / "authority.crt"
    authority.parent.mkdir(parents=True, exist_ok=True)
    authority.write_bytes(shown.authority.public_bytes(Encoding.PEM))
    try:
        return launched(playing, resolving(night_of.HOST), env=home_that_trusts(home, authority))
    except NoCertutil as why:
        raise SystemExit(str(why)) from None


def walk(folder: Path, out: Path | None, http: bool, packet: Path) -> night_of.Desks:
    """The whole night; raises AssertionError where two pages tell two stories."""
    opened = demo_packet(packet)
    with ExitStack() as stack:
        night = night_of.built(folder / "night", PLACES, opened, ROOM)
        stack.callback(night.stop)
        desks = night_of.Desks(night, opened, further_desks(night, stack, folder / "home", http))
        night_of.play(desks, [one for one in PLACES if one not in CASES], CASES)
        if out and not http:
            out.mkdir(parents=True, exist_ok=True)
            for name in (
                "totals",
                "places",
                "canvass",
                "wall",
                "late",
                "place/P31",
                "packets/P31",
                "questions/P38",
                "receipt/P33",
            ):
                desks.window.get(f"/{name}")
                desks.window.page.screenshot(path=out / f"{name.replace('/', '-')}.png", full_page=True)
        opposite = night_of.text_of(desks.window.get("/canvass").text)
        assert "Opposite gaps of one room" in opposite, "the two places of one room"
        return desks


def main() -> int:
    wanted = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    wanted.add_argument("--out", type=Path)
    wanted.add_argument("--http", action="store_true")
    wanted.add_argument("--packet", type=Path, help="a folder for the demo's day, played there if it is not there yet")
    options = wanted.parse_args()
    began = monotonic()
    with tempfile.TemporaryDirectory() as folder:
        try:
            desks = walk(Path(folder), options.out, options.http, options.packet or Path(folder) / "demo")
        except AssertionError as wrong:
            print(wrong)
            return 1
    print("| time | what came | what every page says |\n|---|---|---|")
    for time, done, says in desks.told:
        print(f"| {time} | {done} | {says} |")
    print(
        f"{len(PLACES)} places, {len(desks.told)} minutes looked at, three desks, {monotonic() - began:.0f} s: one story."
    )
    return 0


if __name__ == "__main__":
    sys.exit(main())
