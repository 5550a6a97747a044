"""Open pages move in a real browser: the clock, what waits for a signature, what is due; a page that is typed on is never loaded again."""

import time

import pytest

from demo_precinct.rehearsed_day import MINUTE
from tests.browser.hand import Hand

WITHIN = 5.0  # seconds until a waiting signature is seen on the other tablet


@pytest.fixture(scope="module")
def voting(shared_scene):
    """The voting day, for tests that go on from each other's notes and leave its clock where it is; the last one moves it."""
    return shared_scene("voting")


def somebody_looks(page) -> None:
    """The page asks the laptop, as it does every few seconds by itself, and has its answer."""
    with page.expect_response("**/live") as told:
        page.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
    told.value.finished()


def jammed(here) -> str:
    """A note that waits for its second signature; the address where it is signed."""
    at = here.place.tabulators[0].id
    form = here.form(f"/note/jam/{at}")
    values = here.filled(form, "jam", at) | {"counted": "yes", "went": "main-bin"}
    return here.window.send(form, here.signed(values, "lindqvist")).path


def test_the_clock_in_the_head_goes_on_by_the_laptops_own(scene, window):
    here = scene("voting")
    here.now += -here.now % MINUTE + MINUTE - 3_000  # three seconds before the next minute
    here.crew.clock(here.now)
    here.room.clock.go()
    page = window()
    Hand(page, here).go("/note")
    first = page.locator("time[data-now]").inner_text()
    page.wait_for_function(
        "old => document.querySelector('time[data-now]').textContent !== old", arg=first, timeout=45_000
    )
    minutes = [60 * int(t[:2]) + int(t[3:]) for t in (first, page.locator("time[data-now]").inner_text())]
    assert minutes[1] == minutes[0] + 1


def test_what_waits_for_a_signature_appears_on_the_other_tablet_by_itself(voting, window):
    here = voting
    page = window()
    Hand(page, here).go("/now")
    page.wait_for_timeout(1_000)
    path, began = jammed(here), time.monotonic()
    page.locator(f'a[href="{path}"]').wait_for()
    assert time.monotonic() - began < WITHIN
    assert "Signed once, by Ada Lindqvist." in page.locator("main").inner_text()


def test_a_page_that_is_typed_on_is_not_loaded_again_and_gets_a_strip(scene, window):
    here = scene("voting")
    page = window()
    Hand(page, here).go("/note/observers")
    page.locator('input[name="came"]').fill("2")
    page.evaluate("globalThis.same = true")
    here.now = here.place.at(here.place.opens) + 4 * 60 * MINUTE
    here.crew.clock(here.now)
    path = jammed(here)
    somebody_looks(page)
    strips = page.locator("[data-strips]")
    strips.locator(f'a[href="{path}"]').wait_for()
    assert "“Take the 11:00 reading” is due." in strips.inner_text()
    assert page.evaluate("globalThis.same") and page.locator('input[name="came"]').input_value() == "2"


def test_the_first_signer_is_told_when_the_other_one_has_signed(voting, window):
    here = voting
    path = jammed(here)
    page = window()
    Hand(page, here).go(path)
    somebody_looks(page)
    strip = page.locator('[data-strip="gone"] a[href="/now"]')
    assert not strip.count(), "nothing is said before"
    here.second(here.window.get(path))
    somebody_looks(page)
    strip.wait_for()
    assert strip.is_visible()


def test_with_script_off_the_page_says_how_old_it_is(voting, window):
    here = voting
    page = window(script=False)
    Hand(page, here).go("/now")
    assert "does not move by itself" in page.locator("[data-strips]").inner_text()
    assert page.locator('[data-strips] a[href="/now"]').inner_text() == "Load it again"


SOUND = """
globalThis.heard = 0;
globalThis.AudioContext = class {
  constructor() { globalThis.heard += 1; this.state = "running"; this.currentTime = 0; }
  createOscillator() { return { frequency: {}, connect: (next) => next, start() {}, stop() {} }; }
  createGain() { return { gain: { setValueAtTime() {}, exponentialRampToValueAtTime() {} }, connect() {} }; }
  close() {}
};
"""


def test_what_is_new_is_heard_once_and_not_at_all_where_the_sound_is_off(voting, window):
    here = voting
    page = window(fresh=True)
    page.add_init_script(SOUND)
    Hand(page, here).go("/note/observers")
    somebody_looks(page)
    path = jammed(here)
    somebody_looks(page)
    page.locator(f'[data-strips] a[href="{path}"]').wait_for()
    somebody_looks(page)  # one more answer: the same strip is not heard again
    page.wait_for_timeout(300)
    assert page.evaluate("globalThis.heard") == 1
    page.evaluate("localStorage.setItem('quiet', 'yes')")
    path = jammed(here)
    somebody_looks(page)
    page.locator(f'[data-strips] a[href="{path}"]').wait_for()
    assert page.evaluate("globalThis.heard") == 1


def test_a_reading_that_is_due_comes_to_now_by_itself(voting, window):
    here = voting
    page = window()
    Hand(page, here).go("/now")
    page.wait_for_timeout(500)
    here.now = here.place.at(here.place.opens) + 3 * 60 * MINUTE + 75 * MINUTE
    here.crew.clock(here.now)
    page.locator("text=Overdue by").first.wait_for()
    assert "Take the 11:00 reading" in page.locator("h1").inner_text()
