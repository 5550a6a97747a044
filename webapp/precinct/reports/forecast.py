"""What the readings say of the hours ahead: until when ballots last, how long the battery holds. Estimates only, for ordering in time.

Hours left = unused / hourly rate. More are ordered when what is left, less those held back as masters for copies, would not last to the
close with a quarter to spare: U - reserve < rate x hours to close x 1.25 (common practice, no source; hourly ballots used and left: Conn.
emergency plan, Reg. 9-174a-17).
"""

from collections.abc import Iterator
from dataclasses import dataclass

from webapp.precinct.account.ballot_stock import plain
from webapp.precinct.day.current_entry import CurrentEntry
from webapp.precinct.day.day import Day
from webapp.precinct.day.hours import closing_hour, wall
from webapp.precinct.day.readings import Reading
from webapp.precinct.place.place import Place

MINUTE, HOUR = 60_000, 3_600_000
SPARE = 1.25  # what is left should last a quarter longer than to the close


@dataclass(frozen=True, slots=True)
class Supply:
    """Ballots of one style ("" for the only one): left at `time` (ms UTC), used an hour, until when they last (None: no use yet). `counted`:
    by hand at that reading, else reckoned from the check-ins."""

    style: str
    left: int
    per_hour: float
    time: int
    until: int | None
    short: bool
    counted: bool
    says: str


@dataclass(frozen=True, slots=True)
class ForecastPoint:
    """A style's pile at one moment: ballots that had come by then, and left."""

    time: int
    came: int
    left: int
    counted: bool


def supplies(place: Place, day: Day) -> tuple[Supply, ...]:
    """What is left of each style by the newest reading that says it, and until when it lasts at the rate since the reading before."""
    piles = ((stock.style, list(_points(place, day, stock.style))) for stock in place.stock)
    return tuple(_supply(place, day, style, points) for style, points in piles if len(points) > 1)


def _points(place: Place, day: Day, style: str) -> Iterator[ForecastPoint]:
    """The pile at the opening and at each reading that says it; reckoned from check-ins where nobody counted."""
    opening = day.last("packs")
    received = (opening.body.get("received", {}) if opening else {}).get(
        style, next(s.received for s in place.stock if s.style == style)
    )
    moved = [
        (k.number, sign * plain(k.body["ballots"]))
        for kind, sign in (("resupply", 1), ("sent", -1))
        for k in day.of(kind)
        if not k.not_so and k.body.get("style") == style and k.body.get("origin") != "copy"
    ]
    read = {k.number: k for k in day.of("hourly")}
    yield ForecastPoint(day.opened or place.at(place.opens), received, received, True)
    for reading in day.readings:
        came = received + sum(n for number, n in moved if number < reading.number)
        left = read[reading.number].body.get("unused", {}).get(style)
        used = None if left is not None else _used(place, reading, read[reading.number], style)
        if left is not None or used is not None:
            yield ForecastPoint(reading.time, came, max(came - used, 0) if left is None else left, left is not None)


def _used(place: Place, reading: Reading, kept: CurrentEntry, style: str) -> int | None:
    """Ballots handed out by a reading: one for each check-in of the precincts that vote this style alone; None where several styles share one.
    Those spoiled or provisional come on top; only a count of the pile tells them."""
    if len(place.stock) == 1:
        return max(reading.check_ins, reading.counter + reading.in_hand)
    mine = next((s.precincts for s in place.styles if s.id == style), ())
    alone = mine and all(style == other.id or not set(mine) & set(other.precincts) for other in place.styles)
    books = kept.body.get("check_ins", {})
    return sum(books[book] for book in mine) if alone and set(mine) <= set(books) else None


def _supply(place: Place, day: Day, style: str, points: list[ForecastPoint]) -> Supply:
    before, now = points[-2:]
    per_hour = max((now.came - now.left) - (before.came - before.left), 0) / max(
        (now.time - before.time) / HOUR, 1 / 60
    )
    closes = closing_hour(place, day)
    to_close = max(closes - now.time, 0) / HOUR
    until = now.time + int(now.left / per_hour * HOUR) if per_hour else None
    reserve = _reserve(day)
    short = bool(per_hour) and now.left - reserve < per_hour * to_close * SPARE
    name = f" of style {style}" if len(place.stock) > 1 else ""
    held = f", {reserve} of them held back as masters" if reserve else ""
    says = (
        f"{now.left:,} ballots{name} left at {wall(place, now.time)}{'' if now.counted else ' by the check-ins'}{held}, "
        f"{per_hour:.0f} an hour since {wall(place, before.time)}"
    )
    little = ", with less than a quarter to spare" if short else ""
    lasts = (
        ""
        if until is None
        else f": they last until {wall(place, until)}"
        if until < closes
        else f": they last past {wall(place, closes)}{little}"
    )
    return Supply(
        style if name else "",
        now.left,
        per_hour,
        now.time,
        until,
        short,
        now.counted,
        says + lasts + (". Order more now." if short else "."),
    )


def _reserve(day: Day) -> int:
    """Ballots held back as masters; of which style nobody asks, so every style is held to the whole of it."""
    opening = day.last("packs")
    return opening.body.get("masters") or 0 if opening else 0


@dataclass(frozen=True, slots=True)
class Battery:
    """Until when the batteries hold (ms UTC): by what the screen of the weakest showed, where one was read (`shown`), else by the place file's hours."""

    until: int
    shown: bool

    @property
    def by(self) -> str:
        return "what the screens showed" if self.shown else "the hours in the place file"


def battery(place: Place, day: Day) -> Battery | None:
    """Until when the batteries last; None while the power is on or something else supplies it."""
    lost, back = day.last("power-lost"), day.last("power-back")
    if lost is None or (back and back.number > lost.number) or lost.body.get("runs_on") != "battery":
        return None
    shown = lost.body.get("minutes_left")
    lasts = min(shown.values()) * MINUTE if shown else place.rules.battery_hours * HOUR
    return Battery(lost.body.get("time", lost.time) + lasts, bool(shown))
