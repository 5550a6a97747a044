"""Pages with a form, left by each way, printed as a table; laptop and browser killed in the middle of typing."""

from contextlib import suppress

import pytest

from tests.browser.conftest import launched
from tests.browser.hand import Hand
from tests.browser.laptop import Laptop
from tests.browser.test_page_drafts import WAYS, comes, typed
from tests.matrix import nightly

WORDS = {"where": "entrance", "what": "The lamp went out."}
DRAFTED = {  # the page -> at which moment it can be opened, what is typed on it
    "/step/goods": ("sworn", {"rolls": "4"}),
    "/step/room-view": ("sworn", {"booths": "8", "cords_taped": "yes"}),
    "/step/access": ("sworn", {"sign_up": "yes"}),
    "/step/case-seals": ("sworn", {"case-seals/seals.case": "0377"}),
    "/note/bin-emptied/B1": ("voting", {"ballots": "12"}),
    "/note/relief": ("voting", {"open_matters": "A voter waits for an answer."}),
    "/note/power-lost": ("voting", {"runs_on": "battery"}),
    "/note/instruction": ("voting", {"text": "Keep the side door open."}),
    "/step/line-end": ("line-end", {"curb_too": "yes"}),
}
BLIND = {"/step/unused": ("unused", "unused/unused.3A"), "/tape/T1": ("tape-prints", "public")}


@nightly(
    held_by=[
        "tests/browser/test_page_drafts.py::test_what_was_typed_is_there_again_by_whatever_way_the_page_was_left",
        "tests/browser/test_page_drafts.py::test_a_blind_page_stores_nothing_and_asks_before_it_is_left",
    ]
)
def test_a_table_of_pages_and_ways_says_kept_or_asked(scene, window, capsys):
    """A blind page that is left asks, and what was typed is gone, as it says."""
    rows, lost = [], []
    for moment in ("sworn", "voting", "line-end", "unused", "tape-prints"):
        mine = [path for path, (at, _) in (DRAFTED | BLIND).items() if at == moment]
        here = scene(moment)
        hand = Hand(window(fresh=True), here)
        hand.hold()
        for path in mine:
            if path in BLIND:
                said = [asked_by(here, hand, path, BLIND[path][1], way) for way in WAYS]
            else:
                said = [kept_by(here, hand, path, way) for way in WAYS]
            rows.append((path, said))
            lost += [(path, way.__name__) for way, one in zip(WAYS, said, strict=True) if one.startswith("lost")]
    with capsys.disabled():
        print("\npage".ljust(26), *(way.__name__.ljust(8) for way in WAYS))
        for path, said in rows:
            print(path.ljust(25), *(one.ljust(8) for one in said))
    assert lost == []


def kept_by(here, hand, path: str, way) -> str:
    """ "kept" where the page that was left by this way is filled in again."""
    values = DRAFTED[path][1]
    for _ in range(20):  # the last post of the page before may come late: begin on an empty page
        hand.go("/now")
        hand.page.evaluate("sessionStorage.clear()")
        here.room.gate.drafts.clear()
        hand.go(path)
        if "not signed" not in hand.page.inner_text("main"):
            break
    hand.page.evaluate("document.querySelectorAll('main details').forEach((fold) => (fold.open = true))")
    typed(hand.page, values)
    way(hand)
    hand.page.wait_for_timeout(700)
    hand.go(path)
    return "kept" if comes(hand.page, values) else "lost"


def asked_by(here, hand, path: str, field: str, way) -> str:
    """ "asked" where the browser asked before figures went that are stored nowhere; a window closed by a program is not asked about."""
    hand.go(path)
    assert "Nothing typed here is stored before it is signed." in hand.page.inner_text("main")
    hand.page.locator(f'[name="{field}"]').press_sequentially("760")
    asked, page = [], hand.page

    def yes(dialog):
        asked.append(dialog.type)
        dialog.accept()

    page.on("dialog", yes)
    if way.__name__ in ("tab", "link"):
        hand.page.locator("nav.places a").click()
        hand.page.wait_for_url("**/now")
    else:
        way(hand)
    hand.page.wait_for_timeout(300)
    page.remove_listener("dialog", yes)
    assert here.room.gate.drafts.all() == ()
    if way.__name__ == "closed":
        return "gone, as it says"
    return "asked" if "beforeunload" in asked else "lost without a word"


@pytest.fixture
def killed_laptop(scene):
    here = scene("voting")
    here.stop()
    one = Laptop(here.folder, here.now).start()
    yield here, one
    one.kill()
    here.windows = []
    here.start()


def test_what_was_typed_outlives_kill_9_of_the_laptop_and_then_of_the_browser(killed_laptop, playing):
    here, one = killed_laptop
    with launched(playing) as browser:
        page = browser.new_page()
        page.goto(f"{one.root}/note/incident")
        typed(page, WORDS)
        page.get_by_text("Put aside at").wait_for()
        page.wait_for_timeout(1_500)  # the last keys: a quarter of a second after they were typed
        one.kill()
        one.start()
        page.goto(f"{one.root}/note/incident")
        assert comes(page, WORDS)
        with suppress(Exception):  # it dies before it can answer
            browser.new_browser_cdp_session().send("Browser.crash")
    with launched(playing) as browser:
        page = browser.new_page()
        page.goto(f"{one.root}/note/incident")
        page.get_by_role("link", name="Go on with it here").click()
        page.get_by_role("button", name="Go on with it on this tablet").click()
        page.wait_for_url("**/note/incident?draft=*")
        assert comes(page, WORDS)
