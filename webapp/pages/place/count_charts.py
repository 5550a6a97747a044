"""The two charts of Count as plain facts for SVG in percentages: counter against poll book, and people between the two. A table has the same figures."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from webapp.precinct.day.hours import wall
from webapp.precinct.day.readings import Reading
from webapp.precinct.numbers import few
from webapp.precinct.place.place import Place

LEFT, WIDE = 8, 90  # per cent: where the hours begin, and how much of the width they take
HOUR = 3_600_000


@dataclass(frozen=True, slots=True)
class ChartPoint:
    x: float
    counter: float
    check_ins: float


@dataclass(frozen=True, slots=True)
class Chart:
    """Readings in per cent of a square: x from opening to close, y from 0 at the foot. `ticks` = ((y, figure), ...), `hours` = ((x, hour), ...)."""

    points: tuple[ChartPoint, ...]
    ticks: tuple[tuple[float, int], ...]
    hours: tuple[tuple[float, str], ...]
    check_ins: int  # of the newest reading, beside the bracket
    counter: int
    said: str  # the newest reading in a sentence

    @property
    def gap(self) -> int:
        return self.check_ins - self.counter


@dataclass(frozen=True, slots=True)
class Bar:
    """One reading: `between` by the figures at `y`, heads counted at `heads`, in per cent; `n` = the figure."""

    x: float
    y: float
    heads: float
    n: int
    differs: bool


@dataclass(frozen=True, slots=True)
class Between:
    """People between check-in and tabulator. `zero` = height of 0 in per cent; below it, hatched, more ballots than check-ins."""

    bars: tuple[Bar, ...]
    zero: float
    hours: tuple[tuple[float, str], ...]
    said: str


def chart(place: Place, readings: Sequence[Reading], closes: int) -> Chart:
    """Counter against poll book, by reading."""
    last = readings[-1]
    most = max([r.check_ins for r in readings] + [r.counter for r in readings] + [1])
    step = next(s for s in (5, 10, 25, 50, 100, 200, 250, 500, 1000, 2500, 5000, 10000, 10**6, 10**9) if most / s <= 4)
    top = -(-most // step) * step

    def y(n: int) -> float:
        return round(92 - 86 * n / top, 2)

    x = _across(place, closes)
    return Chart(
        tuple(ChartPoint(x(r.hour), y(r.counter), y(r.check_ins)) for r in readings),
        tuple((y(n), n) for n in range(0, top + 1, step)),
        _hours(place, closes),
        last.check_ins,
        last.counter,
        _newest(place, last),
    )


def between(place: Place, readings: Sequence[Reading], closes: int) -> Between:
    """By the figures against heads counted. One scale for both, with room below 0 for the alarm."""
    most = max([r.between for r in readings] + [r.in_hand for r in readings] + [4])
    least = min([r.between for r in readings] + [-most // 4])

    def y(n: int) -> float:
        return round(14 + 72 * (most - n) / (most - least), 2)

    x = _across(place, closes)
    differ = sum(r.between != r.in_hand for r in readings)
    agree = (
        "All agree."
        if not differ
        else f"{differ} of {few(len(readings), 'reading')} differ{'s' if differ == 1 else ''}."
    )
    return Between(
        tuple(Bar(x(r.hour), y(r.between), y(r.in_hand), r.between, r.between != r.in_hand) for r in readings),
        y(0),
        _hours(place, closes),
        agree,
    )


def _across(place: Place, closes: int) -> Callable[[int], float]:
    """x of a moment, in per cent."""
    opens = place.at(place.opens)
    return lambda ms: round(LEFT + WIDE * min(max((ms - opens) / max(closes - opens, 1), 0), 1), 2)


def _hours(place: Place, closes: int) -> tuple[tuple[float, str], ...]:
    """Every third hour from the opening: "13", or "1 pm"."""
    x, opens = _across(place, closes), place.at(place.opens)
    found = range(opens - opens % HOUR, closes + 1, 3 * HOUR)
    return tuple((x(ms), wall(place, ms).replace(":00", "")) for ms in found if ms >= opens)


def _newest(place: Place, r: Reading) -> str:
    """ "At 15:00, 7 more check-ins than ballots: 2 set aside and in the book, 5 between by the figures." """
    gap = r.check_ins - r.counter
    if gap < 0:
        return f"At {wall(place, r.hour)}, {few(-gap, 'more ballot', 'more ballots')} than check-ins."
    parts = ([f"{r.aside:,} set aside and in the book"] if r.aside else []) + [f"{r.between:,} between by the figures"]
    return (
        f"At {wall(place, r.hour)}, {few(gap, 'more check-in', 'more check-ins')} than ballots: {', '.join(parts)}."
        if gap
        else f"At {wall(place, r.hour)}, as many ballots as check-ins."
    )
