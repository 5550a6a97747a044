"""Begins the papers of an edition: the foot of every page says what they are and of which edition, and their bytes depend on the edition alone."""

from collections.abc import Sequence
from datetime import datetime

from webapp.canvass.document import CanvassDocument
from webapp.paper.parts.long_words import LONG
from webapp.paper.parts.sheet import FACE, MARGIN, RIGHT, PaperSheet
from webapp.paper.parts.write_in_parts import Column, table

ACROSS = 5  # lines of a contest side by side; more go into a further table
ACROSS_SIZE = 64  # points


class CanvassSheet(PaperSheet):
    """A sheet of one edition; `across` is written over its first page in gray, such as "Unofficial"."""

    def __init__(self, title: str, document: CanvassDocument, across: str = ""):
        stamps = ("Practice",) if document.practice else ()
        super().__init__(f"{title}, {document.office}", f"{document.office}  ·  {title}", stamps, 9)
        self.edition = f"{document.status_words}, edition {document.number}, digest {document.digest[:16]}"
        self.again = title
        self.across = across
        self.set_creation_date(datetime.fromisoformat(document.made))

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
        """Set words, on a new leaf where this one has no room for them: how many lines a county has is not known before."""
        if len(text) <= LONG:
            self.room(self.needs(text, size, bold, x, right, lead))
        super().say(text, size, bold, x, right, align, lead)

    def header(self) -> None:
        """Prints the words across the first page, if there are any, then the usual header."""
        if self.across and self.page_no() == 1:
            self.set_font(FACE, "B", ACROSS_SIZE)
            self.set_text_color(200)
            width = self.get_string_width(self.across.upper())
            with self.rotation(40, self.w / 2, self.h / 2):
                self.set_xy((self.w - width) / 2, self.h / 2)
                self.cell(width, 20, self.across.upper())
            self.set_text_color(0)
        super().header()


def figure(n: int | None) -> str:
    """Returns a number as it is printed, with commas; "" for None."""
    return "" if n is None else f"{n:,}"


def wide_table(
    sheet: PaperSheet,
    first: str,
    heads: Sequence[str],
    rows: Sequence[tuple[str, Sequence[str]]],
    total: bool = False,
    size: float = 9,
) -> None:
    """A table of any number of columns: at most `ACROSS` figures side by side, the rest in further tables with the same rows."""
    for begin in range(0, len(heads), ACROSS):
        part = slice(begin, begin + ACROSS)
        columns = (Column(first, 3.4), *(Column(head, 1.5, "R") for head in heads[part]))
        table(sheet, columns, [(name, *cells[part]) for name, cells in rows], MARGIN, RIGHT, size=size, total=total)
        sheet.down(1)
