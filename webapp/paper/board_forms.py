"""The other papers of a count board, blank: carrier slip, tray card, batch card, problem sheet, duplication log, night seal sheet, statement, end sheets, hand tallies.

They serve when all else fails, and along with the laptop: what a ballot's table writes stays with the ballots.
Nothing on them asks for a voter, an envelope's number, or how anybody voted.
"""

from webapp.paper.board_tallies import hand_tallies, statement
from webapp.paper.header_sheets import HALF, end_sheet
from webapp.paper.parts.board_heads import head
from webapp.paper.parts.headings import sheet_for
from webapp.paper.parts.sheet import LEFT, RIGHT, TOP, PaperSheet
from webapp.paper.parts.write_in_parts import LEAST, Column, captioned, signatures, table, ticked, title
from webapp.precinct.place.place import Place

NAME = "Papers of the count board"
CAUSES = (
    "torn", "wet", "stained", "folded badly", "wrong paper", "to be remade (federal only, military, printed at home)", "unreadable", "read as blank",
    "overvote", "identifying mark", "two in one envelope", "another election", "jam", "other",
)  # fmt: skip
OUTCOMES = "D duplicated (with its serial) · F fed after all · H counted by hand · N not counted, by law · W waiting"
PROBLEM_ROWS, LOG_ROWS = 14, 15


def board_forms_pdf(place: Place) -> bytes:
    """One blank of each paper; copy as many as are needed."""
    sheet = sheet_for(place, NAME)
    for page in (
        carrier_slip,
        tray_card,
        batch_card,
        problem_sheet,
        duplication_log,
        night_seals,
        statement,
        end_sheets,
    ):
        sheet.leaf(ruled=False)
        page(sheet, place)
    hand_tallies(sheet, place)
    return bytes(sheet.output())


def carrier_slip(sheet: PaperSheet, place: Place) -> None:
    """What travels with a carrier, and what was found in it."""
    head(
        sheet,
        place,
        "Carrier slip",
        "One for each bag, tray or box of envelopes. Read the seal before it is cut; if it is another one, open nothing and call the office.",
    )
    captioned(
        sheet, (("carrier", 2), ("seal as applied", 3), ("seal as found", 3), ("slip number", 2)), x=LEFT, height=9
    )
    title(sheet, "Envelopes", x=LEFT)
    columns = [
        Column("Precinct", 3),
        Column("On the slip", 2),
        Column("First count, slip folded away", 2.6),
        Column("Second count", 2.2),
        Column("Remark", 4),
    ]
    table(sheet, columns, [[""] * 5 for _ in range(10)], x=LEFT, height=9)
    sheet.say(
        "Two counts in a row are equal, or count again. A count that differs from the slip: both stay, and the clerk is called while the carrier is here.",
        9.5,
        x=LEFT,
    )
    sheet.down(2)
    ticked(sheet, "The carrier is open and flat, and is empty: both have looked.", LEFT, RIGHT)
    signatures(
        sheet, ("Taken in", "Taken in, of another party", "Shown empty", "Shown empty, of another party"), x=LEFT
    )


def tray_card(sheet: PaperSheet, place: Place) -> None:
    """A tray of envelopes of one precinct, from the envelopes to its ballots."""
    head(
        sheet,
        place,
        "Tray card",
        "Stays with the tray. Empty envelopes leave the table before a sleeve is opened, so that no ballot is ever seen with its envelope.",
    )
    captioned(sheet, (("tray", 1.5), ("precinct, or precincts counted together", 5), ("table", 1.5)), x=LEFT, height=9)
    title(sheet, "Count", x=LEFT)
    words = (
        "Envelopes in the tray", "less rejected here, unopened: reason", "less held, unopened: reason", "less opened and empty, shown to both", "Sleeves",
        "and ballots more than one in an envelope", "Ballots", "of these damaged, laid apart",
    )  # fmt: skip
    columns = [Column("", 6), Column("First count", 2), Column("Second count", 2)]
    table(sheet, columns, [[one, "", ""] for one in words], x=LEFT, height=9.5)
    ticked(
        sheet,
        "Every envelope was looked through against the light and banded; the band is with the tray card.",
        LEFT,
        RIGHT,
    )
    sheet.say(
        "More envelopes than ballots: look into the envelopes. More ballots than envelopes: look for a note that several lay in one.",
        9.5,
        x=LEFT,
    )
    sheet.down(2)
    signatures(sheet, ("Opened", "Opened, of another party", "Unfolded", "Unfolded, of another party"), x=LEFT)


def batch_card(sheet: PaperSheet, place: Place) -> None:
    """What stays with the ballots of a batch after feeding."""
    head(sheet, place, "Batch card", "Stays with the ballots after feeding, under their band.")
    captioned(sheet, (("batch", 2), ("precinct", 3), ("tabulator", 2), ("day", 2)), x=LEFT, height=9)
    title(sheet, "This batch", x=LEFT)
    rows = (
        "Envelopes", "less empty", "and extra", "Ballots", "Counter before", "Counter after", "Fed: after less before", "Set aside", "Fed and set aside together",
    )  # fmt: skip
    table(
        sheet,
        [Column("", 5), Column("Figure", 2), Column("Counted again by another pair", 3)],
        [[one, "", ""] for one in rows],
        x=LEFT,
        height=9,
    )
    ticked(sheet, "The header sheet is back on top. The end sheet was reached.", LEFT, RIGHT)
    ticked(
        sheet,
        "Ballots in the batch are as many as fed and set aside together. If not: this tabulator stops.",
        LEFT,
        RIGHT,
    )
    captioned(sheet, (("remark, where it does not agree; “cause unknown” is an answer", 1),), x=LEFT, height=12)
    signatures(sheet, ("Made", "Made, of another party", "Fed", "Fed, of another party"), x=LEFT)


def problem_sheet(sheet: PaperSheet, place: Place) -> None:
    """The ballots set aside from one batch: position, cause, outcome."""
    what = "One for each batch with a ballot set aside. Its number is its place in the batch: 1 is the first under the header sheet. Never write how it is marked."
    head(sheet, place, "Problem ballots of a batch", what)
    captioned(sheet, (("batch", 2), ("tabulator", 2), ("set aside in all", 2)), x=LEFT, height=9)
    columns = [
        Column("Number", 1.3),
        Column("Cause", 5),
        Column("Outcome", 1.5),
        Column("Serial, if duplicated", 2.6),
        Column("Initials, two of two parties", 3),
    ]
    table(sheet, columns, [[""] * 5 for _ in range(PROBLEM_ROWS)], x=LEFT, height=8.6)
    sheet.say(f"Outcomes: {OUTCOMES}.", LEAST, x=LEFT)
    sheet.say(f"Causes: {', '.join(CAUSES)}.", LEAST, x=LEFT)


def duplication_log(sheet: PaperSheet, place: Place) -> None:
    """Serials of duplicates, in order."""
    what = (
        "Two of two parties: one reads each contest aloud, the other marks, and the reader watches the pen. The same serial on both; VOID on the original, DUPLICATE on the "
        "copy. Spoiled in the making: void the serial and take the next one. Two others compare each duplicate with its original."
    )
    head(sheet, place, "Duplication log", what)
    columns = [
        Column("Serial", 2),
        Column("Style", 1.4),
        Column("Cause", 3),
        Column("Void", 1),
        Column("Called, marked: initials", 2.8),
        Column("Compared: initials of two others", 3),
    ]
    table(sheet, columns, [["", "", "", "[ ]", "", ""] for _ in range(LOG_ROWS)], x=LEFT, height=8.6)
    captioned(sheet, (("serials on this page: from", 2), ("to", 2), ("of these void", 1.5)), x=LEFT, height=8)
    signatures(sheet, ("Problem table", "Problem table, of another party"), x=LEFT)


def night_seals(sheet: PaperSheet, place: Place) -> None:
    """What stays shut overnight, counted in the evening and again in the morning."""
    head(
        sheet,
        place,
        "Night seal sheet",
        "Count before the room is left, and before anything is opened in the morning. Fewer or more in the morning, or another seal: open nothing and call the office.",
    )
    columns = [
        Column("Container", 2),
        Column("Holds (sleeves, envelopes)", 3),
        Column("Evening: number", 2),
        Column("Seal applied", 2.4),
        Column("Morning: seal found", 2.6),
        Column("Morning: number", 2),
    ]
    table(sheet, columns, [[""] * 6 for _ in range(9)], x=LEFT, height=9)
    title(sheet, "Counters", x=LEFT)
    table(
        sheet,
        [Column("Tabulator", 2), Column("Evening", 2), Column("Morning", 2), Column("Batches made and not fed", 5)],
        [[one.id, "", "", ""] for one in place.tabulators] or [[""] * 4],
        x=LEFT,
        height=8.6,
    )
    signatures(sheet, ("Evening", "Evening, of another party", "Morning", "Morning, of another party"), x=LEFT)


def end_sheets(sheet: PaperSheet, place: Place) -> None:
    """Two end sheets, to be cut apart."""
    end_sheet(sheet, TOP)
    sheet.set_dash_pattern(dash=3, gap=2)
    sheet.line(0, TOP + HALF - 5, sheet.w, TOP + HALF - 5)
    sheet.set_dash_pattern()
    end_sheet(sheet, TOP + HALF)
