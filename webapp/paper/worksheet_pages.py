"""Prints the ballot account worked by hand, line by line, and the statement: figures in digits and words, signed in ink by everyone."""

from collections.abc import Sequence
from functools import partial

from webapp.paper.parts.sheet import MARGIN, RIGHT, PaperSheet
from webapp.paper.parts.step_form import everyone
from webapp.paper.parts.write_in_parts import LEAST, Column, blank, captioned, table, title
from webapp.precinct.place.place import Place
from webapp.precinct.reports import worksheet as rules
from webapp.precinct.reports.worksheet import Term, Worksheet

MIDDLE = (MARGIN + RIGHT) / 2
ROW = 4.9  # mm a figure
FIGURE = 24.0  # mm of the rule for a figure


def worksheets(sheet: PaperSheet, place: Place) -> None:
    """Draw each line: left side, right side, both sums, the difference and its name."""
    sheet.again = "Ballot account worksheet, continued"
    sheet.leaf()
    title(sheet, "Ballot account worksheet", 14, right=RIGHT - sheet.stamped)
    sheet.say(
        "Work it only when the counts are signed. Where there was none, write 0. Left less right is the gap of the line: 0, or so many more of the one than of the other. "
        "Nobody alters a figure to make it fit; two others count again what is quickest to count. A gap needs a remark, signed by two parties; “cause unknown” is an answer.",
        9.5,
        lead=1.2,
    )
    sheet.down(2)
    scratch = PaperSheet("", "")
    for one in rules.worksheets(place):
        sheet.room(scratch.tried(partial(_worksheet, one=one)))
        _worksheet(sheet, one)
    _remarks(sheet)


def _worksheet(sheet: PaperSheet, one: Worksheet) -> None:
    title(sheet, one.title, 11)
    if one.note:
        sheet.say(one.note, LEAST, lead=1.2)
    top, below = sheet.get_y(), []
    for side, x, right in ((one.left, MARGIN, MIDDLE - 3), (one.right, MIDDLE + 3, RIGHT)):
        sheet.set_y(top)
        _side(sheet, side, x, right)
        below.append(sheet.get_y())
    sheet.set_y(max(below) + 0.5)
    top = sheet.get_y()
    for words, x, right in (("Left, together", MARGIN, MIDDLE - 3), ("Right, together", MIDDLE + 3, RIGHT)):
        sheet.set_y(top)
        _figure(sheet, words, x, right, True)
    sheet.down(0.4)
    top = sheet.get_y()
    blank(sheet, MARGIN, MARGIN + FIGURE, top + ROW)
    sheet.set_y(top + 1.6)
    sheet.say(
        f"gap. Above 0: more {one.more_left}. Below 0: more {one.more_right}.",
        LEAST,
        x=MARGIN + FIGURE + 2,
        lead=1.15,
    )
    sheet.set_y(max(sheet.get_y(), top + ROW) + 1)


def _side(sheet: PaperSheet, terms: Sequence[Term], x: float, right: float) -> None:
    for term in terms:
        label = term.label.removeprefix("less ")
        sign = "" if term is terms[0] and term.sign > 0 else "+  " if term.sign > 0 else "−  "
        _figure(sheet, f"{sign}{label[:1].upper()}{label[1:]}", x, right)


def _figure(sheet: PaperSheet, words: str, x: float, right: float, total: bool = False) -> None:
    """Draw a label and the rule for its figure; two rules under a sum."""
    top = sheet.get_y()
    tall = max(ROW, sheet.needs(words, 9.5, total, x, right - FIGURE - 2, 1.15) + 1.0)
    sheet.set_y(top + max(0.8, tall - 5.2) if tall == ROW else top + 0.8)
    sheet.say(words, 9.5, total, x=x, right=right - FIGURE - 2, lead=1.15)
    blank(sheet, right - FIGURE, right, top + tall)
    if total:
        blank(sheet, right - FIGURE, right, top + tall + 0.9)
    sheet.set_y(top + tall + (1.2 if total else 0.4))


def _remarks(sheet: PaperSheet) -> None:
    sheet.room(60)
    title(sheet, "Remarks: one for each line that is off", 11)
    table(
        sheet,
        (
            Column("Line", 2.4),
            Column("Gap", 1),
            Column("What is known of it, or: cause unknown, and what was searched", 6),
            Column("Initials, two parties", 1.6),
        ),
        [[""] * 4] * 6,
        height=8.0,
    )


def statement(sheet: PaperSheet, place: Place) -> None:
    """Draw the statement: digits and words, and a row of ink for each official in the order of the oath sheet."""
    sheet.again = "Statement, continued"
    sheet.leaf()
    title(sheet, f"Statement of {place.name}, in digits and in words", 14, right=RIGHT - sheet.stamped)
    labels = [
        "Ballots received",
        "Resupply",
        "Sent to other places",
        "Unused",
        *(words for _, words in rules.tally_kinds(place)),
        *(f"Ballots on the tape of {t.id}" for t in place.tabulators),
        "Ballots counted by the tabulators",
        *(f"Check-ins of {p.name}" for p in place.precincts),
        "Check-ins cancelled",
    ]
    table(
        sheet,
        (Column("", 4, bold=True), Column("In digits", 1.6), Column("In words", 6)),
        [(words, "", "") for words in labels],
        height=6.0,
    )
    captioned(
        sheet,
        (("polls open", 1), ("polls closed", 1), ("last ballot", 1), ("seal of the transfer case", 2)),
        height=7,
    )
    captioned(sheet, (("what does not add up, and the remark", 1),), height=7.5)
    captioned(sheet, (("", 1),), height=7.5)
    sheet.room(9 + 7.0 * (len(place.officials) + 2.5))
    title(sheet, "Signed in ink by everyone at work, in the row of this morning’s oath", 11)
    everyone(sheet, place)
