"""A printed sheet: letter size, black on white, a margin closed by a double hairline, one typeface with tabular figures.

Everything fits inside what A4 shows too, so either paper serves. What a person writes is left empty, with a rule to write on.
"""

from collections.abc import Callable
from functools import cached_property
from pathlib import Path
from typing import cast

from fpdf import FPDF
from fpdf.fonts import TTFFont

from webapp.paper.parts import line_breaks, long_words

TYPE = Path(__file__).resolve().parents[3] / "static" / "type"
FACE = "next"
LEFT, RIGHT, TOP, BOTTOM = 14.0, 200.0, 12.0, 266.0  # mm: what is printed lies between these
MARGIN = 26.0  # mm: numbers and marks hang left of it, lines begin at its right
MM_A_POINT = 25.4 / 72
WHOLE_BUT = 14.0  # mm of a page that its heading takes
MOST_MEASURED = 20_000  # texts; a pack of forms has about a thousand
LONG_TO_MEASURE = 600  # letters: fpdf takes the square of a word's length
_measured: dict[tuple[str, float, bool, float, float], float] = {}
"""Text, size, bold, width and lead -> height in mm, as this typeface sets it."""


class PaperSheet(FPDF):
    """Pages with one foot line; `stamps` are outlined words at the head of every page, such as "Unofficial"."""

    def __init__(self, title: str, foot: str, stamps: tuple[str, ...] = (), foot_size: float = 8.5):
        super().__init__(format="letter")
        self.foot, self.stamps, self.ruled, self.foot_size = foot, stamps, True, foot_size
        self.edition = ""  # what the sheet belongs to, under the foot line
        self.again = ""  # the heading of a page on which something goes on
        self.add_font(FACE, "", TYPE / "regular.ttf")
        self.add_font(FACE, "B", TYPE / "bold.ttf")
        self.set_margins(LEFT, TOP, self.w - RIGHT)
        self.set_auto_page_break(False)
        self.set_title(self.shown(title))
        self.set_lang("en")
        self.set_line_width(0.2)

    @cached_property
    def _drawn(self) -> frozenset[int]:
        return frozenset(cast(TTFFont, self.fonts[FACE]).cmap)

    def shown(self, text: str) -> str:
        """The text as this typeface can print it; a character it lacks is printed as its number, such as [U+4E2D]."""
        clean = text.replace("\r\n", "\n").replace("\t", " ")
        return "".join(c if c == "\n" or ord(c) in self._drawn else f"[U+{ord(c):04X}]" for c in clean)

    def header(self) -> None:
        """Draw the stamps at the right, and the double hairline that closes the margin."""
        x = RIGHT
        for stamp in self.stamps:
            self.set_font(FACE, "B", 10)
            width = self.get_string_width(stamp.upper()) + 6
            x -= width
            self.set_line_width(0.5)
            self.rect(x, TOP, width, 7)
            self.set_xy(x, TOP)
            self.cell(width, 7, stamp.upper(), align="C")
            x -= 3
        self.set_line_width(0.12)
        if self.ruled:
            for at in (MARGIN - 2, MARGIN - 1.2):
                self.line(at, TOP, at, BOTTOM)
        self.set_xy(MARGIN, TOP)

    def footer(self) -> None:
        """Draw what the sheet is, and which page of how many."""
        top = BOTTOM + (0.4 if self.edition else 1.5)
        self.set_xy(LEFT, top)
        self.set_font(FACE, "", self.foot_size)
        self.cell(0, 5, long_words.within(self.shown(self.foot), RIGHT - 30 - LEFT, self.get_string_width))
        self.set_xy(RIGHT - 27, top)
        self.cell(27, 5, f"Page {self.page_no()} of {{nb}}")
        if self.edition:
            self.set_xy(LEFT, top + 3.9)
            self.cell(0, 4, long_words.within(self.shown(self.edition), RIGHT - LEFT, self.get_string_width))

    def leaf(self, ruled: bool = True) -> None:
        """Begin a page; without its margin where codes need the width."""
        self.ruled = ruled
        self.add_page()

    def room(self, height: float, again: str = "") -> bool:
        """Begin a new page, headed by `again` (else by the sheet's own), where less than this height (mm) is left. Returns whether it did."""
        if self.left_over >= height:
            return False
        self.leaf(self.ruled)
        heading = again or self.again
        if heading:
            x = MARGIN if self.ruled else LEFT
            self.say(long_words.cut(heading, long_words.HEAD), 11, True, x=x, right=RIGHT - self.stamped)
        self.set_y(max(self.get_y() + 2, TOP + (8.5 if self.stamps else 0)))
        return True

    @property
    def stamped(self) -> float:
        """The width in mm of the stamps at the head of a page."""
        self.set_font(FACE, "B", 10)
        return sum(self.get_string_width(stamp.upper()) + 9 for stamp in self.stamps)

    def say(
        self,
        text: str,
        size: float,
        bold: bool = False,
        x: float = MARGIN,
        right: float = RIGHT,
        align: str = "L",
        lead: float = 1.28,
    ) -> None:
        """Set words from the pen down, between x and right (mm), and leave the pen below them. `size` in points. Long words for which this leaf has no
        room go on at the head of the next."""
        if len(text) > long_words.LONG and self.needs(text, size, bold, x, right, lead) > self.left_over:
            self._go_on(text, size, bold, x, right, lead)
            return
        self.set_font(FACE, "B" if bold else "", size)
        self.set_x(x)
        shown, line = self.shown(text), size * MM_A_POINT * lead
        if (lines := self._lines(shown, right - x)) is None:
            self.multi_cell(right - x, line, shown, align=align, new_x="LMARGIN", new_y="NEXT", padding=0)
            return
        for words in lines:
            self.set_x(x)
            self.cell(right - x, line, words, align=align, new_x="LMARGIN", new_y="NEXT")

    def _lines(self, text: str, width: float) -> list[str] | None:
        """The text as it breaks in a cell of this width (mm), in the font that is set; None where only fpdf knows."""
        font = self.current_font
        assert isinstance(font, TTFFont)
        return line_breaks.lines(text, font.cw, self.font_size_pt * 0.001 / self.k, width - 2 * self.c_margin)

    def _go_on(self, text: str, size: float, bold: bool, x: float, right: float, lead: float) -> None:
        """Set words line by line, over as many leaves as they take."""
        line, face = size * MM_A_POINT * lead, "B" if bold else ""
        self.set_font(FACE, face, size)
        for words in long_words.lines(self.shown(text), right - x - 2 * self.c_margin, self.get_string_width):
            if self.left_over < line:
                self.leaf(self.ruled)
                self.down(8.5 if self.stamps else 0)
                self.set_font(FACE, face, size)
            self.set_x(x)
            self.cell(right - x, line, words, new_x="LMARGIN", new_y="NEXT")

    def needs(
        self, text: str, size: float, bold: bool = False, x: float = MARGIN, right: float = RIGHT, lead: float = 1.28
    ) -> float:
        """The height in mm that `say` would take. The same words are measured once: a pack of forms asks for most of them several times."""
        words = (text, size, bold, round(right - x, 6), lead)
        self.set_font(FACE, "B" if bold else "", size)
        self.set_x(x)
        shown = self.shown(text)
        self._take(shown)
        if words not in _measured:
            if len(_measured) >= MOST_MEASURED:
                _measured.clear()
            _measured[words] = self._height(shown, right - x, size * MM_A_POINT * lead)
        return _measured[words]

    def _take(self, text: str) -> None:
        """Number the letters in the file's typeface as measuring does, whether or not these words were measured before: a file's bytes depend on
        what is in it, never on the papers that were printed before it."""
        font = self.current_font
        assert isinstance(font, TTFFont)
        for letter in text.replace("\n", ""):
            font.subset.pick(ord(letter))

    def _height(self, text: str, width: float, line: float) -> float:
        """The height in mm of these words in the font that is set, in lines of `line` mm."""
        if len(text) > LONG_TO_MEASURE:
            return line * sum(1 for _ in long_words.lines(text, width - 2 * self.c_margin, self.get_string_width))
        if (lines := self._lines(text, width)) is not None:
            return line * len(lines)
        height = self.multi_cell(width, line, text, align="L", dry_run=True, output="HEIGHT")
        assert isinstance(height, float | int)
        return height

    def rule(self, weight: float = 0.15, x: float = MARGIN, right: float = RIGHT) -> None:
        """Draw a line across at the pen's height."""
        self.set_line_width(weight)
        self.line(x, self.get_y(), right, self.get_y())

    def down(self, mm: float) -> None:
        """Move the pen down, in mm."""
        self.set_y(self.get_y() + mm)

    def tried(self, draw: Callable[["PaperSheet"], None]) -> float:
        """The height in mm of what `draw` draws on this sheet, which is kept for trying; a whole page where it goes over more than one."""
        self.leaf()
        page, top = self.page_no(), self.get_y()
        draw(self)
        return self.get_y() - top if self.page_no() == page else BOTTOM - TOP - WHOLE_BUT

    @property
    def left_over(self) -> float:
        """The height in mm between the pen and the foot."""
        return BOTTOM - self.get_y()
