"""Pages of desks apart in a real browser: what the office merges, what a desk says of itself; no violation by axe, nothing wider than the screen."""

import shutil

import webapp
from tests.archive.small_office import contests
from tests.browser.page_check import looked_at
from tests.merging.desks import HOSTILE, DeskApart, bundle, late_call, office
from tests.merging.offices import compare, known, sable
from webapp.commands import main
from webapp.serving.server import serve_in_thread
from webapp.settings import Settings

AT_OFFICE = (
    "/merge",
    "/offices",
    "/offices/sums.html",
    "/totals",
    "/places",
    "/canvass?show=all",
    "/place/W3",
    "/late/W5",
)
AT_DESK = ("/bundle", "/bundle/codes", "/totals", "/places", "/posting")


def night(home) -> None:
    """Two desks that took the same place over with other seals; one of them wrote down hostile words."""
    office(home)
    there = sable(home / "sable")
    there.packet("W3", contests(100, 50, 20, 200))
    there.post("One place is in.")
    there.close()
    known(home / "office", there.folder)
    compare(home / "office", there.folder)
    north, south = DeskApart.made(home, "north"), DeskApart.made(home, "south")
    first = north.packet("W3", contests(20, 12, 4, 40))
    shutil.copyfile(north.folder / "in" / f"{first.hex()}.cose", south.folder / "in" / f"{first.hex()}.cose")
    told = {"place": "W3", "number": 1, "digest": first, "amends": None, "proven": True, "length": 0}
    south.keep("packet-received", told)
    for desk, seal in ((north, "0420"), (south, "0999")):
        desk.keep("containers-in", {"place": "W3", "here": {"C1": True}, "unhurt": {"C1": True}, "on_slip": 1})
        desk.keep("seals-read", {"place": "W3", "seals": {"C1": seal}})
    late_call(south, "W5", HOSTILE)
    for desk in (north, south):
        desk.close()
        bundle(home, desk.name)
    assert (
        main(
            [
                "office",
                "merge",
                str(home / "office"),
                str(home / "south.bundle"),
                str(home / "north.bundle"),
                str(there.report("1.edition")),
            ]
        )
        == 0
    )


def test_no_page_of_desks_apart_has_an_accessibility_violation_or_overflows(window, tmp_path):
    night(tmp_path)
    for name, paths in (("office", AT_OFFICE), ("north", AT_DESK)):
        app = webapp.create_app(Settings("office", tmp_path / name, clock="real"))
        running = serve_in_thread(app)
        page = window()
        try:
            if name == "north":
                page.goto(f"http://localhost:{running.port}/bundle")
                with page.expect_download():
                    page.get_by_role("button", name="Make the bundle").click()
                page.goto(f"http://localhost:{running.port}/bundle/codes")
                with page.expect_response(lambda answer: answer.url.endswith("/bundle/code/2.svg")) as told:
                    page.get_by_role("link", name="Next").click()
                assert told.value.ok
            for path in paths:
                looked_at(page, f"http://localhost:{running.port}{path}")
                if path.endswith("sums.html"):
                    page.goto(f"http://localhost:{running.port}{path}")  # with its own policy, on the narrowest screen
                    assert page.locator("th[scope=row]").first.bounding_box()["width"] >= 7 * 16
        finally:
            running.stop()
            app.extensions["room"].close()
