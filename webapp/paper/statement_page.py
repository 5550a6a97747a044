"""The statement on paper at the end of the night: every figure of the record in digits and in words, room for the seals of the containers, which are written in ink when they are applied, and a row of ink for everyone."""

from collections.abc import Sequence

from webapp.packet.print_model import AccountRow
from webapp.paper.parts.sheet import RIGHT, PaperSheet
from webapp.paper.parts.step_form import everyone
from webapp.paper.parts.write_in_parts import Column, table, title
from webapp.precinct.place.place import Place


def statement_pdf(place: Place, rows: Sequence[AccountRow], gaps: Sequence[str], to: int) -> bytes:
    """The statement as a PDF. `rows` as in the ballot account, `gaps` in words, `to`: the newest entry of the record."""
    stamps = ("Unofficial", *(("Practice",) if place.mode == "practice" else ()))
    sheet = PaperSheet(
        f"Statement of {place.name}", f"{place.name}, {place.id}  ·  Statement, to entry {to}", stamps, 9
    )
    sheet.again = f"Statement of {place.name}, continued"
    sheet.leaf()
    title(sheet, f"Statement of {place.name}", 14, right=RIGHT - sheet.stamped)
    sheet.say(
        f"{place.election}, {place.date:%A, {place.date.day} %B %Y}. The figures are those that were signed, to entry {to} of the record. "
        "Compare each with the tapes and envelopes on the table, then sign. A figure that is wrong is crossed out, and the right one written in ink.",
        9.5,
        lead=1.2,
    )
    sheet.down(2)
    table(
        sheet,
        (Column("", 4, bold=True), Column("In digits", 1.2), Column("In words", 5)),
        [(row.label, "" if row.figure is None else f"{row.figure:,}", row.words) for row in rows],
        height=6.2,
    )
    sheet.down(2)
    if gaps:
        title(sheet, "What does not add up", 11)
        for words in gaps:
            sheet.say(words, 9.5, lead=1.2)
        sheet.down(2)
    title(sheet, "Containers: write the number first, then apply the seal", 11)
    table(
        sheet,
        (Column("Container", 3, bold=True), Column("Seal, in ink", 2), Column("Initials, two parties", 2)),
        [(f"{c.id}, {c.holds}", "", "") for c in place.containers] + [("Transfer case", "", "")],
        height=7,
    )
    sheet.room(9 + 7.6 * (len(place.officials) + 2.5))
    title(sheet, "Signed in ink by everyone at work, in the row of this morning’s oath", 11)
    everyone(sheet, place)
    return bytes(sheet.output())
