"""Paper for the days after the night: a count sheet with its envelope tally, and a recount sheet; field for field as the screens, to be keyed later.

Figures before a recount are left to the pen too: who recounts does not see them on the sheet.
"""

from collections.abc import Sequence

from webapp.paper.parts.sheet import RIGHT, PaperSheet
from webapp.paper.parts.write_in_parts import Column, captioned, caution, signatures, table, title
from webapp.precinct.checklist import cautions
from webapp.precinct.place.place import Contest

WRITTEN = 8.0  # mm: a row that is written in
LINES = ("Write-ins", "Undervotes", "Overvotes", "Ballots with this contest")
FIGURES = (Column("Line", 4), Column("Figure, in digits", 1.6), Column("Tally, for a count by hand", 4.4))
ENVELOPES = (Column("Envelopes", 4), Column("How many, in digits", 1.6), Column("Remark", 4.4))


def count_sheet_pdf(
    office: str, unit: str, way: str, contests: Sequence[Contest], reasons: Sequence[str], practice: bool
) -> bytes:
    """The sheet of one unit and way: envelopes by what became of them, ballots, every contest in ballot order, two signatures of two parties."""
    sheet = _sheet(f"Count sheet, {unit}, {way}", office, practice)
    _head(sheet, f"Count sheet: {unit}", f"{way}. Ballots counted after the night.", office)
    title(sheet, "Envelopes decided")
    rows = ["Issued", "Received", "Accepted", "Accepted for some contests only"]
    rows += [f"Rejected: {reason}" for reason in reasons]
    table(sheet, ENVELOPES, [(row, "", "") for row in (*rows, "Open, not decided")], height=WRITTEN)
    sheet.say("Received = accepted + accepted in part + rejected + open. Never a name or number of a voter.", 9)
    sheet.down(2)
    _figures(sheet, contests, "Ballots counted")
    return _signed(sheet)


def recount_sheet_pdf(
    office: str, unit: str, way: str, contests: Sequence[Contest], order: str, practice: bool
) -> bytes:
    """The sheet of a recount: the container first, then every contest that was ordered."""
    sheet = _sheet(f"Recount sheet, {unit}, {way}", office, practice)
    _head(sheet, f"Recount sheet: {unit}", f"{way}. {order}", office)
    sheet.room(44)
    title(sheet, "Container: read the seal before you look for its number in a paper")
    captioned(sheet, (("container", 2), ("number on its seal", 2), ("whole? yes or no", 1.4)), height=WRITTEN)
    captioned(
        sheet,
        (("number is in book, certificate, statement", 3), ("ballots, first count", 1.6), ("second count", 1.6)),
        height=WRITTEN,
    )
    _figures(sheet, contests, "Ballots recounted")
    sheet.room(16)
    captioned(
        sheet, (("ballots duplicated", 1), ("ballots set apart for a decision", 1.4), ("remark", 3)), height=WRITTEN
    )
    return _signed(sheet)


def _sheet(name: str, office: str, practice: bool) -> PaperSheet:
    sheet = PaperSheet(name, f"{office}  ·  {name}", ("Practice",) if practice else (), 9)
    sheet.again = f"{name}, continued"
    sheet.leaf()
    return sheet


def _head(sheet: PaperSheet, heading: str, about: str, office: str) -> None:
    right = RIGHT - sheet.stamped
    sheet.say(heading, 16, True, right=right)
    sheet.say(about, 10.5, right=right)
    sheet.say(
        f"{office}. Two people of different parties count, one reads and one watches. Each keys it on a tablet alone afterwards.",
        9.5,
    )
    sheet.down(2)


def _figures(sheet: PaperSheet, contests: Sequence[Contest], ballots: str) -> None:
    sheet.room(30)
    captioned(sheet, ((ballots, 1), ("tabulator, or by hand", 1.4), ("tape, its time", 1.4)), height=WRITTEN)
    sheet.say("Not on these ballots: cross the whole contest out. Not on the paper: leave the line empty, never 0.", 9)
    sheet.down(1)
    for contest in contests:
        sheet.room(20 + WRITTEN * (len(contest.choices) + len(LINES)) if len(contest.choices) < 16 else 60)
        sheet.say(contest.title + (f", vote for {contest.n}" if contest.n > 1 else ""), 11, True)
        lines = [choice.label for choice in contest.choices]
        lines += [line for line in LINES if line != "Write-ins" or contest.write_in]
        table(sheet, FIGURES, [(line, "", "") for line in lines], height=WRITTEN)


def _signed(sheet: PaperSheet) -> bytes:
    signatures(
        sheet, ("first counter", "second counter, other party"), lead="Signed in ink by both, for what is written above"
    )
    sheet.room(34)
    caution(sheet, f"{cautions.SECRECY} {cautions.LIFTING}", size=9)
    caution(sheet, cautions.LAW, size=9, lead="")
    return bytes(sheet.output())
