"""Every checklist and form of one place on paper, for when all else fails: no laptop, no power, no time to look for them.

Made from the place file alone, before the day, and printed then. In the order of the day; what is done at each
tabulator or box is printed once for each.
"""

from collections.abc import Sequence

from webapp.paper import (
    carry_slip,
    day_sheets,
    note_forms,
    receipt_page,
    spare_sheet,
    tape_sheets,
    witness_card,
    worksheet_pages,
)
from webapp.paper.parts.headings import date_words, hours_head, sheet_for
from webapp.paper.parts.sheet import RIGHT, PaperSheet
from webapp.paper.parts.step_form import signed, step_form, step_height
from webapp.paper.parts.write_in_parts import caution, title
from webapp.precinct.account.balanced_day import BalancedDay
from webapp.precinct.checklist import cautions
from webapp.precinct.checklist.checklist import LISTS, fill, page_title, steps, task_key, tasks
from webapp.precinct.checklist.step_text import page_key
from webapp.precinct.day.day import Day
from webapp.precinct.place.place import Place
from webapp.precinct.place.place_kinds import KINDS
from webapp.precinct.place.step import Step
from webapp.precinct.place.step_places import ats
from webapp.precinct.reports import carry_slip as carry

NAME = "Paper forms"
OWN_LEAF = ("opening", "hand-over")  # begins at dawn; comes behind the statement, which is a sheet of its own
BEGINS = 42.0  # mm left over that another list may begin in
HEAD = 24.0  # mm from the upper edge: as far down as the stamps reach
HOW = (
    "These sheets do what the laptop does, with ink. Begin them when the laptop or the power fails, at the step where you are; what is in the record stays in the record.",
    "Write every figure in digits, with every 0 in front of a seal’s number. A wrong figure gets one line through it, the right one beside it, two initials and the time. Nothing is erased.",
    "Nobody signs for another. A seat that cannot be filled never stops voting: write who did not sign, why, and who at the office was told, and go on.",
    "Spoiled, provisional, left, taken, found: by the quarter hour at most, never with a name, a ballot’s number or a counter’s figure.",
    "Keep every sheet, torn tapes too. They travel with the carriers, and the office keys them.",
)


OF_A_TEST = (
    "What to do when the laptop dies; the deck, step by step",
    "The test, step by step; two keyings of each tape; a form for each note",
    "Sealing, step by step",
    "The sheet of exceptions, the seal log, the witness’s card",
    "Marking sheets, check sheets, chart and certificate are papers of their own: page Deck, or the command deck",
)


def forms_pdf(place: Place) -> bytes:
    """All of it as one PDF file, the pages numbered through."""
    sheet = sheet_for(place, NAME)
    nothing = BalancedDay(place)
    _cover(sheet, place)
    spare_sheet.pages(sheet, place, "")
    for name, heading in LISTS if place.kind != "test" else ():
        _list(sheet, place, nothing, name, heading)
        if name == "voting":
            note_forms.notes(sheet, place, nothing)
            day_sheets.readings(sheet, place, nothing)
            day_sheets.tallies(sheet, place, nothing)
        elif name == "closing":
            tape_sheets.keyings(sheet, place)
            worksheet_pages.worksheets(sheet, place)
            worksheet_pages.statement(sheet, place)
    for name in KINDS[place.kind].lists if place.kind == "test" else ():
        _list(sheet, place, nothing, name, dict(LISTS)[name])
        if name == "test-run":
            tape_sheets.keyings(sheet, place)
            note_forms.notes(sheet, place, nothing)
    day_sheets.exceptions(sheet)
    day_sheets.seal_log(sheet, place)
    if not KINDS[place.kind].packet:
        witness_card.pages(sheet, place)
        return bytes(sheet.output())
    sheet.again = "Carry slip, continued"
    carry_slip.pages(sheet, place, carry.blank(place, nothing))
    receipt_page.pages(sheet, place, receipt_page.blank(place))
    witness_card.pages(sheet, place)
    day_sheets.to_compare(sheet, place)
    return bytes(sheet.output())


def _cover(sheet: PaperSheet, place: Place) -> None:
    sheet.leaf()
    sheet.say(f"{NAME}: {place.name}", 20, True, right=RIGHT - sheet.stamped)
    sheet.say(", ".join(filter(None, (place.id, place.county, place.election))), 11)
    tested = place.kind == "test"
    sheet.say(
        f"Accuracy test before the election of {date_words(place)}"
        if tested
        else f"{date_words(place)}, polls open {hours_head(place)}",
        11,
    )
    sheet.down(3)
    for line in HOW:
        sheet.say(line, 10.5, lead=1.3)
        sheet.down(1.4)
    caution(sheet, cautions.LAW, lead="")
    for words in cautions.ALL[1:]:
        caution(sheet, words)
    sheet.down(2)
    title(sheet, "In this order")
    for line in (
        OF_A_TEST
        if tested
        else (
            "What to do when the laptop dies; opening, step by step",
            "Voting: the readings of each hour, the tallies, a form for each note",
            "Closing, step by step; two keyings of each tape; the worksheet; the statement",
            "Hand-over, step by step",
            "The office’s desk, step by step",
            "The sheet of exceptions, the seal log, the carry slip, the receipt, the witness’s card",
            "Last: numbers to compare with, to be looked at only after one’s own were written",
        )
    ):
        sheet.say(f"·  {line}", 10.5, lead=1.3)
    sheet.down(2)
    title(sheet, "Telephones")
    for one in place.phones:
        sheet.say(f"{one.who}: {one.number}", 11, True, right=RIGHT)
    known = {one.who for one in place.phones}
    for who in (
        w for w in ("Election office", "Spare tabulators", "Police or fire service", "The house") if w not in known
    ):
        sheet.down(8)
        sheet.rule(0.25, right=120)
        sheet.say(who, 9, right=120)


def _list(sheet: PaperSheet, place: Place, nothing: Day, name: str, heading: str) -> None:
    """One checklist: its steps in order; the notes have forms of their own."""
    mine = [step for step in steps(place) if step.list == name and not step.note]
    if not mine:
        return
    sheet.again = ""
    if name in OWN_LEAF or sheet.left_over < BEGINS:
        sheet.leaf()
    else:
        sheet.down(3)
    high = sheet.get_y() < HEAD
    words = heading if name != "office" else "At the office’s desk"
    sheet.say(words, 16, True, right=RIGHT - (sheet.stamped if high else 0))
    sheet.again = f"{heading}, continued"
    sheet.down(1)
    numbers, seen = _numbers(place, nothing), set()
    for group in grouped(mine, place):
        if len(group) > 1:
            (step, at), title_ = group[0], page_title(page_key(*group[0]), group[0][0].title)
            sheet.room(8 + step_height(sheet, place, nothing, step, at, step.id in seen))
            title(sheet, title_, 13)
        for step, at in group:
            step_form(
                sheet,
                place,
                nothing,
                step,
                at,
                numbers.get(task_key(step.id, at), ""),
                step.id in seen,
            )
            seen.add(step.id)
        signed(sheet, place, [step for step, _ in group])
        if group[0][0].signs == "all":
            sheet.say("Everyone signs the statement itself, which comes behind the worksheet.", 9.5)
        sheet.down(0.5)


def _numbers(place: Place, nothing: Day) -> dict[str, str]:
    """The number that each step has on the laptop's lists; the readings go by the number of the first."""
    found: dict[str, str] = {}
    for task in tasks(place, nothing, place.at(place.opens), [name for name, _ in LISTS]):
        found.setdefault(task.key, str(task.number or ""))
        if task.step.form == "reading":
            found.setdefault(task.step.id, str(task.number or ""))
    return found


def grouped(mine: Sequence[Step], place: Place) -> list[list[tuple[Step, str]]]:
    """(step as it is done there, where) in groups that are signed once. A page of one tabulator stays together; the readings are there once, for every hour."""
    groups: dict[str, list[tuple[Step, str]]] = {}
    for step in mine:
        for at in ats(step, place):
            key = page_key(step, at) or f"{step.id}:{at}"
            groups.setdefault(key, []).append((fill(step, place, at), at))
    return list(groups.values())
