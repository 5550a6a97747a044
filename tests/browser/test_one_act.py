"""One act of people is one entry: however often a page is pressed, opened in another window, left or found again while the laptop comes and goes."""

import re

import pytest

from tests.browser.laptop import ServedLaptop
from tests.browser.test_alone import STORED, Tablet, record, until

LAMP = {"where": "entrance", "what": "The lamp went out."}
ASIDE = "words => document.querySelector('[data-aside]')?.textContent.includes(words)"
TWICE = """() => {
  const button = document.querySelector("button.do");
  button.click();
  button.click();
  for (const after of [0, 5, 60]) setTimeout(() => button.click(), after);
}"""
DRAFTS = """() => new Promise((done) => {
  indexedDB.open("tapeseal", 1).onsuccess = ({ target }) => {
    target.result.transaction("shell").objectStore("shell").getAllKeys(IDBKeyRange.bound("draft /", "draft 0")).onsuccess = ({ target }) => done(target.result);
  };
})"""


@pytest.fixture(scope="module")
def put(shared_scene, shared_window):
    """A tablet of the voting day, and its laptop."""
    one = ServedLaptop(here := shared_scene("voting"))
    tablet = Tablet(shared_window(worker=True, fresh=True), here, one)
    return tablet, one


@pytest.fixture
def tablet(put):
    """That tablet within reach, with nothing held or put aside."""
    tablet, one = put
    tablet.laptop = one
    if not tablet.scene.running._thread.is_alive():
        one.start()
    tablet.page.unroute_all()
    tablet.go("/now")
    tablet.scene.room.gate.drafts.clear()
    yield tablet


def kept(tablet, before: int, kind: str) -> list[str]:
    return [entry.id.hex() for entry in record(tablet.scene)[before:] if entry.kind == kind]


def held_settle(tablet) -> list[dict]:
    return tablet.page.evaluate(STORED, "settle")


def refused(tablet) -> str:
    """Observers held with a word for a figure and refused; the address at which they are done again."""
    tablet.laptop.kill()
    tablet.note_alone("/note/observers", here="two")
    tablet.laptop.start()
    tablet.keep()
    until(tablet.page, "document.querySelectorAll('[data-settle] li').length === 1")
    return tablet.page.locator("[data-settle] [data-anew]").get_attribute("href")


def test_a_page_that_is_pressed_again_while_it_is_held_is_held_once(tablet):
    tablet.laptop.kill()
    tablet.go("/note/left")
    tablet.choose()
    tablet.page.evaluate(TWICE)
    tablet.page.wait_for_url("**/held")
    until(tablet.page, "document.querySelectorAll('[data-list] li').length")
    assert len(tablet.held()) == 1
    before = len(record(tablet.scene))
    tablet.laptop.start()
    tablet.keep()
    assert len(kept(tablet, before, "left")) == 1


@pytest.mark.parametrize("first", ("kept", "opened"))
def test_what_is_held_is_never_filled_in_again_as_the_next_of_its_kind(tablet, first):
    """A form of the laptop's is pressed when the laptop is gone, and held. The next one opened is blank and another act, the list kept first or not."""
    before = len(record(tablet.scene))
    tablet.go("/note/incident")
    tablet.write(LAMP)
    until(tablet.page, ASIDE, arg="Put aside")  # the laptop has it
    tablet.choose()
    tablet.laptop.kill()
    tablet.page.locator("button.do").click()
    tablet.page.wait_for_url("**/held")
    tablet.page.wait_for_timeout(600)  # what is put aside is put aside a moment after the last key
    held = tablet.held()
    tablet.laptop.start()
    if first == "kept":
        tablet.keep()
        until(tablet.page, "document.querySelectorAll('[data-done] li').length === 1")
    tablet.go("/now")
    assert ("Begun" in tablet.says()) == (first == "opened")  # the laptop cannot know what is held
    tablet.go("/note/incident")
    until(tablet.page, "name => document.querySelector('[name=what]').value === '' && document.querySelector('[name=entry_id]').value !== name", arg=held[0]["id"])  # fmt: skip
    pin = tablet.scene.pins["lindqvist"]
    tablet.write({"where": "entrance", "what": "It went out again.", "signer": "lindqvist", "pin": pin})
    tablet.page.locator("button.do").click()
    tablet.page.wait_for_url("**/note?kept=*")
    if first == "opened":
        tablet.keep()
        until(tablet.page, "document.querySelectorAll('[data-done] li').length === 1")
    assert tablet.held() == []
    two = kept(tablet, before, "incident")
    assert len(two) == 2 and held[0]["id"] in two


def test_a_page_in_two_windows_is_held_once_and_with_other_figures_it_says_so(tablet):
    tablet.laptop.kill()
    tablet.go("/note/incident")
    tablet.write(LAMP)
    until(tablet.page, ASIDE, arg="Put aside on this tablet")
    second = tablet.page.context.new_page()
    second.goto(tablet.root + "/note/incident")
    until(second, "document.querySelector('[name=what]').value === 'The lamp went out.'")
    tablet.choose()
    tablet.page.locator("button.do").click()
    tablet.page.wait_for_url("**/held")
    second.locator("[name=what]").fill("It went out again.")
    second.locator("button.do").click()
    second.wait_for_selector("[data-notice=unsent]")
    assert "held on this tablet already, with other figures" in second.inner_text("[data-notice=unsent]")
    assert second.input_value("[name=what]") == "It went out again." and len(tablet.held()) == 1
    second.close()
    tablet.laptop.start()
    tablet.keep()


def test_what_was_put_aside_out_of_reach_and_then_signed_is_not_there_again_when_the_laptop_is_away(tablet):
    tablet.go("/note/incident")
    tablet.laptop.kill()
    tablet.write(LAMP)
    until(tablet.page, ASIDE, arg="does not answer")
    tablet.laptop.start()
    tablet.page.evaluate(  # as fast as a note that is only ticked: nothing more is put aside before it is sent
        "pin => { const all = document.querySelector('form[data-draft]').elements; all.signer.value = 'lindqvist'; all.pin.value = pin; }",
        tablet.scene.pins["lindqvist"],
    )
    tablet.page.locator("button.do").click()
    tablet.page.wait_for_url("**/note?kept=*")
    until(tablet.page, f"({DRAFTS})().then((all) => all.length === 0)")
    tablet.laptop.kill()
    tablet.go("/note/incident")
    tablet.page.wait_for_timeout(500)
    assert tablet.page.input_value("[name=what]") == ""


def test_a_laptop_that_says_nothing_keeps_no_page_from_being_held_or_put_aside(tablet):
    tablet.go("/note/incident")
    tablet.page.route("**/draft?*", lambda route: None)  # out of radio: no answer, and no refusal
    tablet.write(LAMP)
    until(tablet.page, ASIDE, arg="does not answer. Put aside on this tablet")
    assert "draft /note/incident" in tablet.page.evaluate(DRAFTS)
    tablet.write({"what": "The lamp went out, and the door stuck."})
    tablet.choose()
    tablet.page.wait_for_timeout(400)
    tablet.laptop.kill()
    tablet.page.locator("button.do").click()
    tablet.page.wait_for_url("**/held", timeout=3_000)
    tablet.page.wait_for_timeout(6_000)  # what was on its way is given up, and is not put aside after all
    assert tablet.page.evaluate(DRAFTS) == []
    tablet.page.unroute_all()
    tablet.laptop.start()
    tablet.keep()


def test_what_is_filled_in_after_a_form_was_not_held_is_put_aside(tablet):
    tablet.laptop.kill()
    tablet.go("/note/incident")
    tablet.write({"what": "The lamp went out."})
    tablet.page.locator("button.do").click()
    tablet.page.wait_for_selector("[data-notice=unsent]")
    tablet.write({"what": "The lamp over booth 2 went out."})
    tablet.page.wait_for_timeout(300)
    tablet.page.evaluate("sessionStorage.clear()")  # the browser is killed
    tablet.go("/note/incident")
    until(tablet.page, "document.querySelector('[name=what]').value === 'The lamp over booth 2 went out.'")
    tablet.write({"where": "booths"})
    tablet.choose()
    tablet.page.locator("button.do").click()
    tablet.page.wait_for_url("**/held")
    assert [one["form"]["what"] for one in tablet.held()] == ["The lamp over booth 2 went out."]
    tablet.laptop.start()
    tablet.keep()


def test_a_refused_entry_is_done_again_under_its_own_number_and_what_was_corrected_stays(tablet):
    path, page = refused(tablet), tablet.page
    before = len(record(tablet.scene))
    tablet.go(path)
    until(page, "document.querySelector('[name=here]').value === 'two'")
    assert page.input_value("[name=entry_id]") == path.rpartition("=")[2]
    tablet.write({"here": "2"})
    until(page, ASIDE, arg="Put aside at")
    page.reload()
    page.wait_for_selector("[data-notice=anew]")
    assert page.input_value("[name=here]") == "2"
    second = page.context.new_page()
    second.goto(tablet.root + path)
    second.wait_for_selector("[data-notice=anew]")
    assert second.input_value("[name=entry_id]") == page.input_value("[name=entry_id]")
    second.close()
    tablet.sign(tablet.form("/note/observers"), "/note/observers")
    page.wait_for_url("**/note?kept=*")
    tablet.go(path)  # opened once more before the list was
    until(page, "document.querySelector('[name=here]').value === 'two'")
    tablet.go("/held")
    until(page, "document.querySelectorAll('[data-done] li').length === 1")
    assert "done again, entry" in page.inner_text("[data-done]") and held_settle(tablet) == []
    assert kept(tablet, before, "observers") == [path.rpartition("=")[2]]


def test_a_refused_entry_done_again_out_of_reach_is_held_and_waits_to_be_settled_no_more(tablet):
    path, page = refused(tablet), tablet.page
    before = len(record(tablet.scene))
    tablet.laptop.kill()
    tablet.go(path)
    until(page, "document.querySelector('[name=here]').value === 'two'")
    tablet.write({"here": "2"})
    page.locator("button.do").click()
    page.wait_for_url("**/held")
    until(page, "document.querySelectorAll('[data-list] li').length === 1")
    assert held_settle(tablet) == [] and re.match("1 held here", page.inner_text("[data-held]").strip())
    tablet.laptop.start()
    tablet.keep()
    assert kept(tablet, before, "observers") == [path.rpartition("=")[2]] and tablet.held() == []


def test_the_time_of_power_lost_now_is_put_aside_on_the_tablet_where_the_radio_went_with_the_power(tablet):
    page = tablet.page
    tablet.go("/note/power-lost")
    tablet.laptop.kill()
    page.get_by_role("button", name="Power lost now").click()
    until(page, ASIDE, arg="Put aside on this tablet")
    at = page.input_value("[name=time]")
    page.evaluate("sessionStorage.clear()")
    assert re.fullmatch("[0-9]{2}:[0-9]{2}", at) and page.locator("form[data-draft]").get_attribute("data-sent") is None
    tablet.laptop.start()
    tablet.go("/note/power-lost")
    until(page, "at => document.querySelector('[name=time]').value === at", arg=at)


def test_a_page_that_was_loaded_past_the_worker_is_held_as_any_other(tablet):
    page = tablet.page
    tablet.go("/note/observers")
    page.context.new_cdp_session(page).send("Page.reload", {"ignoreCache": True})  # as by the key with Shift
    page.wait_for_timeout(1_500)
    assert not page.evaluate("Boolean(navigator.serviceWorker.controller)")
    tablet.write({"here": "2"})
    tablet.choose()
    tablet.laptop.kill()
    page.locator("button.do").click()
    page.wait_for_url("**/held", timeout=10_000)
    assert [one["form"]["here"] for one in tablet.held()] == ["2"]
    tablet.laptop.start()
    tablet.keep()


def test_what_was_begun_out_of_reach_is_not_filled_in_where_a_tile_of_another_style_was_tapped(tablet):
    page = tablet.page
    tablet.laptop.kill()
    tablet.go("/note/spoiled")
    tablet.write({"style": "3A", "reissued": "no"})
    until(page, ASIDE, arg="Put aside on this tablet")
    page.evaluate("sessionStorage.clear()")
    tablet.laptop.start()
    tablet.go("/note/spoiled?style=4A")
    until(page, f"({DRAFTS})().then((all) => !all.includes('draft /note/spoiled'))")
    assert page.is_checked('[name=style][value="4A"]') and not page.is_checked('[name=reissued][value="no"]')
    (draft,) = tablet.scene.room.gate.drafts.all()
    assert {"style": "3A", "reissued": "no"}.items() <= dict(draft.form).items()
