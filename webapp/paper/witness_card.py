"""The witness's card: the check words of the day in one's own hand, kept by the *other* party, away from the laptop and the case.

Blank before the day, made from the place file: a row for each moment at which this place's checklists ask for the words. Two to a sheet, to be
cut apart; a place with many tabulators has one to a sheet.
"""

from webapp.packet.print_content import MARKED
from webapp.paper.parts.headings import place_head, sheet_for
from webapp.paper.parts.sheet import LEFT, RIGHT, TOP, PaperSheet
from webapp.paper.parts.write_in_parts import LEAST, blank, captioned, squares
from webapp.precinct.checklist.checklist import ats, fill, steps
from webapp.precinct.place.place import Place

NAME = "Witness’s card"
HALF = 132.0  # mm from the head of one card to the head of the next
ROW = 9.6  # mm a moment
FOR_HALF = 6  # moments that half a sheet holds
GROUPS = (4, 4, 4)
WHAT_FOR = (
    "At each moment below the laptop shows twelve letters and digits, the check words: a short form of everything that was recorded up to then. Copy them by hand, "
    "let somebody read them back aloud, and keep this card with you, never in the case and never with the laptop. If a line is changed afterwards, the words that "
    "the office works out are no longer yours, and nobody can hide it, not even the owner of the laptop."
)
AFTER = (
    "Afterwards: at the desk or the canvass, compare your words with page 1 of the summary packet. The last character tells a slip of the pen from another record. "
    "Another record: say so aloud, and give this card to nobody before it was copied. The letters I, L and O never occur: read 1, 1 and 0. The last character may also be U or one of * ~ $ =."
)
KEPT_BY = "Kept by an official or witness of another party than the person who keeps the laptop"


def moments(place: Place) -> tuple[str, ...]:
    """The moments at which check words are copied at this place, in the order of the day."""
    found = []
    for step in steps(place):
        if step.field("words_copied"):
            for at in ats(step, place):
                words = MARKED.get(step.id, fill(step, place, at).says or step.title)
                found.append(words[:1].upper() + words[1:] + (f" of {at}" if at and step.id in MARKED else ""))
    return tuple(found)


def card_pdf(place: Place) -> bytes:
    """The card as a PDF."""
    sheet = sheet_for(place, NAME)
    pages(sheet, place)
    return bytes(sheet.output())


def pages(sheet: PaperSheet, place: Place) -> None:
    """Draw one sheet: two cards where they fit, with a dashed line between them to cut along."""
    rows = moments(place)
    sheet.leaf(ruled=False)
    _card(sheet, place, rows, TOP)
    if len(rows) <= FOR_HALF:
        sheet.set_line_width(0.15)
        sheet.set_dash_pattern(dash=3, gap=2)
        sheet.line(0, TOP + HALF - 5, sheet.w, TOP + HALF - 5)
        sheet.set_dash_pattern()
        _card(sheet, place, rows, TOP + HALF)


def _card(sheet: PaperSheet, place: Place, rows: tuple[str, ...], top: float) -> None:
    right = RIGHT - (sheet.stamped if top == TOP else 0)
    sheet.set_y(top)
    sheet.say(NAME + (", practice" if place.mode == "practice" and top != TOP else ""), 14, True, x=LEFT, right=right)
    sheet.say(place_head(place), 10, x=LEFT, right=right)
    sheet.down(0.8)
    sheet.say(WHAT_FOR, LEAST, x=LEFT, lead=1.2)
    sheet.down(0.5)
    captioned(sheet, ((f"{KEPT_BY}: name", 7), ("party", 2), ("telephone", 2)), LEFT, height=6.5)
    sheet.down(0.5)
    _heads(sheet)
    for words in (*rows, ""):
        _moment(sheet, words)
    sheet.down(0.8)
    sheet.say(AFTER, LEAST, x=LEFT, lead=1.2)


TIME, ENTRY, WORDS, READ = LEFT + 40, LEFT + 59, LEFT + 78, LEFT + 166  # mm: where each part of a row begins


def _heads(sheet: PaperSheet) -> None:
    top = sheet.get_y()
    for words, x, right in (
        ("Moment", LEFT, TIME),
        ("Time", TIME, ENTRY),
        ("To entry", ENTRY, WORDS),
        ("Check words", WORDS, READ),
        ("Read back by", READ - 3, RIGHT),
    ):
        sheet.set_y(top)
        sheet.say(words, LEAST, True, x=x, right=right)
    sheet.down(0.3)
    sheet.rule(0.3, LEFT)


def _moment(sheet: PaperSheet, words: str) -> None:
    """Draw one row. The last has no moment: for words copied once more, or by a relief."""
    top = sheet.get_y()
    sheet.set_y(top + 2.4)
    sheet.say(words or "Another time:", 10, bool(words), x=LEFT, right=TIME)
    for x, end in ((TIME, ENTRY - 3), (ENTRY, WORDS - 4), (READ, RIGHT)):
        blank(sheet, x, end, top + 7.6)
    squares(sheet, WORDS, top + 1.2, GROUPS, side=6.4)
    sheet.set_y(top + ROW)
