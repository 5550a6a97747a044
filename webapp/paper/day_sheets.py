"""Prints the sheets used all day: readings, tallies of single ballots, the seal log, the numbers to compare with."""

from collections.abc import Iterator

from webapp.paper.parts.sheet import MARGIN, RIGHT, PaperSheet
from webapp.paper.parts.write_in_parts import LEAST, Column, caution, table, tick, title
from webapp.precinct.checklist import field_options
from webapp.precinct.checklist.checklist import fill, steps
from webapp.precinct.day.day import Day
from webapp.precinct.day.hours import HOUR, clock, hours, wall
from webapp.precinct.place.place import Place
from webapp.precinct.place.step import Step
from webapp.precinct.place.step_places import ats

COLUMNS = 7  # figures beside the hour on one sheet of readings
ACROSS = 10  # numbers of issued seals side by side
LISTED = 240  # more issued seals than this are given by their first and last number
LOG_ROWS = 20
EXCEPTION = 12.4  # mm a row of the sheet of exceptions
EXCEPTIONS_HEAD, LEAST_EXCEPTIONS = 30.0, 10  # mm of its heading; fewer rows than this begin on a page of their own
READ = 7.2  # mm a reading
HOURS_ACROSS = 18  # columns of hours that leave room for a stroke


def readings(sheet: PaperSheet, place: Place, nothing: Day) -> None:
    """Draw a row for each hour, and the rule below it.

    The rule: check-ins less counters less ballots in the book and on no counter, compared with the people between.
    """
    if not any(step.id == "hourly" for step in steps(place)):
        return
    heads = [
        *(f"Counter {t.id}" for t in place.tabulators),
        *(f"Book {p.id}" for p in place.precincts),
        "People between",
        *(f"Unused {style}" for style, _ in field_options.things("style", place, nothing)),
    ]
    for first in range(0, len(heads), COLUMNS):
        sheet.room(28 + READ * (len(hours(place, nothing)) + 1), "Voting, continued")
        sheet.again = "Readings, continued"
        title(sheet, "Readings, hour by hour", 14)
        sheet.say(
            "Book: check-ins, as the poll book shows them. Book less all counters, less left, taken, waiting in the emergency bin and found so far: never below 0, and never more than the people between. Below 0: look now, two parties. "
            "Above and stuck: bins, booths, floor.",
            9.5,
            lead=1.2,
        )
        sheet.down(1.5)
        worked = ("Book less counters",) if first + COLUMNS >= len(heads) else ()
        columns = (
            Column("Hour", 1.1, bold=True),
            *(Column(head, 1.5) for head in (*heads[first : first + COLUMNS], *worked)),
            Column("Read by", 1.5),
        )
        rows = [(wall(place, hour), *[""] * (len(columns) - 1)) for hour in hours(place, nothing)] + [
            ("Close", *[""] * (len(columns) - 1))
        ]
        table(sheet, columns, rows, height=READ)
        sheet.say("The noon reading is signed by two people of different parties.", LEAST)


def tallies(sheet: PaperSheet, place: Place, nothing: Day) -> None:
    """Draw a column for each hour, for one stroke a ballot: no minute, no name, no number."""
    groups = [(step, list(_rows(step, place, nothing))) for step in steps(place) if step.note and step.signs == "T"]
    slots = list(range(place.at(place.opens) - place.at(place.opens) % HOUR, place.at(place.closes) + HOUR, HOUR))
    sheets = -(-len(slots) // HOURS_ACROSS)
    each = -(-len(slots) // sheets)
    for first in range(0, len(slots), each):
        _tallies_of(sheet, place, groups, slots[first : first + each], sheets > 1)


def _tallies_of(
    sheet: PaperSheet, place: Place, groups: list[tuple[Step, list[str]]], slots: list[int], part: bool
) -> None:
    """The tallies of these hours; `part` where others have a sheet of their own."""
    columns = (
        Column("A stroke each, in the hour that begins at", 5.6),
        *(
            Column(clock(place, slot)[:2] if place.rules.clock == 24 else wall(place, slot).partition(":")[0], 1, "C")
            for slot in slots
        ),
        Column("All", 1.3, "C"),
    )
    sheet.again = "Tallies, continued"
    sheet.leaf()
    hours = f", hours from {wall(place, slots[0])} to {wall(place, slots[-1] + HOUR)}" if part else ""
    title(sheet, f"Tallies of single ballots{hours}", 14, right=RIGHT - sheet.stamped)
    caution(sheet, "No names, no ballot numbers, no times finer than these hours. Nobody looks at the marks.")
    for step, rows in groups:
        sheet.room(24)
        sheet.say(fill(step, place, "").title, 10.5, True)
        sheet.down(0.6)
        table(sheet, columns, [(words, *[""] * (len(slots) + 1)) for words in rows], height=5.3, size=LEAST)


def _rows(step: Step, place: Place, nothing: Day) -> Iterator[str]:
    """The rows of one note's tally: by style, kind, box, or message and what the voter did."""
    styles = [words for _, words in field_options.things("style", place, nothing)]
    if step.form == "tally":
        messages, outcomes = (step.known(name).choices for name in ("message", "outcome"))
        for _, said in messages:
            yield f"{said}:"
            yield from (f"·  {did}" for _, did in outcomes)
    elif step.id == "spoiled":
        yield from (f"{again}, {style}" for again in ("Another given", "No other given") for style in styles)
    elif step.id == "provisional":
        yield from (words for _, words in field_options.things("provisional-kind", place, nothing))
    elif step.per == "box":
        yield from (f"Box {at}" for at in ats(step, place))
    elif step.id == "absentee-handed-in":
        yield from ("Sealed envelopes", "Given up to vote here")
    elif step.field("style"):
        yield from (style[:1].upper() + style[1:] for style in styles)
    else:
        yield "Voters" if step.id == "left" else "Number"


def exceptions(sheet: PaperSheet) -> None:
    """Draws the sheet of exceptions, by number of step: found, done, notified, signed; and seats that stayed empty."""
    sheet.again = ""
    head = not sheet.room(EXCEPTIONS_HEAD + EXCEPTION * LEAST_EXCEPTIONS)
    sheet.again = "Exceptions, continued"
    if head:
        sheet.down(2)
    title(sheet, "Exceptions: what was not so, and who did not sign", 14, right=RIGHT - (0 if head else sheet.stamped))
    sheet.say(
        "Each with the list and the number of its step. Short-signed: which seat stayed empty and why. Signed by those who sign the step. Full? Go on on the back.",
        9.5,
        lead=1.2,
    )
    sheet.down(1)
    columns = (
        Column("List and step", 1.6),
        Column("What was found, or which seat is empty and why", 4.6),
        Column("What was done", 3.6),
        Column("Who at the office was told, when", 2.2),
        Column("Initials", 1.4),
    )
    table(sheet, columns, [[""] * len(columns)] * int((sheet.left_over - 18) / EXCEPTION), height=EXCEPTION)


def seal_log(sheet: PaperSheet, place: Place) -> None:
    """Draw rows for every seal that is cut or applied, and the issued numbers to cross off."""
    sheet.again = "Seal log, continued"
    sheet.leaf()
    title(sheet, "Seal log", 14, right=RIGHT - sheet.stamped)
    sheet.say(
        "Write the new number first, then apply the seal; the second signer reads it once more. A cut seal goes into its envelope. Tonight: issued = applied + going back + damaged.",
        9.5,
        lead=1.2,
    )
    sheet.down(1)
    columns = (
        Column("Time", 1.2),
        Column("Where", 3),
        Column("Cut or found", 1.8),
        Column("Agrees with the one applied last", 1.7),
        Column("New, written first", 1.8),
        Column("Why", 2.4),
        Column("Initials, two parties", 1.6),
    )
    table(sheet, columns, [[""] * len(columns)] * LOG_ROWS, height=8.2)
    if not place.seals:
        return
    sheet.room(16 + 7 * min(-(-len(place.seals) // ACROSS), LISTED // ACROSS))
    sheet.down(2)
    title(
        sheet,
        f"Seals issued to this place: {len(place.seals)}. Cross off each that is applied; circle one that broke",
        11,
    )
    if len(place.seals) > LISTED:
        sheet.say(f"From {place.seals[0]} to {place.seals[-1]}: the list of the office goes with this sheet.", 10)
        return
    step = (RIGHT - MARGIN) / ACROSS
    for first in range(0, len(place.seals), ACROSS):
        sheet.room(7)
        top = sheet.get_y()
        for n, number in enumerate(place.seals[first : first + ACROSS]):
            tick(sheet, MARGIN + n * step, top + 0.8, 3.4)
            sheet.set_y(top + 0.4)
            sheet.say(number, 9.5, x=MARGIN + n * step + 4, right=MARGIN + (n + 1) * step)
        sheet.set_y(top + 7)


def to_compare(sheet: PaperSheet, place: Place) -> None:
    """Draw what the office wrote, for comparison: last, so that nobody reads a seal off a list."""
    sheet.again = "To compare with, continued"
    sheet.leaf()
    title(sheet, "To compare with, only after your own numbers were written", 14, right=RIGHT - sheet.stamped)
    sheet.say(
        "What the office wrote when the equipment left. A number that is not the same: do not open it, call the office, write what was said.",
        9.5,
        lead=1.2,
    )
    sheet.down(2)
    for heading, columns, rows in (
        (
            "Seals on the equipment when it left the office",
            (Column("Where", 4), Column("Number", 2, bold=True)),
            [(seal.door or seal.at, seal.number) for seal in place.applied],
        ),
        (
            "Tabulators",
            (
                Column("Tabulator", 2, bold=True),
                Column("Serial number", 2),
                Column("Box", 1),
                Column("Protective counter when it left", 2, "R"),
            ),
            [(t.id, t.serial, t.box, "" if t.lifetime is None else f"{t.lifetime:,}") for t in place.tabulators],
        ),
        (
            "Ballots",
            (Column("Style", 2, bold=True), Column("Received", 2, "R"), Column("To a pack", 2, "R")),
            [(s.style, f"{s.received:,}", "" if s.pack is None else f"{s.pack:,}") for s in place.stock],
        ),
        (
            "Containers and envelopes",
            (Column("Id", 1, bold=True), Column("What goes in", 4), Column("Counted ballots", 2)),
            [(c.id, c.holds, "yes" if c.ballots else "") for c in place.containers],
        ),
        ("Copies of the signed tapes", (Column("For whom", 4),), [(copy,) for copy in place.copies]),
    ):
        if rows:
            sheet.room(18)
            sheet.say(heading, 11, True)
            sheet.down(0.6)
            table(sheet, columns, rows)
            sheet.down(1.5)
