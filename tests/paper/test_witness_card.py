"""The witness's card: a row of twelve squares for each moment at which the check words are copied, and what it is for in plain words."""

from dataclasses import replace

import pytest

from tests.paper.printed import Printed
from webapp.paper.witness_card import card_pdf, moments
from webapp.record.check_words import check_words

SQUARE = 6.4 * 72 / 25.4  # points


def squares(paper: Printed) -> int:
    """Square outlines on the page, by the drawing operators as PDFium reads them."""
    import pypdfium2.raw as raw

    page, _ = paper.pages[0]
    found = 0
    for one in page.get_objects(filter=(raw.FPDF_PAGEOBJ_PATH,)):
        left, bottom, right, top = one.get_bounds()
        found += abs(right - left - SQUARE) < 1.5 and abs(top - bottom - SQUARE) < 1.5
    return found


def test_there_is_a_row_for_zero_tape_noon_close_and_hand_over(school, places):
    assert moments(school) == ("Zero tape of T1", "Zero tape of T2", "Noon", "Close", "Hand-over")
    assert moments(places["story"]) == ("Zero tape of T1", "Noon", "Close", "Hand-over")


def test_a_place_that_copies_the_words_elsewhere_has_a_row_for_it(school):
    own = replace(
        school,
        steps=(
            {"id": "noon-look", "drop": True},
            {"id": "search", "record": [{"name": "words_copied", "kind": "yes", "label": "Check words copied"}]},
        ),
    )
    assert moments(own) == ("Zero tape of T1", "Zero tape of T2", "Close", "Room searched", "Hand-over")


def test_each_row_has_a_square_for_each_letter_of_the_check_words(school):
    """One more row stands empty; two cards lie on a sheet."""
    letters = len(check_words(bytes(32)).replace("-", ""))
    assert letters == 12 and squares(Printed(card_pdf(school))) == 2 * (len(moments(school)) + 1) * letters


def test_it_says_what_it_is_for_and_who_keeps_it(school):
    text = Printed(card_pdf(school)).all
    for words in (
        "Kept by an official or witness of another party than the person who keeps the laptop",
        "never in the case and never with the laptop",
        "page 1 of the summary packet",
        "The letters I, L and O never occur",
        "Lantern Street School (W3), Tarn County, General election, Tuesday, 3 November 2026",
    ):
        assert text.count(words) == 2, words


def test_the_letters_it_speaks_of_are_those_of_the_check_words():
    """Crockford's Base32 (https://www.crockford.com/base32.html): no I, L, O, U; the check symbol may also be * ~ $ = U."""
    seen = {letter for n in range(40) for letter in check_words(bytes([n] * 32)).replace("-", "")[:11]}
    assert not seen & set("ILOU")


@pytest.mark.parametrize("name", ["demo", "story", "stored", "large", "live"])
def test_a_card_fits_its_half_sheet(places, name):
    paper = Printed(card_pdf(places[name]))
    assert (
        len(paper) == 1
        and paper.smallest() >= 9
        and paper.overlapping() == []
        and paper.outside(13.5, 201, 11.5, 273) == []
    )
    assert paper.texts[0].count("Another time:") == (1 if name == "large" else 2)
