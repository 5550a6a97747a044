"""What the readings say of the hours ahead: until when ballots last, how long a queue will wait, how long the battery holds.

Estimates only, for ordering in time; nothing here is kept. Ballots: hours left = unused / hourly rate, warned of when what is left would not
last to the close with a quarter to spare (common practice, no source). Queue: the M/M/c model (arrivals and times by chance, c stations).
"""

from dataclasses import dataclass
from math import exp
from typing import TYPE_CHECKING

from webapp.precinct.paper_stock import plain
from webapp.precinct.place import Place
from webapp.precinct.readings import Reading
from webapp.precinct.hours import closing_hour, wall

if TYPE_CHECKING:
    from webapp.precinct.day import Day

HOUR = 3_600_000
SPARE = 1.25                    # what is left should last a quarter longer than to the close


@dataclass(frozen=True, slots=True)
class Supply:
    """Ballots of one style ("" for the only one): left at `time` (ms UTC), used an hour, until when they last (None: no use yet)."""

    style: str
    left: int
    per_hour: float
    time: int
    until: int | None
    short: bool
    says: str


@dataclass(frozen=True, slots=True)
class Queue:
    """Waiting at stations of one sort. `load` = share of time each is busy; the rest is None where the queue would grow without end."""

    load: float
    waits: float | None             # share of people who wait at all
    minutes: float | None           # mean wait
    over_ten: float | None          # share of people who wait more than 10 minutes


def supplies(place: Place, day: "Day") -> tuple[Supply, ...]:
    """What is left of each style by the newest reading that tells, and until when it lasts at the rate since the one before."""
    found = []
    for stock in place.stock:
        points = _points(place, day, stock.style)
        if len(points) > 1:
            found.append(_supply(place, day, stock.style if len(place.stock) > 1 else "", points))
    return tuple(found)


def _points(place: Place, day: "Day", style: str) -> list[tuple[int, int, int]]:
    """(time, ballots that had come, ballots left) at the opening and at each reading that tells; reckoned from the counters where nobody counted and there is one style."""
    opening = day.last("packs")
    received = (opening.body.get("received", {}) if opening else {}).get(style, next(s.received for s in place.stock if s.style == style))
    moved = [(k.number, sign * plain(k.body["ballots"])) for kind, sign in (("resupply", 1), ("sent", -1)) for k in day.of(kind)
             if not k.not_so and k.body.get("style") == style and k.body.get("origin") != "copy"]
    read = {k.number: k.body.get("unused", {}).get(style) for k in day.of("hourly")}
    points = [(day.opened or place.at(place.opens), received, received)]
    for reading in day.readings:
        came = received + sum(n for number, n in moved if number < reading.number)
        left = read.get(reading.number)
        if left is None and len(place.stock) == 1:
            left = came - _used(reading)
        if left is not None:
            points.append((reading.time, came, max(left, 0)))
    return points


def _used(reading: Reading) -> int:
    """Ballots handed out by a reading: one for each check-in. Those spoiled or provisional come on top; only a count of the pile tells them."""
    return max(reading.check_ins, reading.counter + reading.in_hand)


def _supply(place: Place, day: "Day", style: str, points: list[tuple[int, int, int]]) -> Supply:
    (before, had_come, had), (time, came, left) = points[-2:]
    per_hour = max((came - left) - (had_come - had), 0) / max((time - before) / HOUR, 1 / 60)
    to_close = max(closing_hour(place, day) - time, 0) / HOUR
    until = time + int(left / per_hour * HOUR) if per_hour else None
    short = bool(per_hour) and left < per_hour * to_close * SPARE
    name = f" of style {style}" if style else ""
    says = f"{left:,} ballots{name} left at {wall(place, time)}, {per_hour:.0f} an hour since {wall(place, before)}"
    if until is None:
        return Supply(style, left, 0.0, time, None, False, says + ".")
    lasts = f": they last until {wall(place, until)}" if until < time + 24 * HOUR else ": they last the day"
    return Supply(style, left, per_hour, time, until, short, says + lasts + (". Order more now." if short else "."))


def queue(per_hour: float, minutes_each: float, stations: int) -> Queue:
    """People arriving an hour, minutes each takes, stations side by side: Erlang's C, Wq = C / (c mu - lambda), P(W > t) = C exp(-(c mu - lambda) t)."""
    if per_hour < 0 or minutes_each <= 0 or stations < 1:
        raise ValueError("people an hour from 0 up, minutes above 0, stations from 1 up")
    offered = per_hour * minutes_each / 60
    load = offered / stations
    if load >= 1:
        return Queue(load, None, None, None)
    term, below = 1.0, 0.0
    for k in range(stations):
        below += term
        term *= offered / (k + 1)
    top = term / (1 - load)
    waits = top / (below + top)
    spare = (stations * 60 / minutes_each - per_hour) / 60      # people a minute
    return Queue(load, waits, waits / spare, waits * exp(-spare * 10))


def battery(place: Place, day: "Day") -> int | None:
    """Until when the battery holds (ms UTC) by the place file's hours; None while the power is on or something else supplies it."""
    lost, back = day.last("power-lost"), day.last("power-back")
    if lost is None or (back and back.number > lost.number) or lost.body.get("runs_on") != "battery":
        return None
    return lost.body.get("time", lost.time) + place.rules.battery_hours * HOUR
