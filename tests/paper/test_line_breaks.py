"""Lines of a paper break where fpdf itself breaks them, whatever the words, their size and the width: fpdf 2 is the reference here."""

import random

import pytest

from tests.matrix import examples
from webapp.paper.parts import line_breaks
from webapp.paper.parts.sheet import FACE, PaperSheet

LETTERS = "abcdefgilmnorstuwzABEGMSTW0123456789.,;:!?()-–—’“”$%&/éüñ"


@pytest.fixture(scope="module")
def sheet() -> PaperSheet:
    made = PaperSheet("A test", "foot")
    made.leaf()
    return made


def both(sheet: PaperSheet, text: str, width: float) -> tuple[list[str] | None, list[str]]:
    """(lines as they are set, lines as fpdf breaks them)."""
    ours = line_breaks.lines(
        text, sheet.current_font.cw, sheet.font_size_pt * 0.001 / sheet.k, width - 2 * sheet.c_margin
    )
    return ours, sheet.multi_cell(width, 5, text, align="L", dry_run=True, output="LINES")


def drawn(chance: random.Random) -> str:
    """Words of every length, some longer than a line, with single and several spaces and line ends between them, perhaps before and after."""
    words = [
        "".join(chance.choices(LETTERS, k=int(chance.paretovariate(0.8)) % 120)) for _ in range(chance.randint(1, 30))
    ]
    return "".join(word + chance.choice((" ", " ", " ", " ", "  ", "\n", " \n", "")) for word in words)


def test_random_words_break_where_fpdf_breaks_them(sheet):
    chance, compared = random.Random(), 0
    for _ in range(examples(400)):
        sheet.set_font(FACE, chance.choice(("", "B")), chance.choice((8.5, 9, 10.5, 11, 13, 24)))
        text, width = drawn(chance), chance.uniform(25, 190)
        ours, theirs = both(sheet, text, width)
        assert ours is None or ours == theirs, (text, width)
        compared += ours is not None
    assert compared > 10


@pytest.mark.parametrize("left_over", [0.0, 1e-12, 0.001, -1e-12, -0.001])
def test_a_line_that_just_fits_and_one_that_just_does_not_are_told_apart_as_fpdf_tells_them(sheet, left_over):
    sheet.set_font(FACE, "", 11)
    text = "Count the ballots of the main bin by hand"
    ours, theirs = both(sheet, text, sheet.get_string_width(text) + 2 * sheet.c_margin + left_over)
    assert ours == theirs and len(ours) == (2 if left_over == -0.001 else 1)


@pytest.mark.parametrize(
    "text", ["", "soft\u00adhyphen", "No.\u00a07", "ends\n", "a\n\nb", "tab\there", "thin\u2009space"]
)
def test_what_has_rules_of_its_own_is_left_to_fpdf(sheet, text):
    sheet.set_font(FACE, "", 11)
    assert both(sheet, text, 100)[0] is None


def test_a_width_that_holds_no_letter_is_left_to_fpdf(sheet):
    sheet.set_font(FACE, "", 24)
    assert line_breaks.lines("wide", sheet.current_font.cw, sheet.font_size_pt * 0.001 / sheet.k, 0.5) is None
