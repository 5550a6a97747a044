"""Pages for everyone: an automatic accessibility check (axe), no overflow, targets that a glove hits, contrast, one origin, a light first load."""

import gzip
import re
from pathlib import Path

import pytest

import webapp
from tests.browser.hand import Hand
from tests.browser.page_check import looked_at, shown
from tests.pages.test_record_pages import correct

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


def test_no_page_of_the_place_has_an_accessibility_violation_or_overflows(scene, window):
    """Moment by moment of the day, each on a server of its own, in one window."""
    page, roots = window(), []
    for moment in PLACE_PAGES:
        hand = Hand(page, scene(moment))
        roots.append(hand.root)
        for path in [*PLACE_PAGES[moment], *found_there(hand.scene, moment)]:
            if path.startswith("/shell"):  # as out of reach: else the shell gives way to the page itself
                page.route("**/contact", lambda asked: asked.abort())
            looked_at(page, hand.root + path)
        page.unroute_all()
    assert [url for url in page.asked if not url.startswith(tuple(roots))] == []


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


def test_nothing_overflows_at_twice_the_text_size(scene, window):
    """A phone at 200 % zoom has half as many CSS pixels: 195 by 422 (WCAG 2.2, 1.4.10 asks for no less than 320 wide)."""
    here = scene("voting")
    page = window("phone")
    page.set_viewport_size({"width": 195, "height": 422})
    root = Hand(page, here).root
    for path in ("/now", "/note", "/count", "/note/spoiled", "/steps/opening"):
        shown(page, root + path)
        wide = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
        who = page.evaluate(
            "[...document.querySelectorAll('main *, header *, nav *')].filter(one => one.getBoundingClientRect().right > innerWidth + 1).map(one => one.outerHTML.slice(0, 90))"
        )
        assert wide <= 0, f"{path} is {wide} px wider than the screen at twice the text size: {who[:4]}"


def test_every_target_is_at_least_48_px_high(scene, window):
    """Common practice for gloves and tired hands, no source; links inside running text are not targets of their own."""
    here = scene("voting")
    page = window("phone")
    root = Hand(page, here).root
    for path in ("/now", "/note", "/note/spoiled", "/count", "/people", "/tablet", "/seals"):
        shown(page, root + path)
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
    page.locator("#refusals:focus").wait_for()
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
