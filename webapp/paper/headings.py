"""How a paper says which place and which day it is for, and begins its sheets."""

from webapp.paper.sheet import PaperSheet
from webapp.precinct.day.hours import on_clock
from webapp.precinct.place.place import Place


def date_words(place: Place) -> str:
    """ "Tuesday, 3 November 2026"."""
    return f"{place.date:%A}, {place.date.day} {place.date:%B %Y}"


def place_head(place: Place) -> str:
    """Place, county, election and day in one line."""
    return ", ".join(filter(None, (f"{place.name} ({place.id})", place.county, place.election, date_words(place))))


def hours_head(place: Place) -> str:
    """From when to when the polls are open, as people here read the clock."""
    return on_clock(f"{place.opens:%H:%M} to {place.closes:%H:%M}", place.rules.clock)


def sheet_for(place: Place, title: str) -> PaperSheet:
    """An empty sheet of this place: its foot says what it is; practice is stamped on every page."""
    stamps = ("Practice",) if place.mode == "practice" else ()
    return PaperSheet(f"{title}, {place.name}", f"{place.name}, {place.id}  ·  {title}", stamps, 9)
