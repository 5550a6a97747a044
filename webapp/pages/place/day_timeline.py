"""The day's line from set-up to hand-over, as plain facts for SVG in percentages: what is done, due, overdue, and every exception. A table has the same facts."""

from collections.abc import Sequence
from dataclasses import dataclass

from webapp.precinct.checklist import checklist
from webapp.precinct.checklist.checklist import Task
from webapp.precinct.day.day import Day
from webapp.precinct.day.hours import wall
from webapp.precinct.numbers import few
from webapp.precinct.place.place import Place
from webapp.precinct.place.place_kinds import KINDS

SHARES = {"voting": 2}  # of the line's width: a day of voting is twice as long as each of the other lists
OVER = ("done", "missed", "shut")  # nobody waits for these any more


@dataclass(frozen=True, slots=True)
class Span:
    """One stretch of the line, in per cent of its width: how much of it is done, what its end says, and its counts for the table."""

    title: str
    begin: float
    end: float
    done: float
    words: str
    signed: int  # steps that are kept
    overdue: int
    exceptions: int
    to_come: int


@dataclass(frozen=True, slots=True)
class Tick:
    """One hour's reading, or a step that asks for a look. kind: done | due | overdue | exception | missed."""

    x: float
    kind: str
    title: str
    words: str
    href: str


@dataclass(frozen=True, slots=True)
class DayLine:
    spans: tuple[Span, ...]
    ticks: tuple[Tick, ...]
    here: float  # where now is, in per cent
    now: str  # the wall clock
    said: str  # the same as a sentence

    @property
    def looks(self) -> tuple[Tick, ...]:
        """What is overdue, and what was kept as an exception or short-signed."""
        return tuple(tick for tick in self.ticks if tick.kind in ("overdue", "exception"))


def stretches(place: Place) -> tuple[tuple[str, float, float], ...]:
    """(list, where it begins, where it ends) of each checklist of this kind of place, in per cent of the line's width. One that holds notes alone has no stretch."""
    stepped = {step.list for step in checklist.steps(place) if not step.note}
    lists = [name for name in KINDS[place.kind].lists if name in stepped]
    shares = [SHARES.get(name, 1) for name in lists]
    ends = [round(100 * sum(shares[: i + 1]) / sum(shares), 2) for i in range(len(lists))]
    return tuple(zip(lists, (0.0, *ends), ends))


def day_line(place: Place, day: Day, tasks: Sequence[Task], now: int) -> DayLine:
    """Opening, closing and hand-over by the share of their steps that is done, voting by the clock with a tick for each reading."""
    spans, ticks, here = [], [], 0.0
    for name, begin, end in stretches(place):
        mine = [t for t in tasks if t.step.list == name and not t.step.optional]
        spots = _spots(place, day, mine, name, begin, end)
        done = _done(place, day, mine, name, begin, end, now)
        spans.append(_span(place, day, mine, name, begin, end, done))
        ticks += [tick for task, x in zip(mine, spots) if (tick := _tick(task, x))]
        here = done if done > begin or (name == "voting" and day.opened) else here
    clock = wall(place, now)
    return DayLine(tuple(spans), tuple(ticks), here, clock, _said(spans, ticks, clock))


def _spots(place: Place, day: Day, mine: Sequence[Task], name: str, begin: float, end: float) -> list[float]:
    """The position of each task in percent: a reading at its hour, the others in their order."""
    opens, closes = place.at(place.opens), checklist.closing_hour(place, day)

    def spot(i: int, task: Task) -> float:
        part = (task.due - opens) / max(closes - opens, 1) if name == "voting" and task.due else (i + 0.5) / len(mine)
        return round(begin + (end - begin) * min(max(part, 0), 1), 2)

    return [spot(i, task) for i, task in enumerate(mine)]


def _done(place: Place, day: Day, mine: Sequence[Task], name: str, begin: float, end: float, now: int) -> float:
    part = sum(t.state in OVER for t in mine) / max(len(mine), 1)
    if name == "voting":
        opens, closes = place.at(place.opens), checklist.closing_hour(place, day)
        part = 1 if day.closed else min(max((now - opens) / max(closes - opens, 1), 0), 1) if day.opened else 0.0
    return round(begin + (end - begin) * part, 2)


def _span(place: Place, day: Day, mine: Sequence[Task], name: str, begin: float, end: float, done: float) -> Span:
    signed, over = sum(t.state == "done" for t in mine), sum(t.state == "overdue" for t in mine)
    words = (
        f"{wall(place, place.at(place.opens))} to {wall(place, checklist.closing_hour(place, day))}"
        if name == "voting"
        else f"{signed} of {len(mine)}"
    )
    return Span(
        dict(checklist.LISTS)[name],
        begin,
        end,
        done,
        words,
        signed,
        over,
        sum(t.state == "done" and (t.not_so or t.short) for t in mine),
        sum(t.state not in OVER and t.state != "overdue" for t in mine),
    )


def _tick(task: Task, x: float) -> Tick | None:
    """A mark on the line; none for an ordinary step of opening, closing or hand-over, which the line itself shows."""
    if task.state == "overdue":
        return Tick(x, "overdue", task.title, "overdue", f"/step/{task.key}")
    if task.state == "done" and (task.not_so or task.short):
        both = [words for words, so in (("signed exception", task.not_so), ("short-signed", task.short)) if so]
        return Tick(x, "exception", task.title, ", ".join(both), f"/record/{task.entries[-1]}")
    if task.step.id != "hourly":
        return None
    kind = {"done": "done", "missed": "missed"}.get(task.state, "due")
    return Tick(
        x,
        kind,
        task.title,
        {"done": "signed", "missed": task.opens, "due": task.opens or "due"}[kind],
        f"/record/{task.entries[-1]}" if kind == "done" else "",
    )


def _said(spans: Sequence[Span], ticks: Sequence[Tick], clock: str) -> str:
    """ "Now 15:18. Opening 21 of 21; Voting 07:00 to 20:00, 7 readings signed; ... Overdue: Take the 15:00 reading." """
    read = sum(tick.kind == "done" for tick in ticks)
    told = [
        f"{s.title} {s.words}" + (f", {few(read, 'reading')} signed" if s.title == "Voting" and read else "")
        for s in spans
    ]
    late, odd = ([tick.title for tick in ticks if tick.kind == kind] for kind in ("overdue", "exception"))
    return (
        f"Now {clock}. {'; '.join(told)}."
        + (f" Overdue: {', '.join(late)}." if late else "")
        + (f" {few(len(odd), 'step')} kept as an exception or short-signed." if odd else "")
    )
