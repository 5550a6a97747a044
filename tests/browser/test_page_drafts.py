"""Nothing typed is lost: each page with a form is typed on and then left by each way; blind pages store nothing and ask before they are left.

The pages and the ways are those of design 15 (truth): tab, link, Back, reload, closed browser, taken tablet; kill -9 of the laptop.
"""

import functools

import pytest

from tests.browser.hand import Hand
from tests.matrix import some

PAGES = {  # at which moment, the page, what is typed on it
    "/step/roles": ("sworn", {"second_in_command": "okafor", "exits_clear": "yes"}),
    "/step/clocks": ("voting", {}),
    "/note/incident": ("voting", {"where": "entrance", "what": "The lamp went out."}),
    "/note/spoiled": ("voting", {"style": "3A", "reissued": "no"}),
    "/step/hourly:10:00": ("voting", {"in_hand": "4"}),
    "/people/vouch": ("voting", {"why": "walk-in", "name": "Rosa Delgado"}),
}
BLIND = "/step/unused"


@pytest.fixture(scope="module")
def tablets(shared_scene, shared_window):
    """A function: moment -> (scene, a hand that took a tablet there), the same for all tests."""

    @functools.cache
    def at(moment: str):
        hand = Hand(shared_window(), here := shared_scene(moment))
        hand.hold()
        return here, hand

    return at


@pytest.fixture
def begun(tablets):
    """A function: moment -> (scene, a hand there) with nothing put aside; the voting day where none is named."""

    def at(moment: str = "voting"):
        here, hand = tablets(moment)
        hand.go("/now")
        hand.page.evaluate("sessionStorage.clear()")
        hand.page.wait_for_timeout(300)  # what the page before posted while it went
        here.room.gate.drafts.clear()
        return here, hand

    return at


def typed(page, values: dict) -> None:
    """Choose what is chosen; type the last key of each text, the others at once."""
    for name, value in values.items():
        box = page.locator(f'[name="{name}"]')
        if box.first.get_attribute("type") in ("radio", "checkbox"):
            page.locator(f'[name="{name}"][value="{value}"]').check()
        else:
            box.fill(value[:-1])
            box.press_sequentially(value[-1])


def stands(page, values: dict) -> bool:
    def one(name: str, value: str) -> bool:
        box = page.locator(f'[name="{name}"]')
        if box.first.get_attribute("type") in ("radio", "checkbox"):
            return page.locator(f'[name="{name}"][value="{value}"]').is_checked()
        return box.input_value() == value

    return all(one(name, value) for name, value in values.items())


def comes(page, values: dict, seconds: int = 5) -> bool:
    """Whether it is filled in again, and said to be unsigned, within some seconds."""
    for _ in range(seconds * 10):
        if stands(page, values) and "not signed" in page.inner_text("main"):
            return True
        page.wait_for_timeout(100)
    return False


def there_again(hand, path: str, values: dict) -> bool:
    """Whether it is filled in when the page is opened anew; what a page posts while it goes may come after the next one was asked for, so three looks."""
    for _ in range(3):
        hand.page.wait_for_timeout(700)
        hand.go(path)
        if comes(hand.page, values):  # what this window or tablet held is filled in after the page is there
            return True
    return False


def laid_aside(here, page, values: dict):
    """The draft on the laptop once it holds all that was typed; its first post has only the first field."""
    for _ in range(100):
        found = next((one for one in here.room.gate.drafts.all() if values.items() <= dict(one.form).items()), None)
        if found:
            return found
        page.wait_for_timeout(100)
    raise AssertionError(f"{values} was not put aside within 10 s: {here.room.gate.drafts.all()}")


def tab(hand):
    hand.page.locator('nav a[href="/count"]').click()
    hand.page.wait_for_url("**/count")


def link(hand):
    hand.page.locator("details.menu > summary").click()
    hand.page.get_by_role("link", name="Record", exact=True).click()
    hand.page.wait_for_url("**/record")


def back(hand):
    hand.page.go_back()


def reload(hand):
    hand.page.reload()


def closed(hand):
    """The window is closed at once, in the middle of everything; its cookies are those of the tablet."""
    context = hand.page.context
    hand.page.close()
    hand.page = context.new_page()


WAYS = (tab, link, back, reload, closed)
EVERY = [(path, way) for path, (_, values) in PAGES.items() if values for way in WAYS]
FEW = [
    ("/step/roles", closed),
    ("/note/incident", link),
    ("/note/spoiled", reload),
    ("/step/hourly:10:00", back),
    ("/people/vouch", tab),
]


def test_the_few_are_each_page_and_each_way():
    assert {path for path, _ in FEW} == {path for path, _ in EVERY} and {way for _, way in FEW} == set(WAYS)


@pytest.mark.parametrize("moment", ["sworn", "voting"])
def test_what_was_typed_is_there_again_by_whatever_way_the_page_was_left(begun, moment):
    here, hand = begun(moment)
    before, lost = here.length, []
    for path in dict.fromkeys(path for path, _ in some(FEW, EVERY) if PAGES[path][0] == moment):
        values = PAGES[path][1]
        for way in (way for one, way in some(FEW, EVERY) if one == path):
            hand.go("/now")
            hand.page.evaluate("sessionStorage.clear()")
            for _ in range(
                2
            ):  # what the page before sent as it was left may still be on its way, and would lie beside this one
                here.room.gate.drafts.clear()
                hand.page.wait_for_timeout(300)
            hand.go(path)
            typed(hand.page, values)
            way(hand)
            if not there_again(hand, path, values):
                lost.append((path, way.__name__, hand.page.inner_text("main")[:200]))
    assert lost == [] and here.kinds(before) == []


def test_now_and_steps_say_what_was_begun_and_a_draft_is_no_entry(begun):
    here, hand = begun()
    before = here.length
    hand.go("/note/incident")
    typed(hand.page, PAGES["/note/incident"][1])
    laid_aside(here, hand.page, PAGES["/note/incident"][1])
    for path in ("/now", "/steps/voting"):
        hand.go(path)
        assert "Begun at 10:" in hand.page.inner_text(
            "main"
        ) and "by Ada Lindqvist, not signed." in hand.page.inner_text("main")
    assert here.kinds(before) == []
    hand.go("/note/spoiled")
    typed(hand.page, PAGES["/note/spoiled"][1])
    laid_aside(here, hand.page, PAGES["/note/spoiled"][1])
    hand.go("/now")
    assert "Begun by Ada Lindqvist, not signed." in hand.page.inner_text("main")  # of one ballot no minute is kept


def test_what_is_put_away_is_gone_at_once_and_stays_gone(begun):
    here, hand = begun()
    hand.go("/note/incident")
    typed(hand.page, PAGES["/note/incident"][1])
    hand.go("/note/incident")  # before the laptop has the last keys
    hand.page.get_by_text("Filled in as it was left here").or_(hand.page.get_by_text("Put aside at")).first.wait_for()
    hand.page.wait_for_timeout(400)
    hand.go("/note/incident")
    hand.page.get_by_role("link", name="Put it away and begin again").click()
    hand.page.get_by_role("button", name="Put it away").click()
    hand.page.wait_for_url("**/note/incident")
    hand.page.wait_for_timeout(400)
    assert hand.page.locator('[name="what"]').input_value() == "" and here.room.gate.drafts.all() == ()


def test_a_first_signature_that_is_taken_back_leaves_the_page_filled_in(begun):
    here, hand = begun()
    hand.go("/note/jam/T1")
    typed(hand.page, {"counted": "yes", "went": "main-bin"})
    hand.sign(hand.form("/note/jam"), "/note/jam/T1")
    hand.page.get_by_role("button", name="Take the first signature back").click()
    hand.page.wait_for_url("**/note/jam/T1")
    assert stands(hand.page, {"counted": "yes", "went": "main-bin"})
    assert "signature was taken back. What was filled in is still here" in hand.page.inner_text("main")


def test_why_a_seat_is_empty_is_put_aside_on_this_tablet_alone(begun):
    here, hand = begun()
    hand.go("/note/jam/T1")
    typed(hand.page, {"counted": "yes", "went": "main-bin"})
    hand.sign(hand.form("/note/jam"), "/note/jam/T1")
    path = hand.path
    hand.page.locator("details:has(form[data-here]) > summary").click()
    hand.page.locator('[name="told"]').press_sequentially("Duty clerk")
    hand.page.get_by_text("Put aside on this tablet, not signed.").wait_for()
    for way in (tab, reload, closed):
        way(hand)
        hand.go(path)
        told = hand.page.locator('[name="told"]')
        for _ in range(100):
            if told.input_value() == "Duty clerk":
                break
            hand.page.wait_for_timeout(100)
        assert told.input_value() == "Duty clerk" and told.is_visible(), way.__name__
    assert here.room.gate.drafts.all() == ()


def test_a_blind_page_stores_nothing_and_asks_before_it_is_left(scene, window):
    here = scene("unused")
    hand = Hand(window(fresh=True), here)
    hand.hold()
    hand.go(BLIND)
    assert "Nothing typed here is stored before it is signed." in hand.page.inner_text("main")
    field = hand.page.locator('[name^="unused/unused."]').first
    field.press_sequentially("760")
    asked = []
    hand.page.on("dialog", lambda dialog: (asked.append(dialog.type), dialog.accept()))
    hand.page.locator('nav a[href="/now"]').click()
    hand.page.wait_for_url("**/now")
    assert asked == ["beforeunload"] and here.room.gate.drafts.all() == ()
    hand.go(BLIND)
    assert field.input_value() == ""


def test_with_script_off_a_button_puts_the_page_aside(begun, window):
    here, _ = begun()
    hand = Hand(window(script=False), here)
    hand.hold()
    hand.go("/note/incident")
    typed(hand.page, PAGES["/note/incident"][1])
    hand.page.get_by_role("button", name="Put aside, sign later").click()
    hand.page.wait_for_url("**/now")
    hand.page.get_by_role("link", name="Incident").click()
    hand.page.get_by_role("button", name="Go on with it on this tablet").click()
    hand.page.wait_for_url("**/note/incident?draft=*")
    assert stands(hand.page, PAGES["/note/incident"][1])


def test_what_is_typed_before_the_tablets_store_answers_is_not_overwritten(begun, window):
    here, _ = begun()
    hand = Hand(window(fresh=True), here)
    hand.hold()
    hand.go("/note/incident")
    typed(hand.page, PAGES["/note/incident"][1])
    laid_aside(here, hand.page, PAGES["/note/incident"][1])
    older = hand.page.evaluate(
        """() => new Promise((done) => {
            const held = { pairs: [["what", "The la"], ["where", "entrance"]], id: "" };
            const opened = indexedDB.open("tapeseal");
            opened.onsuccess = () => {
                const deed = opened.result.transaction(["shell"], "readwrite");
                deed.objectStore("shell").put(held, "draft /note/incident");
                deed.oncomplete = () => done(opened.result.name);
            };
        })"""
    )
    assert older == "tapeseal"
    hand.page.evaluate("sessionStorage.clear()")
    hand.page.add_init_script(  # somebody types in the very moment the page is there, before any store has answered
        """addEventListener("DOMContentLoaded", () => {
            const box = document.querySelector('[name="what"]');
            if (!box) return;
            box.value = "The lamp went out, and on again.";
            box.dispatchEvent(new InputEvent("input", { bubbles: true }));
        });"""
    )
    hand.page.reload()
    hand.page.wait_for_timeout(500)
    assert hand.page.locator('[name="what"]').input_value() == "The lamp went out, and on again."


def test_the_server_is_killed_and_what_was_typed_is_there_when_it_starts_again(begun):
    """The last test on this tablet: the laptop comes back at another port."""
    here, hand = begun()
    hand.go("/note/incident")
    typed(hand.page, PAGES["/note/incident"][1])
    draft = laid_aside(here, hand.page, PAGES["/note/incident"][1])
    here.restart()
    assert here.room.gate.drafts.get(draft.id) == draft
