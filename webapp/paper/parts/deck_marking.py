"""Marking sheets of the test deck: for each ballot, or a group of ballots marked alike, what to mark by name and place, and what to leave empty."""

from collections.abc import Iterable
from datetime import UTC, datetime, time
from itertools import groupby
from typing import Any

from webapp.deck.deck import Deck
from webapp.deck.positions import DeckContest, DeckPlan, DeckStyle
from webapp.deck.rows import Row
from webapp.paper.parts.headings import sheet_for
from webapp.paper.parts.sheet import LEFT, MARGIN, RIGHT, PaperSheet
from webapp.paper.parts.write_in_parts import Column, captioned, caution, table, title
from webapp.precinct.place.place import Place

NAME = "Marking sheets"
KINDS = {
    "pattern": "",
    "full": "fully voted",
    "short": "one vote fewer than allowed",
    "over": "overvoted on purpose",
    "straight": "straight party",
    "two-party": "two parties on purpose",
    "crossover": "straight party, with own marks for another",
    "no-oval": "names written, ovals left empty",
    "blank": "blank",
    "one-sheet": "first sheet only",
    "precinct": "blank, for the count of its precinct",
    "tabulator": "blank, fed more than once",
}
REFUSED = {
    "other-edition": "a ballot of another edition of this election’s ballots",
    "other-place": "a ballot of a precinct that is not counted here",
    "plain-paper": "a ballot copied on plain paper",
}
ORDINALS = ("", "1st", "2nd", "3rd")
HOW = (
    "Use real ballots of the style and precinct named. Write the ballot's number on it and TEST across it, clear of the ovals. Fill each oval named whole; "
    "leave everything else empty. Write a name only where the sheet says so. Then initial the sheet, and have a second person check the ballot against the check sheet, "
    "not against this one."
)
CAUTION = "A ballot spoiled in marking is never corrected: mark it spoiled, keep it, and take a new one. Test ballots are kept apart from live stock, always."
LAW = "The election office’s instructions and local law come first; a pattern that they ask for is added to this one."


COLUMNS = (Column("Contest", 5), Column("Mark", 6, bold=True), Column("Place in the contest", 3))


def sheet_of_deck(place: Place, deck: Deck, name: str) -> PaperSheet:
    """An empty sheet that names edition and deck on every page, and whose bytes depend on the place file alone."""
    sheet = sheet_for(place, name)
    sheet.set_creation_date(datetime.combine(place.date, time(0), UTC))
    sheet.edition = f"Edition {deck.plan.edition}, digest of the deck {deck.digest[:16]}"
    return sheet


def marking_pdf(place: Place, deck: Deck) -> bytes:
    """The marking sheets of every row, as a PDF."""
    sheet = sheet_of_deck(place, deck, NAME)
    sheet.leaf()
    title(sheet, f"{NAME} of the test deck: {len(deck.rows)} ballots", 15, right=RIGHT - sheet.stamped)
    sheet.say(HOW, 10)
    caution(sheet, CAUTION)
    sheet.say(LAW, 9)
    for style in deck.plan.styles:
        sheet.again = f"Marking sheets, style {style.id}"
        for _, rows in groupby(deck.rows_of(style.id), key=likeness):
            _block(sheet, deck.plan, style, list(rows))
    _refused(sheet, [row for row in deck.rows if row.is_refused])
    return bytes(sheet.output())


def likeness(row: Row) -> tuple[Any, ...]:
    """What two ballots must share to be on one sheet."""
    return row.precinct, row.kind, row.marks, row.names, row.fold, row.sheets, bool(row.feeds)


def ordinal(number: int) -> str:
    """ "1st", "2nd", "3rd", "4th"."""
    if number % 100 in (11, 12, 13) or not 1 <= number % 10 <= 3:
        return f"{number}th"
    return f"{number}{ORDINALS[number % 10][1:]}"


def places_on_paper(style: DeckStyle, contest: DeckContest) -> dict[str, int]:
    """Position -> its printed place in this contest on this style, from 1, write-in lines included."""
    return {p: i for i, p in enumerate((p for c, p in style.printed if c == contest.id), 1)}


def _block(sheet: PaperSheet, plan: DeckPlan, style: DeckStyle, rows: list[Row]) -> None:
    row = rows[0]
    lines = list(lines_to_mark(style, row))
    sheet.room(min(_height(sheet, style, row, lines), 200))
    sheet.down(3)
    sheet.rule(0.4, LEFT, RIGHT)
    sheet.down(1)
    names = row.id if len(rows) == 1 else f"{row.id} to {rows[-1].id}" if len(rows) > 2 else f"{row.id}, {rows[-1].id}"
    right = RIGHT - (sheet.stamped if sheet.get_y() < 30 else 0)
    alike = f"   {len(rows)} ballots alike" if len(rows) > 1 else ""
    sheet.say(names + alike, 15, True, right=right)
    sheets = f", {style.sheets if not row.sheets else row.sheets} of {style.sheets} sheets" if style.sheets > 1 else ""
    kind = f": {KINDS[row.kind]}" if KINDS[row.kind] else ""
    sheet.say(f"Style {row.style}, precinct {row.precinct}{sheets}{kind}. TEST across the ballot.", 10)
    if row.fold:
        sheet.say("FOLD it on the real fold lines, as an absentee ballot is folded, and unfold it.", 10, True)
    if row.feeds:
        times = ", ".join(f"{n} x {tabulator}" for tabulator, n in row.feeds.items())
        sheet.say(f"Fed as often as the feeding list says: {times}.", 10)
    if lines:
        sheet.down(0.5)
        table(
            sheet,
            COLUMNS,
            lines,
            size=9.5,
        )
    if not lines:
        sheet.say("Mark nothing.", 11, True)
    elif empty := left_empty(style, row):
        sheet.say(empty, 9)
    sheet.room(14)
    captioned(
        sheet,
        (("ballots marked by: initials", 3), ("ballots spoiled in marking", 2), ("checked by another: initials", 3)),
        height=6.5,
    )


def left_empty(style: DeckStyle, row: Row) -> str:
    """A sentence with the contests in which nothing is marked or written; "" where there are none."""
    empty = [c.title or c.id for c in style.contests if c.id not in row.marks and c.id not in row.names]
    return f"Leave empty: {'; '.join(empty)}." if empty else ""


def _height(sheet: PaperSheet, style: DeckStyle, row: Row, lines: list[tuple[str, str, str]]) -> float:
    """The height in mm that the sheet of a ballot takes, so that it stays on one page."""
    width = (RIGHT - MARGIN) / sum(column.share for column in COLUMNS)
    table_rows = sum(
        max(
            5.2,
            *(
                sheet.needs(text, 9.5, c.bold, 0, width * c.share - 1.5, 1.2) + 1.6
                for text, c in zip(line, COLUMNS, strict=True)
            ),
        )
        for line in lines
    )
    empty = sheet.needs(left_empty(style, row), 9) if lines else 6
    return 24 + 5 * (row.fold + bool(row.feeds)) + (6 if lines else 0) + table_rows + empty + 15


def lines_to_mark(style: DeckStyle, row: Row) -> Iterable[tuple[str, str, str]]:
    """A line for each oval to mark, and each name to write, in printed order, sheet by sheet."""
    for i, contest in enumerate(style.contests):
        places = places_on_paper(style, contest)
        sheet = f" (sheet {style.sheet_of[i] + 1})" if style.sheets > 1 else ""
        marked, named = row.marks.get(contest.id, ()), row.names.get(contest.id, ())
        for position in sorted({*marked, *named}, key=places.__getitem__):
            where = f"{ordinal(places[position])} of {len(places)}"
            words = contest.name_of(position)
            if position in named:
                words += (
                    ": write a name, and mark the oval"
                    if position in marked
                    else ": write a name, leave the oval EMPTY"
                )
            elif position.startswith("+"):
                words += ": mark the oval, write no name"
            yield (contest.title or contest.id) + sheet, words[:1].upper() + words[1:], where


def _refused(sheet: PaperSheet, rows: list[Row]) -> None:
    sheet.room(60)
    sheet.down(3)
    title(sheet, "Cards that must be refused")
    sheet.say(
        "Each tabulator must hand these back, and its counter must not move. They are not ballots of the count. Mark any oval on each.",
        10,
    )
    table(
        sheet,
        (Column("Card", 2, bold=True), Column("What it is", 6), Column("Made by: initials", 3)),
        [(row.id, REFUSED[row.why], "") for row in rows],
        height=8,
    )
