"""Pages for everyone: an automatic accessibility check (axe), no overflow, targets that a glove hits, contrast, one origin, a light first load."""

import gzip
import re
import shutil
import zlib
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from axe_playwright_python.base import AxeResults
from axe_playwright_python.sync_playwright import Axe

import webapp
from demo_precinct import moments
from demo_precinct.crew import Crew
from demo_precinct.http_window import Window
from tests.browser.conftest import SIZES
from tests.browser.hand import Hand
from tests.matrix import ALL
from tests.pages.test_record_pages import correct
from webapp.serving.server import serve_in_thread
from webapp.settings import Settings

AXE = Axe()
STATIC = Path(webapp.__file__).parents[1] / "static"
PLACE_PAGES = {
    "dawn": [
        "/ready",
        "/papers",
        "/now",
        "/people",
        "/step/arrivals",
        "/people/oath/lindqvist",
        "/people/vouch",
        "/tablet",
        "/tablets",
        "/note",
        "/seals",
        "/count",
        "/balance",
        "/packet",
        "/tape",
        "/alarm",
        "/held",
        "/held/codes",
        "/drill",
    ],
    "sworn": ["/step/case-seals"],
    "voting": [
        "/packet/close",
        "/now",
        "/steps",
        "/steps/opening",
        "/steps/voting",
        "/step/hourly",
        "/note",
        "/note/spoiled",
        "/note/bin-emptied/B1",
        "/note/handed-back",
        "/note/jam/T1",
        "/note/instruction",
        "/count",
        "/seals",
        "/record",
        "/record/30",
        "/record/export",
        "/people",
        "/nothing-here",
        "/shell",
        "/shell/held",
        "/shell/note/spoiled",
        "/shell/note/jam",
    ],
    "unused": ["/step/unused", "/count", "/steps/closing", "/balance"],
    "first-look": ["/balance"],
    "tape-prints": ["/tape/T1", "/tape", "/where"],
    "remark": ["/balance", "/where", "/ink", "/coming-in"],
    "packet": ["/packet", "/steps/hand-over", "/carry", "/papers"],
}
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
LIGHTS = ("light", "dark")
EVERY_RULE: dict = {"resultTypes": ["violations"]}
DAILY = (("phone", "light"), ("tablet upright", "dark"))


def where_looked(path: str) -> tuple[tuple[str, str], ...]:
    """The sizes and lights in which axe looks at this page: with `--all` each; else one, by its address, so that half of all pages are looked at by night.

    Structure depends on neither; the contrast of every pair of colors of both lights is worked out below, and width is measured in all three sizes.
    """
    if ALL:
        return tuple((size, light) for size in SIZES for light in LIGHTS)
    return (DAILY[zlib.crc32(path.encode()) % 2],)


def checked(page, path: str) -> None:
    """One page in every size, by day and by night: title, unique ids, references that resolve, no violation by axe, nothing wider than the screen."""
    assert page.title().strip(), path
    ids = page.eval_on_selector_all("[id]", "all => all.map(one => one.id)")
    assert len(ids) == len(set(ids)), f"{path}: an id stands twice"
    lost = page.evaluate("""() => [...document.querySelectorAll('[aria-describedby], [aria-labelledby], label[for]')].flatMap(one =>
        [one.getAttribute('aria-describedby'), one.getAttribute('aria-labelledby'), one.getAttribute('for')].filter(Boolean).join(' ').split(' ').filter(id => !document.getElementById(id)))""")
    assert lost == [], f"{path}: {lost} is referred to and not there"
    for name, (width, height) in SIZES.items():
        page.set_viewport_size({"width": width, "height": height})
        wide = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
        assert wide <= 0, f"{path} is {wide} px wider than the {name}"
        for size, light in where_looked(path):
            if size == name:
                page.emulate_media(color_scheme=light)
                found = looked_over(page, EVERY_RULE)
                assert found.violations_count == 0, f"{path}, {name}, {light}: {found.generate_report()}"


def looked_over(page, rules: dict) -> AxeResults:
    """What axe finds on this page; its script is half a megabyte and is given to each page once."""
    if not page.evaluate("!!window.axe"):
        page.evaluate(AXE.axe_script)
    return AxeResults(page.evaluate("rules => axe.run(rules).then(({violations}) => ({violations}))", rules))


@pytest.mark.parametrize("moment", PLACE_PAGES)
def test_no_page_of_the_place_has_an_accessibility_violation_or_overflows(scene, window, moment):
    hand = Hand(window(), scene(moment))
    for path in [*PLACE_PAGES[moment], *found_there(hand.scene, moment)]:
        if path.startswith("/shell"):
            hand.page.route(
                "**/contact", lambda asked: asked.abort()
            )  # as out of reach: else the shell gives way to the page itself
        hand.go(path)
        checked(hand.page, path)
    assert [url for url in hand.page.asked if not url.startswith(hand.root)] == []


def found_there(here, moment: str) -> list[str]:
    """Pages whose address depends on what was kept."""
    if moment == "voting":
        reading = here.room.day.of("hourly")[-1].number
        look = here.reading(more=9).path  # more ballots than check-ins: its own page asks for a look
        return [f"/record/{reading}/correct", look, f"{look}/found"]
    if moment == "unused":
        folded = next(kept for kept in here.room.day.entries if kept.kind == "hourly")
        return [here.first("unused").path, f"/record/{folded.number}"]
    if moment == "remark":
        book = here.room.day.last("book-count").number
        name, there = next(
            (n, c.value) for n, c in here.form(f"/record/{book}/correct").controls.items() if n.startswith("check_ins.")
        )
        assert correct(here, book, {name: str(int(there) + 2)}).status == 200
        return [re.search(r'href="(/balance/again/[^"]+)"', here.window.get("/balance").text)[1]]
    return []


def test_no_page_of_the_office_has_an_accessibility_violation_or_overflows(scene, window, tmp_path):
    shutil.copytree(scene("dawn").office, tmp_path / "office")
    app = webapp.create_app(Settings("office", tmp_path / "office", clock="scripted", start=1_793_750_000_000))
    running = serve_in_thread(app)
    try:
        page = window()
        for path in OFFICE_PAGES:
            page.goto(f"http://localhost:{running.port}{path}")
            checked(page, path)
    finally:
        running.stop()
        app.extensions["room"].close()


def test_no_page_at_the_end_of_the_night_has_an_accessibility_violation_or_overflows(window):
    """The demo's place when its packet is ready, and the desk when it has taken it in."""
    demo = moments.start("office")
    at_place, at_office = (Window(urlsplit(demo.links[role]).port) for role in ("place", "office"))
    try:
        page = window()
        short = next(n for n in range(1, 600) if at_place.get(f"/record/{n}/countersign").status == 200)
        for path in [*END_PAGES, f"/record/{short}/countersign"]:
            page.goto(demo.links["place"].rstrip("/") + path)
            checked(page, path)
        crew = Crew(demo.place, at_office, None, {})
        chief, pin = next(iter(demo.desk_pins.items()))
        who = next(
            value
            for value in at_office.get("/tablet").form("/tablet/take").controls["signer"].options
            if value in at_office.get("/tablet").text and chief.split()[-1].lower() in value
        )
        crew.sent(at_office.get("/tablet").form("/tablet/take"), {"signer": who, "pin": pin})
        at_office.upload(
            at_office.get("/intake").form("/intake/file"),
            "files",
            [("packet.cose", at_place.get("/packet/packet.cose").body)],
        )
        at_office.send(at_office.get("/intake").form("/intake/take"))
        for path in OFFICE_NIGHT:
            page.goto(demo.links["office"].rstrip("/") + path)
            checked(page, path)
        assert "Lantern Street School" in page.content() or at_office.get("/place/W3").status == 200
    finally:
        at_place.close()
        at_office.close()
        demo.stop()


def test_nothing_overflows_at_twice_the_text_size(scene, window):
    """A phone at 200 % zoom has half as many CSS pixels: 195 by 422 (WCAG 2.2, 1.4.10 asks for no less than 320 wide)."""
    here = scene("voting")
    page = window("phone")
    page.set_viewport_size({"width": 195, "height": 422})
    hand = Hand(page, here)
    for path in ("/now", "/note", "/count", "/note/spoiled", "/steps/opening"):
        hand.go(path)
        wide = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
        who = page.evaluate(
            "[...document.querySelectorAll('main *, header *, nav *')].filter(one => one.getBoundingClientRect().right > innerWidth + 1).map(one => one.outerHTML.slice(0, 90))"
        )
        assert wide <= 0, f"{path} is {wide} px wider than the screen at twice the text size: {who[:4]}"


def test_every_target_is_at_least_48_px_high(scene, window):
    """Common practice for gloves and tired hands, no source; links inside running text are not targets of their own."""
    here = scene("voting")
    page = window("phone")
    hand = Hand(page, here)
    for path in ("/now", "/note", "/note/spoiled", "/count", "/people", "/tablet", "/seals"):
        hand.go(path)
        low = page.eval_on_selector_all(
            "button, .button, .choice, .places a, input.write, summary",
            """all => all.filter(one => one.offsetParent && one.getBoundingClientRect().height < 48)
            .map(one => one.outerHTML.slice(0, 80))""",
        )
        assert low == [], f"{path}: {low}"


def test_one_signed_step_by_keyboard_alone(scene, window):
    here = scene("voting")
    page = window()
    hand = Hand(page, here)
    hand.go("/note/observers")
    before = here.length

    def at(name: str) -> bool:
        return page.evaluate(
            "name => document.activeElement && document.activeElement.getAttribute('name') === name", name
        )

    def to(name: str) -> None:
        for _ in range(60):
            page.keyboard.press("Tab")
            if at(name):
                return
        raise AssertionError(f"{name} is not reached by the Tab key")

    for name, figure in (("came", "2"), ("left", "0"), ("here", "2")):
        to(name)
        page.keyboard.type(figure)
    to("signer")
    page.keyboard.press("Space")
    who = page.evaluate("document.activeElement.value")
    to("pin")
    page.keyboard.type(here.pins[who])
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    page.wait_for_url("**/note?kept=*")
    assert here.kinds(before) == ["observers"]


def test_a_refusal_takes_the_focus_and_leads_to_its_field(scene, window):
    here = scene("voting")
    page = window()
    hand = Hand(page, here)
    hand.go("/note/observers")
    page.locator("button.do").click()
    assert page.evaluate("document.activeElement.id") == "refusals"
    link = page.locator("#refusals a").first.get_attribute("href")
    assert page.locator(link).count() == 1


def test_the_first_load_is_light(scene, window, capsys):
    """Under 120 kB compressed with the typeface (the design's number)."""
    here = scene("dawn")
    page = window()
    sizes = {}
    page.on(
        "response",
        lambda answer: sizes.update(
            {
                answer.url: len(answer.body())
                if answer.url.endswith((".woff2", "woff2")) or ".woff2" in answer.url
                else len(gzip.compress(answer.body()))
            }
        ),
    )
    Hand(page, here).go("/now")
    page.wait_for_load_state("networkidle")
    whole = sum(sizes.values())
    with capsys.disabled():
        print(f"\nfirst load: {whole / 1000:.1f} kB compressed in {len(sizes)} answers")
    assert 20_000 < whole < 120_000


def palettes() -> dict[str, dict[str, str]]:
    """Day and night colours as the sheet of style sets them."""
    text = (STATIC / "ledger.css").read_text(encoding="utf-8")
    blocks = {
        name: re.search(rf':root\[data-light="{name}"\] \{{(.*?)\}}', text, re.DOTALL)[1] for name in ("day", "night")
    }
    return {name: dict(re.findall(r"--([a-z-]+): (#[0-9a-f]{6})", block)) for name, block in blocks.items()}


def luminance(colour: str) -> float:
    """Relative luminance, WCAG 2.2."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    r, g, b = (p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts)
    return 0.2126 * r + 0.7152 * g + 0.0722 * b


def contrast(one: str, other: str) -> float:
    """Contrast ratio, WCAG 2.2."""
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


@pytest.mark.parametrize("light", ["day", "night"])
def test_words_and_edges_stand_out(light):
    """WCAG 2.2: 4.5 for words (1.4.3), 3 for edges of controls (1.4.11)."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    c = palettes()[light]
    for words in ("ink", "second", "pencil"):
        for ground in ("paper", "field", "wash"):
            assert contrast(c[words], c[ground]) >= 4.5, (words, ground)
    assert contrast(c["on-write"], c["write"]) >= 4.5 and contrast(c["on-block"], c["block"]) >= 4.5
    for ground in ("paper", "field"):
        assert contrast(c["edge"], c[ground]) >= 3
