"""The lines ahead: check-in, booths and tabulators at the rate at which people came in the last hour, in words.

The place file says how many stations there are and how long one voter takes (`[queue]`); booths as they were set up this morning come
first. Whatever it leaves out is reckoned with the trade's usual figures, and is said to be. A hint, no more: people come in waves.
"""

from dataclasses import dataclass

from webapp.precinct.day import out_of_use
from webapp.precinct.day.day import Day
from webapp.precinct.day.hours import closing_hour
from webapp.precinct.numbers import few
from webapp.precinct.place.default_steps import steps
from webapp.precinct.place.place import Place
from webapp.precinct.reports.mmc_queue import TEN_MINUTES, Queue, in_a_day, least, queue
from webapp.precinct.reports.turnout import pace

MINUTE_MS = 60_000
CHECK_IN_SECONDS, BOOTH_SECONDS, TABULATOR_SECONDS = (
    120,
    360,
    45,
)  # the worked figures of a published planning model: 2, 6 and 0.75 minutes
MORE = {
    "Check-in": "Open another station if there is one.",
    "Booths": "Set up another booth, or a table with a screen.",
    "Tabulators": "Ask the office for another tabulator.",
}

ONE = {"Check-in": "check-in station", "Booths": "booth", "Tabulators": "tabulator"}


@dataclass(frozen=True, slots=True)
class QueueForecast:
    """The line at one sort of station. `queue` is None where nobody said how many there are; `enough` = stations at which at most 1 voter in
    20 waits longer than ten minutes; `usual`: reckoned with the trade's time for one voter; `long`: more than ten minutes, or it grows."""

    where: str
    queue: Queue | None
    enough: int
    usual: bool
    long: bool
    says: str


def waits(place: Place, day: Day) -> tuple[QueueForecast, ...]:
    """The forecast for check-in, booths and tabulators; () before the first reading, and where nobody comes."""
    per_hour = pace(place, day)
    if not per_hour:
        return ()
    return tuple(
        _wait(where, per_hour, stations, seconds or usual, seconds is None)
        for where, stations, seconds, usual in _rows(place, day)
        if stations != 0
    )


def _rows(place: Place, day: Day) -> tuple[tuple[str, int | None, float | None, float], ...]:
    """(where, stations or None, seconds of one voter as the place file says or None, the trade's usual seconds) of each sort."""
    given = place.queue
    return (
        ("Check-in", given.check_in_stations, given.check_in_seconds, CHECK_IN_SECONDS),
        ("Booths", booths(place, day), given.booth_minutes and given.booth_minutes * 60, BOOTH_SECONDS),
        ("Tabulators", _in_use(place, day), given.tabulator_seconds, TABULATOR_SECONDS),
    )


def whole_day(place: Place, day: Day) -> str:
    """In words, how many voters the whole day takes without a long line, by the slowest kind of station; "" without numbers."""
    minutes = (closing_hour(place, day) - place.at(place.opens)) / MINUTE_MS
    takes = [
        (stations * in_a_day(minutes, seconds / 60), where, stations)
        for where, stations, seconds, _ in _rows(place, day)
        if stations and seconds
    ]
    if not takes:
        return ""
    voters, where, stations = min(takes)
    return f"{few(stations, ONE[where])} serve{'s' if stations == 1 else ''} about {voters:,} voters in a day without a long line."


def booths(place: Place, day: Day) -> int | None:
    """Booths as set up this morning, else as the place file says."""
    kept = day.last("room-view")
    return (kept.body.get("booths") if kept else None) or place.queue.booths


def _in_use(place: Place, day: Day) -> int:
    """The tabulators that count ballots now."""
    listed = steps(place)
    return sum(
        not out_of_use.shut(place, day, t.id, listed) and out_of_use.out_with(day, t.id) is None
        for t in place.tabulators
    )


def _wait(where: str, per_hour: float, stations: int | None, seconds: float, usual: bool) -> QueueForecast:
    enough = least(per_hour, seconds).stations
    if stations is None:
        return QueueForecast(
            where,
            None,
            enough,
            usual,
            False,
            f"{where}: the place file does not say how many. At {per_hour:.0f} an hour {enough} {'is' if enough == 1 else 'are'} enough.",
        )
    line = queue(per_hour, seconds, stations)
    long = line.mean is None or line.mean > TEN_MINUTES
    more = f" {enough} would be enough. {MORE[where]}" if long else ""
    if line.mean is None:
        head = "more arrive" if line.load > 1 else "as many arrive"
        than = "than" if line.load > 1 else "as"
        return QueueForecast(
            where,
            line,
            enough,
            usual,
            long,
            f"{where}: {head} {than} can be served, {per_hour:.0f} an hour at {stations} that serve {line.serves:.0f}. "
            f"The line grows until fewer come.{more}",
        )
    return QueueForecast(
        where,
        line,
        enough,
        usual,
        long,
        f"{where}: {about(line.mean)} at {per_hour:.0f} an hour, {few(stations, 'station')} busy {line.load:.0%} of the time.{more}",
    )


def about(seconds: float) -> str:
    """A mean wait in words."""
    if seconds < 30:
        return "next to no wait"
    return "less than a minute's wait" if seconds < 60 else f"about {few(round(seconds / 60), 'minute')} to wait"
