"""Draws what is left free for a hand: boxes to tick, rules, squares for letters, signature rows, ledger tables.

Type is at least 9 points; a row to write in has 8 mm, a box to tick 4 mm.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from webapp.paper.parts.long_words import CELL, HEAD, cut
from webapp.paper.parts.sheet import FACE, LEFT, MARGIN, RIGHT, PaperSheet

LEAST = 9.0  # points: nothing on a form, a card or a guide is smaller
TICK = 4.0  # mm, the side of a box to tick
WRITTEN = 8.0  # mm, the height of a row that a hand fills in
SQUARE = 6.5  # mm, the side of a square for one letter
BOX = "[ ]"  # in a cell of a table: a box to tick


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a ledger table: its head, its width as a share of the whole, its alignment."""

    head: str
    share: float
    align: str = "L"
    bold: bool = False


def tick(sheet: PaperSheet, x: float, y: float, side: float = TICK) -> None:
    """Draw a box to tick with its upper left corner at (x, y), in mm."""
    sheet.set_line_width(0.3)
    sheet.rect(x, y, side, side)


def ticked(sheet: PaperSheet, words: str, x: float, right: float, size: float = 9.5) -> None:
    """Draw a box to tick and its words; the pen ends below."""
    top = sheet.get_y()
    tick(sheet, x, top + 0.5)
    sheet.set_y(top + 0.4)
    sheet.say(words, size, x=x + TICK + 2, right=right, lead=1.2)
    sheet.set_y(max(sheet.get_y() + 0.4, top + TICK + 1.0))


def blank(sheet: PaperSheet, x: float, right: float, y: float) -> None:
    """Draw a rule to write on, from x to right at height y, in mm."""
    sheet.set_line_width(0.25)
    sheet.line(x, y, right, y)


def squares(
    sheet: PaperSheet, x: float, y: float, groups: Sequence[int], side: float = SQUARE, gap: float = 2.5
) -> float:
    """Draw squares for letters in groups, such as 4-4-4; returns where they end, in mm."""
    sheet.set_line_width(0.25)
    for count in groups:
        for _ in range(count):
            sheet.rect(x, y, side, side)
            x += side
        x += gap
    return x - gap


def captioned(
    sheet: PaperSheet,
    parts: Sequence[tuple[str, float]],
    x: float = MARGIN,
    right: float = RIGHT,
    height: float = WRITTEN,
    gap: float = 2.5,
    said: Sequence[str] = (),
) -> None:
    """Draw rules side by side with captions below: (caption, share of the width), and on each what is known already. The pen ends below the captions."""
    whole, top = sum(share for _, share in parts), sheet.get_y()
    free, bottoms = right - x - gap * (len(parts) - 1), [top]
    for number, (words, share) in enumerate(parts):
        end = x + free * share / whole
        blank(sheet, x, end, top + height)
        if number < len(said) and said[number]:
            sheet.set_y(top + height - 5)
            sheet.say(said[number], 10, bold=True, x=x, right=end, lead=1.15)
        sheet.set_y(top + height + 0.4)
        sheet.say(words, LEAST, x=x, right=end, lead=1.15)
        bottoms.append(sheet.get_y())
        x = end + gap
    sheet.set_y(max(bottoms) + 0.4)


def table(
    sheet: PaperSheet,
    columns: Sequence[Column],
    rows: Sequence[Sequence[str]],
    x: float = MARGIN,
    right: float = RIGHT,
    height: float = 0.0,
    size: float = 9.5,
    total: bool = False,
    again: str = "",
) -> None:
    """A ledger table: heads over a rule, a hairline under each row, a double rule under the last where it is a total. Rows are at least `height` mm, so that
    empty cells can be written in. Goes over to further pages (headed `again`) with its heads repeated."""
    edges = _edges(columns, x, right)
    columns = [replace(column, head=cut(column.head, HEAD)) for column in columns]
    rows = [[cut(text, CELL) for text in row] for row in rows]
    sheet.room(_tallest(sheet, columns, edges) + 6, again)
    _heads(sheet, columns, edges)
    for number, row in enumerate(rows):
        need = max(
            [
                height,
                5.2,
                *(
                    sheet.needs(text, size, column.bold, begin, end - 1.5, 1.2) + 1.6
                    for text, column, (begin, end) in zip(row, columns, edges, strict=True)
                    if text and text != BOX
                ),
            ]
        )
        if sheet.room(need + 1.5, again):
            _heads(sheet, columns, edges)
        top = sheet.get_y()
        for text, column, (begin, end) in zip(row, columns, edges, strict=True):
            if text == BOX:
                tick(sheet, begin + 1, top + (need - TICK) / 2)
            elif text:
                sheet.set_y(top + max(0.9, (need - size * 0.42) / 2 - 0.6 if height > 5.2 and need == height else 0.9))
                sheet.say(
                    text,
                    size,
                    column.bold or (total and number == len(rows) - 1),
                    x=begin,
                    right=end - 1.5,
                    align=column.align,
                    lead=1.2,
                )
        sheet.set_y(top + need)
        sheet.rule(0.12, x, right)
        if height > 5.2:
            _uprights(sheet, edges, top, top + need)
    if total:
        sheet.down(0.6)
        sheet.rule(0.35, x, right)
    sheet.down(0.8)


def _edges(columns: Sequence[Column], x: float, right: float) -> list[tuple[float, float]]:
    whole, edges = sum(column.share for column in columns), []
    for column in columns:
        end = x + (right - x) * column.share / whole if column is not columns[-1] else right
        edges.append((x, end))
        whole, x = whole - column.share, end
    return edges


def _tallest(sheet: PaperSheet, columns: Sequence[Column], edges: Sequence[tuple[float, float]]) -> float:
    """The height in mm of the longest head."""
    return max(
        sheet.needs(column.head, LEAST, True, begin, end - 1.5, 1.15)
        for column, (begin, end) in zip(columns, edges, strict=True)
    )


def _heads(sheet: PaperSheet, columns: Sequence[Column], edges: Sequence[tuple[float, float]]) -> None:
    top, bottoms = sheet.get_y(), [sheet.get_y()]
    tallest = _tallest(sheet, columns, edges)
    for column, (begin, end) in zip(columns, edges, strict=True):
        if column.head:
            sheet.set_y(top + tallest - sheet.needs(column.head, LEAST, True, begin, end - 1.5, 1.15))
            sheet.say(column.head, LEAST, True, x=begin, right=end - 1.5, align=column.align, lead=1.15)
            bottoms.append(sheet.get_y())
    sheet.set_y(max(bottoms) + 0.6)
    sheet.rule(0.3, edges[0][0], edges[-1][1])


def _uprights(sheet: PaperSheet, edges: Sequence[tuple[float, float]], top: float, bottom: float) -> None:
    """Draw thin lines between the cells of a row that is filled in by hand."""
    sheet.set_line_width(0.12)
    for begin, _ in edges[1:]:
        sheet.line(begin - 0.8, top, begin - 0.8, bottom)


def signatures(
    sheet: PaperSheet, seats: Sequence[str], x: float = MARGIN, right: float = RIGHT, lead: str = "Signed in ink"
) -> None:
    """Draw two seats side by side, each with name, party, signature and time, so that nobody signs in another's."""
    rows, half = -(-len(seats) // 2), (right - x - 3) / 2
    sheet.room((5 if lead else 0) + rows * 11.5)
    if lead:
        sheet.say(lead, LEAST, True, x=x, right=right)
    for first in range(0, len(seats), 2):
        top, bottoms = sheet.get_y(), []
        for n, seat in enumerate(seats[first : first + 2]):
            sheet.set_y(top)
            begin = x + n * (half + 3)
            captioned(
                sheet,
                ((_named(seat), 50.5), ("signature, ink", 22), ("time", 10)),
                begin,
                begin + half,
                height=6.2,
                gap=1.5,
            )
            bottoms.append(sheet.get_y())
        sheet.set_y(max(bottoms))


def _named(seat: str) -> str:
    """Under the rule of a name; the seat of another party has said which it is when the roll tells the name's party."""
    return f"{seat}: name" if seat.endswith("party") else f"{seat}: name, party"


def title(sheet: PaperSheet, words: str, size: float = 12, x: float = MARGIN, right: float = RIGHT) -> None:
    """Draw a heading over a rule."""
    sheet.say(words, size, True, x=x, right=right)
    sheet.down(0.5)
    sheet.rule(0.3, x, right)
    sheet.down(0.8)


def numbered(sheet: PaperSheet, number: str, y: float, size: float = 11) -> None:
    """Draw a number in the margin, at the height of its line."""
    sheet.set_font(FACE, "B", size)
    sheet.set_xy(LEFT, y)
    sheet.cell(MARGIN - LEFT - 3.5, size * 0.45, number, align="R")
    sheet.set_xy(MARGIN, y)


def caution(
    sheet: PaperSheet, words: str, x: float = MARGIN, right: float = RIGHT, size: float = LEAST, lead: str = "Caution: "
) -> None:
    """Draw a caution: after a thick bar and the word Caution."""
    top = sheet.get_y() + 0.4
    sheet.set_y(top)
    sheet.say(f"{lead}{words}", size, True, x=x + 3, right=right, lead=1.2)
    sheet.set_line_width(1.0)
    sheet.line(x + 0.8, top + 0.2, x + 0.8, sheet.get_y())
    sheet.down(0.8)
