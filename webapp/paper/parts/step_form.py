"""Prints one step of a checklist: why, what to do, what to fill in, what to do when it is not so, a row for each signature.

Steps that are signed once on one page are signed once here too, after the last of them.
"""

from collections.abc import Sequence

from webapp.paper.parts.blank_drawing import SIZE, draw, height
from webapp.paper.parts.field_blanks import blanks
from webapp.paper.parts.sheet import MARGIN, RIGHT, PaperSheet
from webapp.paper.parts.write_in_parts import LEAST, Column, captioned, caution, numbered, signatures, table, ticked
from webapp.precinct.day import seats
from webapp.precinct.day.day import Day
from webapp.precinct.place.ballot_kinds import BALLOT_KINDS
from webapp.precinct.place.default_steps import steps
from webapp.precinct.place.place import Place
from webapp.precinct.place.step import Step

ROLL_ROWS = 2  # empty rows for people who are not in the place file
KEPT = 26.0  # mm: a step taller than this may go on over the page; less would leave a title without its blanks
TAPPED = "Ticked by one sworn official"
NOT_SO = "Not so, written on the sheet of exceptions."
NOT_SO_WIDTH = 76.0  # mm, its box and words on one line


def step_form(
    sheet: PaperSheet,
    place: Place,
    nothing: Day,
    step: Step,
    at: str,
    number: str,
    again: bool = False,
) -> None:
    """Draw a step whose words are filled in already.

    Signature rows are separate (`signed`), placed after the last step they cover. `again`: what to do is above already, for another
    tabulator or box.
    """
    found = list(blanks(step, place, nothing, at))
    sheet.room(step_height(sheet, place, nothing, step, at, again))
    guide(sheet, step, number, again)
    if step.form in ("roll-call", "oath"):
        _roll(sheet, place, step.form, {one.form for one in steps(place)} >= {"roll-call", "oath"})
    elif step.form == "reading":
        sheet.say("Written hour by hour on the sheet of the readings, which comes behind this list.", 9.5)
    elif step.signs == "all":
        draw(sheet, [b for b in found if b.kind != "tick" or "ink" not in b.label.lower()])
    else:
        draw(sheet, found)
    not_so(sheet, step, again)


def step_height(sheet: PaperSheet, place: Place, nothing: Day, step: Step, at: str, again: bool = False) -> float:
    """The height in mm to keep together, roughly: a long table may go on to the next page."""
    whole = (8 if again else guide_height(sheet, step)) + height(sheet, list(blanks(step, place, nothing, at))) + 8
    return min(whole, KEPT)


def guide(sheet: PaperSheet, step: Step, number: str, again: bool = False) -> None:
    """Draw title, why, what to do and caution; the second time the title alone."""
    top = sheet.get_y()
    if number:
        numbered(sheet, number, top)
    sheet.set_y(top)
    sheet.say(step.title, 11, True, lead=1.2)
    if again:
        if step.not_so and _beside(sheet, step):
            end = sheet.get_y()
            sheet.set_y(top)
            ticked(sheet, NOT_SO, RIGHT - NOT_SO_WIDTH, RIGHT, LEAST)
            sheet.set_y(max(end, sheet.get_y()) - 0.6)
        sheet.down(0.3)
        return
    if words := in_order(step):
        sheet.say(words, SIZE, lead=1.16)
    if step.caution:
        caution(sheet, step.caution)
    sheet.down(0.4)


def in_order(step: Step) -> str:
    """Why, and what to do, numbered, in one run of lines: so the forms of a day stay a stack that can be carried."""
    return "   ".join(filter(None, (step.why, *(f"{n}. {line}" for n, line in enumerate(step.do, 1)))))


def guide_height(sheet: PaperSheet, step: Step) -> float:
    """The height in mm that `guide` takes."""
    lines = [
        (step.title, 11, True, MARGIN, 1.2),
        *((w, SIZE, False, MARGIN, 1.16) for w in (in_order(step),) if w),
    ]
    caution_ = sheet.needs(f"Caution: {step.caution}", 9.5, True, MARGIN + 3, RIGHT, 1.2) + 1.2 if step.caution else 0
    return sum(sheet.needs(words, size, bold, x, RIGHT, lead) for words, size, bold, x, lead in lines) + caution_ + 0.4


def _beside(sheet: PaperSheet, step: Step) -> bool:
    """Whether the title leaves room at its right for the box of the exception."""
    sheet.set_font("next", "B", 11)
    return sheet.get_string_width(sheet.shown(step.title)) < RIGHT - MARGIN - NOT_SO_WIDTH - 4


def not_so(sheet: PaperSheet, step: Step, again: bool = False) -> None:
    """Draws the box for the exception, and what to do then: it is written on the sheet of exceptions and signed. The second time it is next to the title."""
    if step.not_so and not (again and _beside(sheet, step)):
        sheet.room(9)
        ticked(
            sheet,
            f"{NOT_SO}{'' if again else f' {step.not_so}'}",
            MARGIN,
            RIGHT,
            LEAST,
        )


def signed(sheet: PaperSheet, place: Place, together: Sequence[Step]) -> None:
    """Draws the signature rows of one step, or of several signed once. Short-signed: who did not sign, why, who was notified."""
    weight = together[0].signs
    times = "quarter hour" if any(s.id in BALLOT_KINDS for s in together) else "time"
    lead = f"Signed once for these {len(together)} steps, in ink"
    if weight == "T":
        sheet.room(14)
        captioned(sheet, ((f"{TAPPED}: name", 5), ("initials", 1.5), (times, 1.8)), right=150, height=6.0)
    elif weight not in ("each", "all"):
        signatures(sheet, [_seat(seat.label) for seat in seats.seats(weight)], lead=lead if len(together) > 1 else "")
    sheet.down(0.4)


def _seat(label: str) -> str:
    return label[:1].upper() + label[1:]


def _roll(sheet: PaperSheet, place: Place, form: str, together: bool) -> None:
    """Draw a row for everybody of the place file, and empty ones for walk-ins: present since; oath, row, signature in ink. `together`: one list for both."""
    if together and form == "oath":
        sheet.say("Row and first signature: in the list of those who are here, above.", 9.5)
        return
    parties = {p.id: p.name for p in place.parties}
    rows = [(o.name, f"{o.role}, {parties.get(o.party, 'no party')}", "", "") for o in place.officials] + [
        ("", "", "", "")
    ] * ROLL_ROWS
    if together:
        columns = (
            Column("Name", 2.6, bold=True),
            Column("Role, party", 2.6),
            Column("Here since", 1.1),
            Column("Left at", 1.1),
            Column("Row of the oath sheet", 1.1),
            Column("First signature, in ink", 2.6),
        )
        table(sheet, columns, [(*row, "", "") for row in rows], height=6.6)
        return
    heads = ("Here since", "Left at") if form == "roll-call" else ("Row of the oath sheet", "First signature, in ink")
    table(
        sheet,
        (
            Column("Name", 3, bold=True),
            Column("Role, party", 3),
            Column(heads[0], 1.4),
            Column(heads[1], 1.6 if form == "roll-call" else 3),
        ),
        rows,
        height=6.3,
    )


def everyone(sheet: PaperSheet, place: Place) -> None:
    """Draw a row of ink for each official, in the order of the oath sheet."""
    parties = {p.id: p.name for p in place.parties}
    rows = [
        (str(n), f"{o.name}, {o.role}", parties.get(o.party, "no party"), "", "")
        for n, o in enumerate(place.officials, 1)
    ] + [("", "", "", "", "")] * ROLL_ROWS
    table(
        sheet,
        (
            Column("Row", 0.7),
            Column("Name, role", 3.4, bold=True),
            Column("Party", 2),
            Column("Signature, in the row of this morning’s oath", 4),
            Column("Time", 1),
        ),
        rows,
        height=7.0,
    )
