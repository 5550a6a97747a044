"""What a page leaves on paper: black on white, without places, menu and buttons; hand figures lean; folded away is nothing but controls."""

import pytest

from tests.browser.hand import Hand
from tests.paper.printed import Printed

PAGES = ("/now", "/steps/opening", "/note", "/count", "/seals", "/record", "/people")


@pytest.fixture(scope="module")
def paper(shared_scene, shared_window):
    """A function: path -> the page of a day's afternoon at night light, laid out for paper."""
    hand = Hand(shared_window(color_scheme="dark"), shared_scene("voting"))

    def at(path: str):
        hand.go(path)
        hand.page.emulate_media(media="print")
        return hand.page

    return at


@pytest.mark.parametrize("path", PAGES)
def test_nothing_that_only_a_screen_needs_is_printed(paper, path):
    page = paper(path)
    shown = page.eval_on_selector_all(
        ".places, .menu, .skip, .button, .choices, button, input, textarea",
        "all => all.filter(one => one.checkVisibility()).map(one => one.outerHTML.slice(0, 80))",
    )
    assert shown == []
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(255, 255, 255)"
    assert page.evaluate("getComputedStyle(document.body).color") == "rgb(0, 0, 0)"
    assert page.locator("h1").is_visible()


def test_figures_of_a_hand_lean_on_paper_where_violet_does_not_print(paper):
    page = paper("/count")
    slants = page.eval_on_selector_all(
        "td.hand, dd.hand", "all => all.map(one => getComputedStyle(one).fontStyle + ' ' + getComputedStyle(one).color)"
    )
    assert slants and set(slants) == {"italic rgb(0, 0, 0)"}


def test_rows_are_not_torn_between_two_sheets(paper):
    page = paper("/record")
    assert set(page.eval_on_selector_all(".line", "all => all.map(one => getComputedStyle(one).breakInside)")) == {
        "avoid"
    }


def test_codes_stay_black_on_white_at_night(scene, window):
    hand = Hand(window(color_scheme="dark"), scene("packet"))
    hand.go("/packet")
    hand.sign(hand.form("/packet/make"), "/packet/make")
    hand.sign(hand.form(hand.path), hand.path)
    style = hand.page.evaluate(
        "(one => [getComputedStyle(one).backgroundColor, getComputedStyle(one).fill])(document.querySelector('[data-code]'))"
    )
    assert style == ["rgb(255, 255, 255)", "rgb(0, 0, 0)"]


def test_what_is_folded_on_the_screen_stands_open_on_paper_and_is_folded_again(paper):
    page = paper("/seals")
    folded = page.locator("main details:not([open])").count()
    assert folded
    page.evaluate("dispatchEvent(new Event('beforeprint'))")
    assert page.locator("main details:not([open])").count() == 0
    page.evaluate("dispatchEvent(new Event('afterprint'))")
    assert page.locator("main details:not([open])").count() == folded


def test_what_is_folded_is_on_a_printed_sheet_also_with_script_off(scene, window):
    hand = Hand(window(script=False), scene("voting"))
    hand.go("/seals")
    inside = hand.page.locator("main details:not([open]) :is(td, li)").last.text_content().split()[-1]
    assert inside in Printed(hand.page.pdf()).all


def test_nobody_is_asked_to_sign_on_paper(paper):
    page = paper("/step/hourly")
    assert not page.get_by_text("Who signs").is_visible() and page.locator("h1").is_visible()
