"""Prints the receipt of a bundle that is carried from a desk apart to the office: what it holds, its check words, who carried it and who took it over.

The words are worked out again at the office from the file itself: the file on the stick is the one that the paper names, or it is another one.
"""

from dataclasses import dataclass

from webapp.paper.parts.sheet import MARGIN, RIGHT, PaperSheet
from webapp.paper.parts.write_in_parts import Column, caution, signatures, squares, table, title
from webapp.precinct.checklist import cautions

NAME = "Receipt of a bundle"


@dataclass(frozen=True, slots=True)
class CarriedBundle:
    """What the paper says. `first`, `last`: entries of the desk's record; `size` in bytes; `digest`: SHA-256 of the file, in hex; `words`: its check
    words; `made`: day and time in words; `packets`: place and number of each, in words."""

    office: str
    desk: str
    election: str
    file: str
    first: int
    last: int
    packets: tuple[str, ...]
    size: int
    digest: str
    words: str
    made: str
    practice: bool


def receipt_pdf(one: CarriedBundle) -> bytes:
    """The receipt as a PDF."""
    stamps = ("Practice",) if one.practice else ()
    heading = f"Desk {one.desk}: {NAME.lower()}"
    sheet = PaperSheet(f"{NAME}, desk {one.desk}", f"{one.office}  ·  {NAME}, desk {one.desk}", stamps, 9)
    sheet.again = f"{heading}, continued"
    sheet.leaf()
    title(sheet, heading, 16, right=RIGHT - sheet.stamped)
    sheet.say(f"{one.office}. {one.election}. Made {one.made}.", 10.5)
    sheet.down(2)
    table(sheet, (Column("", 2), Column("", 6, bold=True)), _rows(one), size=10)
    sheet.down(2)
    if one.packets:
        sheet.say(f"Packets: {', '.join(one.packets)}.", 9.5, lead=1.2)
        sheet.down(1)
    _words(sheet, one)
    _people(sheet)
    caution(sheet, f"It holds figures of small places: treat it like the poll book. {cautions.CUSTODY}", size=9)
    caution(sheet, cautions.LAW, size=9, lead="")
    return bytes(sheet.output())


def _rows(one: CarriedBundle) -> list[tuple[str, str]]:
    entries = f"{one.first:,} to {one.last:,}" if one.last > one.first else f"{one.last:,}"
    digest = " ".join(one.digest[at : at + 8] for at in range(0, len(one.digest), 8))
    return [
        ("File", one.file),
        ("Entries of this desk", entries),
        ("Packets", f"{len(one.packets):,}"),
        ("Bytes", f"{one.size:,}"),
        ("Check words", one.words),
        ("SHA-256", digest),
    ]


def _words(sheet: PaperSheet, one: CarriedBundle) -> None:
    """Where the office writes what its own screen shows of the file."""
    sheet.room(34)
    title(sheet, "At the office")
    sheet.say(f"Merge the bundle. Copy the check words from the screen, and compare: here they are {one.words}.", 10)
    sheet.down(2)
    top = sheet.get_y()
    squares(sheet, MARGIN, top, (4, 4, 4))
    sheet.set_y(top + 12)
    sheet.say("Not the same: it is another file. Keep both, and ask at the desk which one is right.", 10)
    sheet.down(2)


def _people(sheet: PaperSheet) -> None:
    sheet.room(70)
    title(sheet, "Handed over, and taken over", 11)
    signatures(
        sheet,
        ("1st carrier", "2nd carrier", "1st receiver", "2nd receiver"),
        lead="Signed in ink, for the bundle named above. If it traveled in a sealed bag, write the number of the seal beside it.",
    )
    sheet.say("One copy stays at the desk, one goes with the bundle.", 9)
    sheet.down(1)
