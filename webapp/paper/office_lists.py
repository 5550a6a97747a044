"""The office's lists on paper: late places with the numbers to call and room for what was said, and what changed since an edition."""

from collections.abc import Sequence
from dataclasses import dataclass

from webapp.canvass.changes import ContestChange
from webapp.paper.parts.sheet import MARGIN, RIGHT, PaperSheet
from webapp.paper.parts.write_in_parts import Column, caution, table, title
from webapp.precinct.checklist import cautions

WRITTEN = 11.0  # mm: a row of the late list, in which an answer is written
LATE = (
    Column("Min. past due", 1.1, "R"),
    Column("Place", 2.6),
    Column("Out", 1.8),
    Column("Numbers to call", 2.4),
    Column("Last call", 2.4),
    Column("Reached, promised", 2.6),
)
CHANGED = (Column("Line", 4), Column("Before", 1.4, "R"), Column("After", 1.4, "R"), Column("Difference", 1.4, "R"))


@dataclass(frozen=True, slots=True)
class LateRow:
    """One late place in words. `past`: minutes past due, "due 21:30", or "" where nobody knows."""

    past: str
    place: str
    out: str
    phones: str
    last: str


def late_list_pdf(office: str, when: str, says: str, rows: Sequence[LateRow], practice: bool) -> bytes:
    """The list of late places at a time (`when`, in words), the longest past due first. `says`: how many are out, in one sentence."""
    sheet = _sheet(f"Late places, {when}", office, practice)
    title(sheet, "Late places", 16, right=RIGHT - sheet.stamped)
    sheet.say(f"{office}. As of {when}. {says}", 10.5)
    sheet.say("Write each call into the program afterwards, under Late.", 9.5)
    sheet.down(2)
    said = [(row.past, row.place, row.out, row.phones, row.last, "") for row in rows]
    table(sheet, LATE, said, MARGIN, RIGHT, height=WRITTEN, size=9)
    if not rows:
        sheet.say("Every place has brought packet, goods and memory devices.", 10.5)
    sheet.room(16)
    caution(sheet, cautions.CUSTODY, size=9)
    return bytes(sheet.output())


@dataclass(frozen=True, slots=True)
class ChangedContest:
    """A contest that changed, with what came in and which units were corrected over the same ballots."""

    change: ContestChange
    came: tuple[str, ...]
    corrected: tuple[str, ...]


def changes_pdf(
    office: str,
    heading: str,
    about: str,
    contests: Sequence[ChangedContest],
    entries: Sequence[tuple[str, str]],
    practice: bool,
) -> bytes:
    """What changed between two editions, or since one: whole blocks, contest by contest, then the entries (number, words) that it comes from."""
    sheet = _sheet(heading, office, practice)
    title(sheet, heading, 16, right=RIGHT - sheet.stamped)
    sheet.say(f"{office}. {about}", 10.5)
    sheet.down(2)
    for one in contests:
        sheet.room(34)
        sheet.say(
            one.change.contest.title + (f", {one.change.contest.group}" if one.change.contest.group else ""), 11, True
        )
        for words in one.came:
            sheet.say(f"Came in. {words}", 9.5)
        if one.corrected:
            sheet.say(f"Corrected, over the same ballots: {', '.join(one.corrected)}", 9.5)
        rows = [
            (line.words, _figure(line.before), _figure(line.after), f"{line.apart:+,}" if line.apart else "0")
            for line in one.change.lines
        ]
        table(sheet, CHANGED, rows, size=9.5)
        sheet.down(1)
    if not contests:
        sheet.say("No figure changed.", 10.5)
    if entries:
        sheet.room(24)
        title(sheet, "Because of what")
        table(sheet, (Column("Entry", 1, "R"), Column("What was kept", 8)), entries, size=9.5)
    return bytes(sheet.output())


def _sheet(name: str, office: str, practice: bool) -> PaperSheet:
    sheet = PaperSheet(name, f"{office}  ·  {name}", ("Practice",) if practice else (), 9)
    sheet.again = f"{name}, continued"
    sheet.leaf()
    return sheet


def _figure(n: int | None) -> str:
    return "" if n is None else f"{n:,}"
