"""The hours of one day: when the polls close by the last order, and at which hours a reading is due."""

from datetime import datetime
from functools import lru_cache
from zoneinfo import ZoneInfo

from webapp.precinct.numbers import on_clock
from webapp.precinct.place.place import Place
from webapp.precinct.place.step import DayView, EntryView

MINUTE = 60_000
HOUR = 60 * MINUTE


def closing_hour(place: Place, day: DayView) -> int:
    """The hour in force, ms UTC: the place file's, or that of the last instruction that changed the hours."""
    orders = [k.body["closes"] for k in in_force(day) if k.body.get("changes") == "hours" and k.body.get("closes")]
    return orders[-1] if orders else place.at(place.closes)


def in_force(day: DayView) -> list[EntryView]:
    """The instructions that hold: all but those kept as an exception, which are in doubt."""
    return [k for k in day.kept.get("instruction", ()) if not k.not_so]


def hours(place: Place, day: DayView) -> tuple[int, ...]:
    """The full hours of voting at which a reading is due, ms UTC: after the opening, before the hour in force."""
    begin, end = place.at(place.opens), closing_hour(place, day)
    first = begin + HOUR - place.opens.minute * MINUTE
    return tuple(range(first, end, HOUR))


def clock(place: Place, ms: int) -> str:
    """Wall-clock time HH:MM of a moment, in the place's zone."""
    return _clock(ms, place.zone)


@lru_cache(maxsize=4096)
def _clock(ms: int, zone: str) -> str:
    return datetime.fromtimestamp(ms / 1000, ZoneInfo(zone)).strftime("%H:%M")


def wall(place: Place, ms: int) -> str:
    """A moment (ms UTC) as people here read it: "20:00", or "8:00 pm" where the place file asks for a 12-hour clock."""
    return on_clock(clock(place, ms), place.rules.clock)


def full_hour(ms: int) -> int:
    """Start of the full hour UTC in which this time is, ms UTC; by a clock that is half an hour off, the half hour."""
    return ms - ms % HOUR
