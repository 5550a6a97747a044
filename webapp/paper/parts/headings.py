"""Begins a paper: place, day and hours in words, and an empty sheet of this place."""

from webapp.paper.parts.sheet import PaperSheet
from webapp.precinct.numbers import on_clock
from webapp.precinct.place.place import Place


def date_words(place: Place) -> str:
    """A date in words: "Tuesday, 3 November 2026"."""
    return f"{place.date:%A}, {place.date.day} {place.date:%B %Y}"


def place_head(place: Place) -> str:
    """Place, county, election and day in one line."""
    return ", ".join(filter(None, (f"{place.name} ({place.id})", place.county, place.election, date_words(place))))


def hours_head(place: Place) -> str:
    """The hours of the polls, by the clock of the place."""
    return " to ".join(on_clock(f"{hour:%H:%M}", place.rules.clock) for hour in (place.opens, place.closes))


def sheet_for(place: Place, title: str) -> PaperSheet:
    """An empty sheet of this place; its foot says what it is, practice is stamped on every page."""
    stamps = ("Practice",) if place.mode == "practice" else ()
    return PaperSheet(f"{title}, {place.name}", f"{place.name}, {place.id}  ·  {title}", stamps, 9)
