"""The four screens that README.md shows, taken again from the demo's day: `python tests/readme_pictures.py`. Run it when one of them changes."""

import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))

from PIL import Image  # noqa: E402 - the folder above must be found first
from playwright.sync_api import sync_playwright  # noqa: E402

from demo_precinct import rehearsed_county  # noqa: E402
from tests.browser.conftest import SIZES, launched  # noqa: E402
from tests.contact_sheet import Camera, office_night, place_day  # noqa: E402
from webapp.office.setup import enrolment, office_file  # noqa: E402
from webapp.precinct.place import place_file  # noqa: E402

OUT = ROOT / "static" / "pictures"
SCREENS = {
    "noon-look-now": "now",
    "sign-balance-remark": "signed-by-two",
    "remark-balance": "balance",
    "office-intake-complete": "intake",
}
"""A screen of the contact sheet, and the name of its picture."""
COLORS = 64


class Still(Camera):
    """Takes what an upright tablet shows without scrolling, by day."""

    def wanted(self, name: str) -> bool:
        return name in SCREENS and name not in self.taken

    def look(self, window, path: str, name: str, press: str = "") -> None:
        if not self.wanted(name):
            return
        width, height = SIZES["tablet upright"]
        self.context.clear_cookies()
        page = self.context.new_page()
        page.set_viewport_size({"width": width, "height": height})
        page.set_extra_http_headers({"cookie": "; ".join(f"{name}={value}" for name, value in window.cookies.items())})
        page.goto(f"http://127.0.0.1:{window.port}{path}")
        file = self.out / f"{SCREENS[name]}.png"
        page.screenshot(path=file)
        page.close()
        Image.open(file).convert("RGB").quantize(COLORS).save(file, optimize=True)
        self.taken[name] = [file]
        print(f"{file.relative_to(ROOT)} {file.stat().st_size // 1024} kB", flush=True)


def main() -> int:
    """0 when all four were taken."""
    toml = (rehearsed_county.HERE / "place.toml").read_bytes()
    place = place_file.read(toml)
    with (
        tempfile.TemporaryDirectory(prefix="tapeseal-pictures-") as scratch,
        sync_playwright() as started,
        launched(started) as browser,
    ):
        root, camera = Path(scratch) / "day", Still(browser, OUT, [])
        slips = rehearsed_county.prepare(root, (rehearsed_county.HERE / "office.toml").read_bytes(), [toml])
        brought = place_day(camera, root / "places" / place.id, place, slips[place.id])
        office = office_file.read((root / "office" / enrolment.OFFICE_FILE).read_bytes())
        office_night(camera, root / "office", office, slips[""], place, brought)
    missing = set(SCREENS) - set(camera.taken)
    print(f"Not taken: {', '.join(sorted(missing))}" if missing else "All four were taken.")
    return 1 if missing else 0


if __name__ == "__main__":
    sys.exit(main())
