"""Pages of the desk in a real browser: before the first packet, after a rehearsed night, and what that night leaves behind it (goods, tapes, packets side by
side, a place from paper, a wall with an edition); and a connection that is lost."""

import shutil
from contextlib import contextmanager

import pytest

import webapp
from demo_precinct import rehearsed_county
from tests.browser.page_check import looked_at
from tests.office.conftest import desk, night, ready  # noqa: F401 - the office's night
from tests.office.test_desk import with_seals
from tests.office.test_findings import find, withdraw
from tests.office.test_from_paper_page import PATH, key, leaf, sign  # noqa: F401 - the leaf of a place
from tests.office.test_goods_pages import page_of
from tests.office.test_posting import post
from tests.rehearsal.conftest import demo  # noqa: F401 - the same rehearsed day
from webapp.precinct.place import place_file
from webapp.serving.server import serve_in_thread
from webapp.settings import Settings

HOUR = 3_600_000
OFFICE_PAGES = [
    "/intake",
    "/places",
    "/place/W3",
    "/totals",
    "/compare",
    "/people",
    "/record",
    "/step/arrivals",
    "/ready",
    "/papers",
]
OFFICE_NIGHT = [
    "/intake",
    "/places",
    "/places?show=look",
    "/place/W3",
    "/totals",
    "/totals?contest=GOV",
    "/totals/since",
    "/totals/precincts",
    "/canvass",
    "/canvass?show=all",
    "/receipt/W3",
    "/finding/W3",
    "/finding/W3/unused/3A",
    "/corrected/W3",
    "/place/W3/paper",
    "/late",
    "/late/W3",
    "/wall",
    "/refused",
    "/merge",
    "/offices",
    "/counts",
    "/counts/W3",
    "/counts/W3/provisional/envelopes",
    "/counts/W3/provisional/1",
    "/counts/pool",
    "/recount",
    "/recount/W3",
    "/certify",
    "/certify/narrative",
    "/certify/small",
    "/certify/edition",
    "/reconciliation",
    "/reconciliation/credited",
    "/posting",
    "/posting/ready",
    "/compare",
    "/record",
]
END_PAGES = ["/now", "/boot", "/packet", "/packet/again", "/steps/hand-over", "/balance", "/where", "/seals"]


@contextmanager
def served(role: str, kept, folder):
    """The address of a server on a copy of this folder, on the morning after."""
    shutil.copytree(kept, folder)
    place = place_file.read((rehearsed_county.HERE / "place.toml").read_bytes())
    app = webapp.create_app(Settings(role, folder, clock="scripted", start=place.at(place.closes) + 10 * HOUR))
    running = serve_in_thread(app)
    try:
        yield f"http://localhost:{running.port}"
    finally:
        running.stop()
        app.extensions["room"].close()


def test_no_page_of_the_office_has_an_accessibility_violation_or_overflows(scene, window, tmp_path):
    shutil.copytree(scene("dawn").office, tmp_path / "office")
    app = webapp.create_app(Settings("office", tmp_path / "office", clock="scripted", start=1_793_750_000_000))
    running = serve_in_thread(app)
    try:
        page, root = window(), f"http://localhost:{running.port}"
        for path in OFFICE_PAGES:
            looked_at(page, root + path)
        assert [url for url in page.asked if not url.startswith(root)] == []
    finally:
        running.stop()
        app.extensions["room"].close()


def test_no_page_at_the_end_of_the_night_has_an_accessibility_violation_or_overflows(demo, window, tmp_path):  # noqa: F811
    """The demo's place when it has left, and the desk when the night is over."""
    page, (_, folder) = window(), demo
    with served("place", folder / "places" / "W3", tmp_path / "place") as root:
        numbers = (n for n in range(1, 600) if page.request.get(f"{root}/record/{n}/countersign").status == 200)
        for path in [*END_PAGES, f"/record/{next(numbers)}/countersign"]:
            assert looked_at(page, root + path) == 200, path
    with served("office", folder / "office", tmp_path / "office") as desk:
        for path in OFFICE_NIGHT:
            assert looked_at(page, desk + path) == 200, path
        page.goto(desk + "/places")
        assert "Lantern Street School" in page.content()
    assert [url for url in page.asked if not url.startswith((root, desk))] == []


@pytest.fixture
def look(night, window):  # noqa: F811
    """A function: path -> the page in a browser, looked at by axe in every size."""
    page = window()

    def looked(path: str):
        looked_at(page, f"http://localhost:{night.running.port}{path}")
        return page

    return looked


def test_goods_packets_side_by_side_and_a_place_from_paper_fit_every_size_and_everyone(night, leaf, look):  # noqa: F811
    night.hold()
    night.take_in("W3", **with_seals(night))
    look("/place/W3/goods")
    page_of(night, "goods")
    for name in ("tapes", "handed-over"):
        look(f"/place/W3/{name}")
        page_of(night, name)
    night.take_in("W3", number=2, **with_seals(night))
    for path in ("/packets/W3", "/questions/W3", "/totals?find=gov", "/tablets"):
        look(path)
    look(f"{PATH}?again=yes")
    key(night, "calloway", leaf())
    key(night, "durand", leaf(stock__unused__3A="618"))
    look(f"{PATH}?again=yes")
    assert sign(night, why="doubted", **{"stock.unused.3A": "617"}).path == PATH
    look(PATH)
    find(night, "emergency/B1", 6)
    number = night.room.ledger.length
    look(f"/withdraw/W3/{number}")
    withdraw(night, number)
    assert "Counts no longer" in look("/place/W3").content()
    night.take_in("W5")
    assert post(night).path == "/posting/1"
    look("/posting/1")
    assert "Agnes Bellweather" in look("/wall").content()


def test_a_keying_at_a_desk_outlives_a_lost_connection(night, window):  # noqa: F811
    """The office's computer goes away half-way through a keying: one sentence, and nothing that was typed is lost."""
    night.hold()
    page = window()
    page.goto(f"http://localhost:{night.running.port}{PATH}?again=yes")
    form = page.locator(f'form[action="{PATH}/key"]')
    form.locator('[name="stock.unused.3A"]').fill("617")
    page.context.set_offline(True)
    form.locator("button.do").click()
    said = form.locator("[data-reach]")
    said.wait_for()
    assert "Nothing was sent, and what you typed stays on this page" in said.inner_text()
    assert form.locator('[name="stock.unused.3A"]').input_value() == "617" and "keying" not in night.kinds
    page.context.set_offline(False)
    with page.expect_navigation():
        form.locator("button.do").click()
    assert "Choose who signs" in page.content() or "No results tape has a figure" in page.content()
    assert page.locator('[name="stock.unused.3A"]').input_value() == "617"
