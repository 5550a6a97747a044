"""Prints what follows the codes: gaps the first page had no room for, every remark in full, the contest figures."""

from collections.abc import Sequence
from typing import cast

from webapp.packet.print_model import AccountPages, PrintedContest
from webapp.paper.parts.sheet import FACE, MARGIN, RIGHT, PaperSheet

FIGURES = 9.5  # points; contest figures are never set under 9
GUTTER = 8.0  # mm between the two columns
ROW = 5.0  # mm a row of a contest


def remark_pages(sheet: PaperSheet, account: AccountPages, shown_gaps: int) -> None:
    """Draw the gaps from number `shown_gaps` on, then the remarks; no page where there is neither."""
    moved = account.gaps[shown_gaps:]
    blocks = [(gap.sentence, "" if gap.remark else "No remark was signed.", "") for gap in moved]
    blocks += [(remark.about, remark.text, remark.signed) for remark in account.remarks]
    if not blocks:
        return
    _heading(sheet, "Gaps and remarks in full" if moved else "Remarks in full")
    for about, text, signed in blocks:
        _block(sheet, about, text, signed)


def _heading(sheet: PaperSheet, words: str) -> None:
    sheet.leaf()
    sheet.say(words, 14, bold=True, right=RIGHT - 60)
    sheet.down(2)
    sheet.rule(0.3)


def _block(sheet: PaperSheet, about: str, text: str, signed: str) -> None:
    """Draw one remark; it goes on to the next page line by line where it must."""
    lines = [(about, True)] + [(line, False) for paragraph in text.splitlines() for line in _lines(sheet, paragraph)]
    if signed:
        lines.append((signed, False))
    sheet.down(2)
    for place, (line, bold) in enumerate(lines):
        height = sheet.needs(line, 10.5, bold)
        ahead = sheet.needs(lines[place + 1][0], 10.5) if bold and len(lines) > 1 else 0
        if sheet.left_over < height + ahead:
            _heading(sheet, "Remarks, continued")
            sheet.down(2)
        sheet.say(line, 10.5, bold)
    sheet.down(2)
    sheet.rule()


def _lines(sheet: PaperSheet, paragraph: str) -> list[str]:
    sheet.set_font(FACE, "", 10.5)
    text = sheet.shown(paragraph)
    found = sheet.multi_cell(RIGHT - MARGIN - 0.5, 5, text, align="L", dry_run=True, output="LINES")
    return cast(list[str], found) or [""]


def contest_pages(sheet: PaperSheet, contests: Sequence[PrintedContest]) -> None:
    """Draw every contest as keyed, in two columns; a long one goes on in the next column."""
    if not contests:
        return
    _heading(sheet, "Contest figures, as keyed from the tapes")
    columns = _Columns(sheet)
    for contest in contests:
        title = f"{contest.title} (vote for {contest.n})"
        columns.begin(title, len(contest.rows))
        for row in contest.rows:
            columns.row(title, row.label, "not taken" if row.figure is None else f"{row.figure:,}", row.total)
        columns.end()


class _Columns:
    """Two columns of a page, and the position in them."""

    def __init__(self, sheet: PaperSheet):
        self.sheet, self.column, self.top = sheet, 0, sheet.get_y() + 2
        self.width = (RIGHT - MARGIN - GUTTER) / 2
        sheet.set_y(self.top)

    @property
    def x(self) -> float:
        return MARGIN + self.column * (self.width + GUTTER)

    def begin(self, title: str, rows: int) -> None:
        """Set a title; in the next column where fewer than three rows would fit under it."""
        if self.sheet.left_over < self._height(title) + min(rows, 3) * ROW:
            self._next()
        self._title(title)

    def row(self, title: str, label: str, figure: str, total: bool) -> None:
        """Set one row; where the column is full, in the next one, under the title again."""
        height = max(ROW, self.sheet.needs(label, FIGURES, x=self.x, right=self.x + self.width - 22) + 1)
        if self.sheet.left_over < height:
            self._next()
            self._title(f"{title}, continued")
        top = self.sheet.get_y()
        self.sheet.set_y(top + 0.6)
        self.sheet.say(label, FIGURES, total, x=self.x, right=self.x + self.width - 22)
        self.sheet.set_y(top + 0.6)
        self.sheet.say(figure, FIGURES, True, x=self.x + self.width - 22, right=self.x + self.width, align="R")
        self.sheet.set_y(top + height)
        self.sheet.rule(0.12, self.x, self.x + self.width)

    def end(self) -> None:
        """Close a contest with the double rule."""
        self.sheet.down(0.7)
        self.sheet.rule(0.35, self.x, self.x + self.width)
        self.sheet.down(4)

    def _height(self, title: str) -> float:
        return self.sheet.needs(title, 10.5, True, x=self.x, right=self.x + self.width) + 1

    def _title(self, title: str) -> None:
        self.sheet.say(title, 10.5, True, x=self.x, right=self.x + self.width)
        self.sheet.down(0.6)
        self.sheet.rule(0.3, self.x, self.x + self.width)

    def _next(self) -> None:
        if self.column:
            _heading(self.sheet, "Contest figures, continued")
            self.top = self.sheet.get_y() + 2
        self.column = 1 - self.column
        self.sheet.set_y(self.top)
