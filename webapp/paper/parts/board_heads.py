"""The head of a count board's paper: what it is, which board, what it is for."""

from webapp.paper.parts.headings import place_head
from webapp.paper.parts.sheet import LEFT, RIGHT, PaperSheet
from webapp.paper.parts.write_in_parts import LEAST
from webapp.precinct.place.place import Place


def head(sheet: PaperSheet, place: Place, words: str, what_for: str) -> None:
    """Prints the head of a page: title, place, and a line that says what the page is for."""
    sheet.say(words, 18, True, x=LEFT, right=RIGHT - sheet.stamped)
    sheet.say(place_head(place), LEAST, x=LEFT, right=RIGHT - sheet.stamped)
    sheet.down(1)
    sheet.say(what_for, 10, x=LEFT)
    sheet.down(2)
