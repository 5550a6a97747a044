"""Every screen of a place and its office, photographed: `python tests/contact_sheet.py [--out contact-sheet] [--only WORD ...]`.

Plays the demo's day through the real pages, stops at its moments, and takes each screen upright, lying and on a phone, by day and by night.
In the folder: one picture a view, one `sheet-NAME.png` a screen with all its views side by side, and `index.html`.
"""

import argparse
import html
import re
import sys
import tempfile
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from zoneinfo import ZoneInfo

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))

from PIL import Image  # noqa: E402 - the folder above must be found first
from playwright.sync_api import sync_playwright  # noqa: E402

import webapp  # noqa: E402
from demo_precinct import rehearsal, rehearsed_county, story  # noqa: E402
from demo_precinct.crew import Crew  # noqa: E402
from demo_precinct.http_window import Window  # noqa: E402
from demo_precinct.office_night import Brought, DeskAnswers, DeskNight  # noqa: E402
from demo_precinct.rehearsed_day import MINUTE, Day  # noqa: E402
from demo_precinct.true_figures import invented  # noqa: E402
from tests.browser.conftest import SIZES, launched  # noqa: E402
from tests.pages.tablets import code_of  # noqa: E402
from webapp.gate import certificates, tls  # noqa: E402
from webapp.office.setup import enrolment, office_file  # noqa: E402
from webapp.pages.factory import make  # noqa: E402
from webapp.pages.tablets import trust  # noqa: E402
from webapp.pages.tablets.tablet_address import Doors  # noqa: E402
from webapp.precinct.place import place_file  # noqa: E402
from webapp.serving.server import serve_in_thread  # noqa: E402
from webapp.settings import Settings  # noqa: E402

VIEWS = [
    (name.replace(" ", "-"), width, height, light)
    for light in ("light", "dark")
    for name, (width, height) in SIZES.items()
]
CUT = 2600  # a picture higher than this is cut in the sheet; its own file is whole
BEFORE = {  # what is looked at before the step that Now offers for the first time
    "setup": ["/now", "/people", "/people/vouch", "/steps/opening"],
    "polls-open": ["/now", "/steps/opening", "/seals", "/note", "/count", "/tablet"],
    "noon-look": ["/now", "/steps/voting", "/count", "/note", "/seals", "/record"],
    "line-end": [
        "/now",
        "/count",
        "/note",
        "/note/spoiled",
        "/note/bin-emptied",
        "/note/bin-emptied/B1",
        "/note/handed-back",
        "/note/incident",
        "/note/seal-applied",
        "/note/jam/T1",
        "/seals",
        "/steps/voting",
        "/record",
        "/record/40",
        "/record/40/correct",
        "/tablet",
        "/people",
        "/balance",
        "/held",
        "/held/codes",
        "/alarm",
        "/not-here",
    ],
    "unused": ["/now", "/count", "/note", "/balance", "/steps/closing"],
    "first-look": ["/balance"],
    "search": ["/now", "/balance"],
    "tape-prints": ["/tape", "/tape/T1"],
    "remark": ["/now", "/balance", "/where", "/steps/closing", "/record"],
    "packet": ["/now", "/carry", "/papers", "/packet", "/steps/hand-over", "/count"],
}
SIGNED = {
    "/step/case-seals",
    "/note/bin-emptied/B1",
    "/note/seal-broken",
    "/balance/remark",
    "/packet/make",
}  # second signatures to look at: they are all alike
DAWN = [
    "/ready",
    "/now",
    "/step/arrivals",
    "/people",
    "/people/oath/lindqvist",
    "/tablet",
    "/steps/opening",
    "/note",
    "/seals",
    "/count",
    "/balance",
    "/packet",
    "/tape",
    "/record",
    "/tablets",
    "/papers",
    "/shell",
    "/shell/note/spoiled",
]
OFFICE_DAWN = ["/ready", "/intake", "/places", "/totals", "/compare", "/people", "/step/arrivals"]
OFFICE = [
    "/papers",
    "/intake",
    "/places",
    "/totals",
    "/canvass",
    "/compare",
    "/counts",
    "/counts/W3",
    "/record",
    "/people",
    "/tablet",
]


@dataclass
class Camera:
    """One browser window, which takes on the tablet's cookies before it looks, and then every size and light."""

    browser: object
    out: Path
    only: list[str]
    taken: dict[str, list[Path]] = field(default_factory=dict)

    def __post_init__(self):
        self.context = self.browser.new_context(reduced_motion="reduce", bypass_csp=True, service_workers="block")

    def wanted(self, name: str) -> bool:
        return name not in self.taken and (not self.only or any(word in name for word in self.only))

    def look(self, window, path: str, name: str, press: str = "") -> None:
        """Take this page in every view. `press`: the control to press first, as for a page with refusals."""
        if not self.wanted(name):
            return
        root = f"http://127.0.0.1:{window.port}"
        self.context.clear_cookies()
        page = self.context.new_page()
        page.set_extra_http_headers({"cookie": "; ".join(f"{name}={value}" for name, value in window.cookies.items())})
        if path.startswith("/shell"):
            page.route("**/contact", lambda asked: asked.abort())  # as out of reach of the laptop
        page.goto(root + path)
        if press:
            page.locator(press).first.click()
        page.add_style_tag(
            content=".places { position: static !important }"
        )  # else the places lie across a whole page's picture
        for size, width, height, light in VIEWS:
            page.set_viewport_size({"width": width, "height": height})
            page.emulate_media(color_scheme=light)
            file = self.out / f"{name}-{size}-{light}.png"
            page.screenshot(path=file, full_page=True)
            self.taken.setdefault(name, []).append(file)
        page.close()
        sheet(self.taken[name], self.out / f"sheet-{name}.png")
        print(name, flush=True)


class Watched(Crew):
    """A crew that lets the camera look at what follows a first signature."""

    camera: Camera | None = None
    keyed: dict[str, int] = {}

    def sent(self, form, values):
        page = super().sent(form, values)
        if page.path.startswith("/sign/") and form.action in SIGNED:
            self.camera.look(self.window, page.path, f"sign{form.action}".replace("/", "-").replace(":", "-"))
        elif form.action.endswith("/key"):
            at = form.action.split("/")[2]
            self.keyed[at] = self.keyed.get(at, 0) + 1
            self.camera.look(
                self.window, f"/tape/{at}", f"tape-{at}-keyed-{'twice' if self.keyed[at] == 2 else 'once'}"
            )
        return page


class Filmed(Day):
    """The demo's day with a camera beside it."""

    def __init__(self, camera: Camera, *args):
        super().__init__(*args)
        self.camera, self.seen = camera, set()
        self.crew = Watched(self.crew.place, self.crew.window, self.crew.answer, self.crew.pins)
        self.crew.camera = camera

    def look(self, moment: str, paths: list[str]) -> None:
        for path in paths:
            self.camera.look(self.crew.window, path, f"{moment}{path.replace('/', '-')}")

    def hour(self, hours):
        super().hour(hours)
        self.camera.look(self.crew.window, "/now", f"reading-due-{len(hours)}-now") if len(hours) == 3 else None

    def step(self, key, hours):
        step = key.partition(":")[0]
        waits = step == "line-end" and hours
        if step not in self.seen and not waits:
            self.seen.add(step)
            self.look(step, BEFORE.get(step, []))
            self.camera.look(self.crew.window, f"/step/{key}", f"step-{step}")
            if step in ("zero-tape", "line-end"):
                self.camera.look(self.crew.window, f"/step/{key}", f"refused-{step}", "button.do")
        super().step(key, hours)


def tablet_at_the_door(camera: Camera, app, place, window: Window) -> None:
    """What a tablet sees before anybody admitted it: the trust page, the code's form, and the page that waits at the laptop."""
    room = app.extensions["room"]
    enrolled = partial(certificates.enrolled, room.settings.folder)
    watched = tls.ReloadingCertificate(enrolled(), enrolled, ())
    door = serve_in_thread(make(room.settings, room=room, door="tablets"))
    told = serve_in_thread(
        trust.make(
            Doors(place.host, watched, lambda: (door.port, 0), lambda: ("192.0.2.10",)),
            room.name,
            room.under,
            room.practice,
        )
    )
    try:
        camera.look(Window(told.port), "/", "tablet-trust")
        tablet = Window(door.port)
        camera.look(tablet, "/pair", "tablet-pair")
        code = code_of(window.send(window.get("/tablets").form("/tablets/code")))
        tablet.send(tablet.get("/pair").form("/pair"), {"code": code, "level": "full"})
        camera.look(tablet, "/pair", "tablet-pair-waits")
        camera.look(window, "/tablets", "dawn-tablets-one-waits")
    finally:
        door.stop()
        told.stop()


def place_day(camera: Camera, folder: Path, place, codes) -> Brought:
    """The place, from dawn to its departure. What its carriers bring."""
    start = place.at(place.opens) - 105 * MINUTE
    app = webapp.create_app(Settings("place", folder, port=0, clock="scripted", start=start))
    running = serve_in_thread(app)
    try:
        day = Filmed(camera, place, invented(place, 1), running.port, codes, story.told())
        day.crew.clock(day.now)
        day.look("dawn", DAWN)
        tablet_at_the_door(camera, app, place, day.crew.window)
        day.play()
        day.look("end", ["/now", "/packet", "/steps/hand-over", "/balance", "/record"])
        return rehearsal.brought(day, [("packet.cose", day.packet_file())])
    finally:
        running.stop()
        app.extensions["room"].close()


def office_night(camera: Camera, folder: Path, office, codes, place, brought: Brought) -> None:
    """The desk before the packet, with it on the table, after it was taken in, and with its receipt."""
    now = place.at(place.closes) + 150 * MINUTE
    app = webapp.create_app(Settings("office", folder, clock="scripted", start=now))
    running = serve_in_thread(app)
    try:
        desk = DeskNight(office, running.port, codes, now, ZoneInfo(place.zone))
        window = desk.crew.window
        for path in OFFICE_DAWN:
            camera.look(window, path, f"office-dawn{path.replace('/', '-')}")
        desk.open()
        page = window.get("/intake")
        window.upload(page.form("/intake/file"), "files", brought.pictures)
        camera.look(window, "/intake", "office-intake-complete")
        window.send(window.get("/intake").form("/intake/take"))

        def look(paths: list[str], name: str = "office") -> None:
            for path in paths:
                camera.look(window, path, f"{name}{re.sub('[/?=:]', '-', path)}")

        look(
            [
                *OFFICE,
                f"/place/{place.id}",
                f"/place/{place.id}/{desk.next_step(place.id, set())}",
                f"/totals?contest={place.contests[0].id}",
                "/canvass?show=all",
                f"/finding/{place.id}",
                f"/finding/{place.id}/unused/{place.stock[0].style}",
            ]
        )
        desk.crew.answer = DeskAnswers(brought, desk.wall())
        desk.goods(place.id)
        look([f"/receipt/{place.id}", f"/place/{place.id}", "/places"], "office-receipt")
    finally:
        running.stop()
        app.extensions["room"].close()


def sheet(files: list[Path], out: Path) -> None:
    """All views of one screen side by side, at half their size, by day above and by night below."""
    pictures = [Image.open(file).convert("RGB") for file in files]
    pictures = [p.crop((0, 0, p.width, min(p.height, CUT))) for p in pictures]
    pictures = [
        p.resize((p.width // 2, p.height // 2))
        if p.width > 400
        else p.resize((int(p.width * 0.7), int(p.height * 0.7)))
        for p in pictures
    ]
    rows = [pictures[: len(SIZES)], pictures[len(SIZES) :]]
    heights = [max(p.height for p in row) for row in rows if row]
    whole = Image.new(
        "RGB", (max(sum(p.width + 12 for p in row) for row in rows), sum(heights) + 12 * len(rows)), "#888"
    )
    top = 0
    for row, height in zip(rows, heights, strict=True):
        left = 0
        for picture in row:
            whole.paste(picture, (left, top))
            left += picture.width + 12
        top += height + 12
    whole.save(out)


def main() -> int:
    said = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    said.add_argument(
        "--out",
        type=Path,
        default=ROOT / "contact-sheet",
        help="folder for the pictures (default: contact-sheet, which git does not look at)",
    )
    said.add_argument("--only", nargs="*", default=[], help="only screens with one of these words in their name")
    options = said.parse_args()
    options.out.mkdir(parents=True, exist_ok=True)
    toml = (rehearsed_county.HERE / "place.toml").read_bytes()
    place = place_file.read(toml)
    with (
        tempfile.TemporaryDirectory(prefix="tapeseal-sheet-") as scratch,
        sync_playwright() as started,
        launched(started) as browser,
    ):
        root, camera = Path(scratch) / "day", Camera(browser, options.out, options.only)
        codes = rehearsed_county.prepare(root, (rehearsed_county.HERE / "office.toml").read_bytes(), [toml])
        brought = place_day(camera, root / "places" / place.id, place, codes[place.id])
        office = office_file.read((root / "office" / enrolment.OFFICE_FILE).read_bytes())
        office_night(camera, root / "office", office, codes[""], place, brought)
    rows = "".join(
        f"<h2>{html.escape(name)}</h2><p>"
        + "".join(
            f'<a href="{f.name}"><img src="{f.name}" width="260" loading="lazy" alt="{f.stem}"></a> ' for f in files
        )
        + "</p>"
        for name, files in camera.taken.items()
    )
    (options.out / "index.html").write_text(
        f'<!doctype html><html lang="en"><meta charset="utf-8"><title>Every screen</title>{rows}</html>',
        encoding="utf-8",
    )
    print(f"{sum(map(len, camera.taken.values()))} pictures of {len(camera.taken)} screens in {options.out}")
    return 0 if camera.taken else 1


if __name__ == "__main__":
    sys.exit(main())
