"""The notes on paper: what happens once or twice in a day, each with its own form. Everyday ones that need no PIN stand on the tallies."""

from collections.abc import Sequence
from dataclasses import replace

from webapp.paper.field_blanks import blanks, draw, height
from webapp.paper.sheet import RIGHT, PaperSheet
from webapp.paper.step_form import guide, guide_height, not_so, signed
from webapp.paper.write_in_parts import LEAST, captioned
from webapp.precinct.checklist.checklist import fill, steps
from webapp.precinct.day.day import Day
from webapp.precinct.place.ballot_kinds import BALLOT_KINDS
from webapp.precinct.place.place import Place
from webapp.precinct.place.step import Step
from webapp.precinct.place.step_places import ats, here


def notes(sheet: PaperSheet, place: Place, nothing: Day) -> None:
    """First those that are tallied, as a reminder of what to do; then a form for each of the others."""
    mine = [step for step in steps(place) if step.note and here(step, place)]
    sheet.again = "Notes, continued"
    sheet.leaf()
    sheet.say("When something happens", 18, True, right=RIGHT - sheet.stamped)
    sheet.say("One form for each kind of note. It happens again: write on the back, or on another print.", 9.5)
    sheet.down(2)
    for step in mine:
        where = ats(step, place)
        at = where[0] if len(where) == 1 else ""
        step = fill(step, place, at)
        step = replace(step, title=step.title[:1].upper() + step.title[1:])
        if step.signs == "T":
            sheet.room(guide_height(sheet, step) + 12)
            guide(sheet, step, "")
            sheet.say(f"Not so? {step.not_so} A stroke on the sheet of the tallies.", LEAST, lead=1.2)
            sheet.down(3)
            continue
        found = list(blanks(step, place, nothing, at or (where[0] if where else "")))
        sheet.room(min(guide_height(sheet, step) + height(sheet, found) + 34, 180))
        guide(sheet, step, "")
        _when_and_where(sheet, step, where)
        draw(sheet, found)
        not_so(sheet, step)
        signed(sheet, place, [step])
        sheet.down(2)


def _when_and_where(sheet: PaperSheet, step: Step, where: Sequence[str]) -> None:
    """The time, where no field asks for it (of single ballots the quarter hour), and which tabulator or box, where there are several."""
    parts = (
        []
        if step.field("time")
        else [("quarter hour, such as 14:45 to 15:00" if step.id in BALLOT_KINDS else "time", 2)]
    )
    parts += [(f"where: {', '.join(where)}", 2)] if len(where) > 1 else []
    if parts:
        captioned(sheet, parts, right=70 + 40 * (len(parts) - 1), height=6)
