"""Fewer taps at a page: a tap on a name leads into its PIN, one tap ticks a group; a keyboard is not led about."""

import functools

import pytest


@pytest.fixture(scope="module")
def days(shared_scene):
    """A function: moment -> the day stopped there, the same for all tests, which sign nothing."""
    return functools.cache(shared_scene)


@pytest.fixture
def day(days):
    """A function: moment -> that day with nothing put aside."""

    def at(moment: str):
        here = days(moment)
        here.room.gate.drafts.clear()
        return here

    return at


def test_a_tap_on_a_name_leads_into_its_pin_and_a_key_press_does_not(day, window):
    here = day("sworn")
    page = window("tablet upright")
    page.goto(f"http://localhost:{here.running.port}/step/goods")
    put = page.locator("form").last
    put.locator("label", has_text="Ada Lindqvist").first.click()
    assert page.evaluate("document.activeElement.name") == "pin"

    put.locator("[name=signer]").first.focus()
    page.evaluate("new Promise(done => setTimeout(done, 1100))")
    page.keyboard.press("ArrowDown")
    assert page.evaluate("document.activeElement.name") == "signer"


def test_one_tap_ticks_each_of_a_group_and_nothing_else(day, window):
    here = day("sworn")
    page = window("tablet upright")
    page.goto(f"http://localhost:{here.running.port}/step/goods")
    put = page.locator("form").last
    ticked = put.locator("input[type=checkbox]:checked")
    assert ticked.count() == 0
    put.locator("[data-all]").first.click()
    names = [box.get_attribute("name") for box in ticked.all()]
    assert len(names) == 7 and all(name.startswith("containers.") for name in names), names


def test_keys_write_what_the_record_knows_and_nothing_before_they_are_pressed(day, window):
    here = day("voting")
    here.hold()
    page = window("tablet upright")

    def opened(path):
        page.goto(f"http://localhost:{here.running.port}{path}")

    opened("/note/jam/T1")
    assert page.locator("[name=counted]:checked, [name=went]:checked").count() == 0
    page.get_by_role("button", name="Not counted: the voter has it back").click()
    chosen = page.locator("[name=counted]:checked, [name=went]:checked")
    assert [one.input_value() for one in chosen.all()] == ["no", "voter"]

    opened("/note/bin-emptied/B1")
    page.locator("fieldset", has_text="Into which container").locator("label", has_text="C1").click()
    assert page.evaluate("document.activeElement.name") == "seal"


def test_one_key_fills_in_what_is_still_empty_of_a_group(day, window):
    here = day("sworn")
    page = window("tablet upright")
    page.goto(f"http://localhost:{here.running.port}/step/access")
    assert page.locator("form [type=checkbox]:checked").count() == 0
    page.get_by_role("button", name="Tick all 4").click()
    names = [box.get_attribute("name") for box in page.locator("form [type=checkbox]:checked").all()]
    assert names == ["door_unlocked", "route_clear", "space_free", "sign_up"]

    page.goto(f"http://localhost:{here.running.port}/step/case-seals")
    serials = page.locator(".field", has_text="Serial number of T1")
    assert [key.inner_text() for key in serials.locator("[data-write]").all()] == ["84-1127", "84-1130"]
    serials.locator("[data-write]").last.click()
    assert serials.locator("input").input_value() == "84-1130"


def test_a_reading_opens_in_its_first_figure(day, window):
    """The last test of this day: its clock goes on."""
    here = day("voting")
    here.now = here.place.at(here.place.opens) + 4 * 3_600_000
    here.crew.clock(here.now)
    page = window("tablet upright")
    page.goto(f"http://localhost:{here.running.port}/now")
    with page.expect_navigation():
        page.locator("a.button.do").first.click()
    assert page.evaluate("document.activeElement.name") == "counters.T1"
