"""A browser looks at every page of the whole demo day and of the desk's night: what it asks for, it asks the laptop, and nobody else.

Source: design 3.5 (everything works with no internet: no request leaves the local network, pages load nothing from elsewhere).
"""

import re
from collections import Counter
from urllib.parse import urlsplit
from zoneinfo import ZoneInfo

import pytest

import webapp
from demo_precinct import rehearsal, rehearsed_county, story
from demo_precinct.http_window import Window
from demo_precinct.office_night import DeskNight
from demo_precinct.rehearsed_day import MINUTE, Day
from demo_precinct.true_figures import invented
from tests.browser.keyboard import BY_KEYS, kind_of
from tests.matrix import nightly
from tests.pages.walk import one_of_each_route, paths
from webapp.office.setup import enrolment, office_file
from webapp.precinct.place import place_file
from webapp.serving.server import serve_in_thread
from webapp.settings import Settings


class Watched(Window):
    """The rehearsal's window, with a browser beside it that opens each page that the rehearsal is given, with the same cookies."""

    def __init__(self, port: int, page):
        super().__init__(port)
        self.page, self.seen, self.times = page, set(), Counter()

    def _follow(self, method, path, body, headers):
        answer = super()._follow(method, path, body, headers)
        if answer.status == 200 and "html" in answer.headers.get("content-type", "") and answer.path not in self.seen:
            self.seen.add(answer.path)
            self.times[kind_of(answer.path)] += 1
            if self.times[kind_of(answer.path)] <= BY_KEYS:
                self.look(answer.path)
        return answer

    def look(self, path: str) -> None:
        self.page.context.clear_cookies()
        self.page.context.add_cookies(
            [
                {"name": name, "value": value, "url": f"http://127.0.0.1:{self.port}/"}
                for name, value in self.cookies.items()
            ]
        )
        self.page.goto(f"http://127.0.0.1:{self.port}{path}", wait_until="load")


@pytest.fixture
def log(browser):
    """A page of a fresh context, and every address that anything in that context asked for, workers and failed ones too."""
    context = browser.new_context(viewport={"width": 820, "height": 1180})
    asked = []
    context.on("request", lambda request: asked.append(request.url))
    page = context.new_page()
    page.set_default_timeout(60_000)
    page.on("websocket", lambda socket: asked.append(socket.url))
    yield page, asked
    context.close()


@nightly(
    held_by=[
        "tests/browser/test_nothing_leaves.py::test_no_page_names_an_address_elsewhere",
        "tests/browser/test_everyone.py::test_no_page_of_the_place_has_an_accessibility_violation_or_overflows",
        "tests/browser/test_desk_pages.py::test_no_page_of_the_office_has_an_accessibility_violation_or_overflows",
        "tests/browser/test_out_of_reach.py::test_r29_no_request_leaves_the_origin_over_a_walk_within_reach_and_out_of_it",
    ]
)
def test_a_browser_that_follows_the_whole_day_and_the_desks_night_asks_nobody_but_the_laptop(log, tmp_path, capsys):
    page, asked = log
    root = tmp_path / "demo"
    toml = (rehearsed_county.HERE / "place.toml").read_bytes()
    place = place_file.read(toml)
    slips = rehearsed_county.prepare(root, (rehearsed_county.HERE / "office.toml").read_bytes(), [toml])
    truth = invented(place, 5)
    app = webapp.create_app(
        Settings("place", root / "places" / place.id, clock="scripted", start=place.at(place.opens) - 120 * MINUTE)
    )
    running = serve_in_thread(app)
    day = Day(place, truth, running.port, slips[place.id], story.told())
    day.crew.window = at_place = Watched(running.port, page)
    try:
        assert day.play()
        day.pass_time(2)
        pictures = [("packet.pdf", day.fetched("/packet/packet.pdf").body)]
        for path in (
            "/now",
            "/steps",
            "/note",
            "/count",
            "/seals",
            "/tape",
            "/balance",
            "/packet",
            "/record",
            "/people",
            "/tablet",
        ):
            at_place.look(path)
    finally:
        running.stop()
        app.extensions["room"].close()
    at_desk = desk_night(root, slips[""], day, pictures, page)
    own = {f"127.0.0.1:{running.port}", f"127.0.0.1:{at_desk.port}"}
    elsewhere = [
        url for url in asked if urlsplit(url).scheme not in ("data", "blob") and urlsplit(url).netloc not in own
    ]
    with capsys.disabled():
        print(
            f"\n{len(at_place.times)} kinds of pages of the place and {len(at_desk.times)} of the desk in a browser: {len(asked)} requests, {len(elsewhere)} of them to anybody else"
        )
    assert elsewhere == []
    assert len(at_place.times) > 60 and len(at_desk.times) > 10 and len(asked) > 300


def desk_night(root, codes, day: Day, pictures: list, page) -> Watched:
    """The office takes the packet and the goods in, watched by the same browser."""
    office = office_file.read((root / "office" / enrolment.OFFICE_FILE).read_bytes())
    app = webapp.create_app(Settings("office", root / "office", clock="scripted", start=day.now))
    running = serve_in_thread(app)
    desk = DeskNight(office, running.port, codes, day.now, ZoneInfo(day.place.zone))
    desk.crew.window = window = Watched(running.port, page)
    try:
        desk.open()
        desk.take_in(rehearsal.brought(day, pictures))
        for path in (
            "/intake",
            "/places",
            f"/places/{day.place.id}",
            "/totals",
            "/canvass",
            "/compare",
            "/record",
            "/people",
        ):
            if desk.crew.window.get(path).status == 200:
                window.look(path)
    finally:
        running.stop()
        app.extensions["room"].close()
    return window


def test_no_page_names_an_address_elsewhere(scene):
    """Nothing to load, to send to or to be led to: no absolute address but the laptop's own, and what XML calls its namespaces."""
    here = scene("voting")
    here.hold()
    for path in one_of_each_route(here, paths(here)):
        page = here.window.get(path)
        if page.status == 200 and "html" in page.headers.get("content-type", ""):
            found = [
                url
                for url in re.findall(
                    r"""(?:href|src|action|content|poster|data-\w+)=["'](https?:)?//([^"'/]+)""", page.text
                )
            ]
            assert [
                host for _, host in found if host.partition(":")[0] not in ("localhost", "127.0.0.1", here.place.host)
            ] == [], path
            assert "default-src 'self'" in page.headers.get("content-security-policy", ""), path
