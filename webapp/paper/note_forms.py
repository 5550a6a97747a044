"""The notes on paper: what happens once or twice in a day, each with its own form. Everyday ones that need no PIN are on the tallies."""

from collections.abc import Sequence
from dataclasses import replace
from functools import partial

from webapp.paper.parts.blank_drawing import draw
from webapp.paper.parts.field_blanks import Blank, blanks
from webapp.paper.parts.sheet import PaperSheet
from webapp.paper.parts.step_form import guide, not_so, signed
from webapp.paper.parts.write_in_parts import LEAST, captioned
from webapp.precinct.checklist.checklist import fill, steps
from webapp.precinct.day.day import Day
from webapp.precinct.place.ballot_kinds import BALLOT_KINDS
from webapp.precinct.place.place import Place
from webapp.precinct.place.step import Step
from webapp.precinct.place.step_places import ats, here


def notes(sheet: PaperSheet, place: Place, nothing: Day) -> None:
    """A reminder of what to do for those that are tallied, a form for each of the others: each kept on one page, the largest that fits goes below."""
    mine = [step for step in steps(place) if step.note and here(step, place)]
    sheet.again = "Notes, continued"
    if not sheet.room(40):
        sheet.down(3)
    sheet.say("When something happens", 16, True)
    sheet.say("One form for each kind of note. It happens again: write on the back, or on another print.", 9.5)
    sheet.down(2)
    scratch = PaperSheet("", "")
    waiting = [
        (one, scratch.tried(partial(_note, place=place, nothing=nothing, step=one[0], where=one[1])))
        for one in (_filled(step, place) for step in mine)
    ]
    while waiting:
        fitting = [one for one in waiting if one[1] <= sheet.left_over]
        chosen = max(fitting, key=lambda one: one[1]) if fitting else waiting[0]
        waiting.remove(chosen)
        (step, where), tall = chosen
        sheet.room(tall)
        _note(sheet, place, nothing, step, where)


def _filled(step: Step, place: Place) -> tuple[Step, Sequence[str]]:
    """A note with its words filled in, and where it may happen."""
    where = ats(step, place)
    step = fill(step, place, where[0] if len(where) == 1 else "")
    return replace(step, title=step.title[:1].upper() + step.title[1:]), where


def _blanks(place: Place, nothing: Day, step: Step, where: Sequence[str]) -> list[Blank]:
    return list(blanks(step, place, nothing, where[0] if where else ""))


def _note(sheet: PaperSheet, place: Place, nothing: Day, step: Step, where: Sequence[str]) -> None:
    """Draw one form; of what is tallied, a reminder of what to do."""
    guide(sheet, step, "")
    if step.signs == "T":
        sheet.say(f"Not so? {step.not_so} A stroke on the sheet of the tallies.", LEAST, lead=1.2)
        sheet.down(1.0)
        return
    _when_and_where(sheet, step, where)
    draw(sheet, _blanks(place, nothing, step, where))
    not_so(sheet, step)
    signed(sheet, place, [step])
    sheet.down(0.2)


def _when_and_where(sheet: PaperSheet, step: Step, where: Sequence[str]) -> None:
    """The time, where no field asks for it (of single ballots the quarter hour), and which tabulator or box, where there are several."""
    parts = (
        []
        if step.field("time")
        else [("quarter hour, such as 14:45 to 15:00" if step.id in BALLOT_KINDS else "time", 2)]
    )
    parts += [(f"where: {', '.join(where)}", 2)] if len(where) > 1 else []
    if parts:
        captioned(sheet, parts, right=70 + 40 * (len(parts) - 1), height=5.6)
