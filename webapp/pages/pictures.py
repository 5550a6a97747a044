"""Pictures as plain facts for SVG in percentages: the day's line, and counter against poll book. The words beside them say the same."""

from collections.abc import Sequence
from dataclasses import dataclass

from webapp.precinct import checklist
from webapp.precinct.checklist import Task
from webapp.precinct.counts import Reading
from webapp.precinct.hours import wall
from webapp.precinct.place import Place

SPANS = (("opening", 0, 20), ("voting", 20, 60), ("closing", 60, 80), ("hand-over", 80, 100))


@dataclass(frozen=True, slots=True)
class Span:
    """One stretch of the day's line, in per cent of its width: how much of it is done, and what its end says."""

    title: str
    begin: float
    end: float
    done: float
    words: str


@dataclass(frozen=True, slots=True)
class DayLine:
    spans: tuple[Span, ...]
    here: float                     # where now is, in per cent
    said: str                       # the same as a sentence


def day_line(place: Place, day, tasks: Sequence[Task], now: int) -> DayLine:
    """Opening, voting, closing and hand-over with what is done of each."""
    spans, here = [], 0.0
    for name, begin, end in SPANS:
        mine = [t for t in tasks if t.step.list == name and not t.step.optional]
        part = sum(t.state in ("done", "missed", "shut") for t in mine) / max(len(mine), 1)
        if name == "voting":
            opens, closes = place.at(place.opens), checklist.closing_hour(place, day)
            part = min(max((now - opens) / max(closes - opens, 1), 0), 1) if day.opened else 0.0
        words = {"voting": f"{wall(place, place.at(place.opens))} to {wall(place, checklist.closing_hour(place, day))}"}.get(name, f"{sum(t.state == 'done' for t in mine)} of {len(mine)}")
        spans.append(Span(dict(checklist.LISTS)[name], begin, end, begin + (end - begin) * part, words))
        if part:
            here = begin + (end - begin) * part
    return DayLine(tuple(spans), here, "; ".join(f"{s.title} {s.words}" for s in spans))


@dataclass(frozen=True, slots=True)
class Point:
    x: float
    counter: float
    check_ins: float


@dataclass(frozen=True, slots=True)
class Chart:
    """Readings in per cent of a square: x from opening to close, y from 0 at the foot. `ticks` = ((y, figure), ...), `hours` = ((x, hour), ...)."""

    points: tuple[Point, ...]
    ticks: tuple[tuple[float, int], ...]
    hours: tuple[tuple[float, str], ...]


def chart(place: Place, readings: Sequence[Reading], closes: int) -> Chart:
    """Counter against poll book, by reading."""
    opens = place.at(place.opens)
    most = max([r.check_ins for r in readings] + [r.counter for r in readings] + [1])
    step = next(s for s in (5, 10, 25, 50, 100, 200, 250, 500, 1000, 2500, 5000, 10000, 10**6) if most / s <= 4)
    top = -(-most // step) * step

    def x(ms: int) -> float:
        return round(8 + 90 * (ms - opens) / max(closes - opens, 1), 2)

    def y(n: int) -> float:
        return round(92 - 86 * n / top, 2)

    hours = range(opens - opens % 3_600_000, closes + 1, 3 * 3_600_000)
    return Chart(tuple(Point(x(r.hour), y(r.counter), y(r.check_ins)) for r in readings), tuple((y(n), n) for n in range(0, top + 1, step)),
                 tuple((x(h), checklist_hour(place, h)) for h in hours if h >= opens))


def checklist_hour(place: Place, ms: int) -> str:
    """The hour below the chart: "13", or "1 pm"."""
    return wall(place, ms).replace(":00", "")
