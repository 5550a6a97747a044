"""How many came: people and ballots an hour by the last readings, and the share of registered voters where the place file says how many there are.

Counts of ballots by the hour are safe to show; votes by the hour would not be, and are nowhere.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

from webapp.precinct.day.day import Day
from webapp.precinct.place.place import Place

HOUR = 3_600_000
A_WHILE = 20 * 60_000  # readings nearer to each other than this say nothing about an hour


@dataclass(frozen=True, slots=True)
class Turnout:
    """By the newest reading (`time`, ms UTC): ballots on the counters and check-ins; ballots an hour since `since` and since the opening;
    `registered` voters (None: not all known), `shares` of them by precinct, each from 0 to 1."""

    time: int
    ballots: int
    check_ins: int
    since: int
    per_hour: float
    all_day: float
    registered: int | None = None
    shares: Mapping[str, float] = field(default_factory=dict)

    @property
    def share(self) -> float | None:
        """Check-ins as a share of registered voters, 0 to 1; None where not all are known."""
        return None if self.registered is None else self.check_ins / self.registered


def turnout(place: Place, day: Day) -> Turnout | None:
    """Turnout by the newest reading; None before the first."""
    if not day.readings:
        return None
    now, (since, _, before) = day.readings[-1], _earlier(place, day)
    opened = day.opened or place.at(place.opens)
    registered = [p.registered for p in place.precincts]
    books: Mapping[str, int] = next(
        (k.body.get("check_ins", {}) for k in day.of("hourly") if k.number == now.number), {}
    )
    shares = {p.id: books[p.id] / p.registered for p in place.precincts if p.registered and p.id in books}
    return Turnout(
        now.time,
        now.counter,
        now.check_ins,
        since,
        _rate(now.counter - before, now.time - since),
        _rate(now.counter, now.time - opened),
        None if None in registered else sum(n or 0 for n in registered),
        shares,
    )


def pace(place: Place, day: Day) -> float:
    """People who check in an hour, since the reading before the newest; 0 before the first."""
    if not day.readings:
        return 0.0
    now, (since, before, _) = day.readings[-1], _earlier(place, day)
    return _rate(now.check_ins - before, now.time - since)


def _earlier(place: Place, day: Day) -> tuple[int, int, int]:
    """(time, check-ins, counter) at the last reading that is a while older than the newest; at the opening there were none of either."""
    now = day.readings[-1]
    older = [(r.time, r.check_ins, r.counter) for r in day.readings[:-1] if r.time <= now.time - A_WHILE]
    return older[-1] if older else (day.opened or place.at(place.opens), 0, 0)


def _rate(n: int, ms: int) -> float:
    return max(n, 0) * HOUR / max(ms, A_WHILE)
