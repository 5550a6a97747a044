"""What the page Now says at one moment of a day: what is wrong, what is due, what waits for a signature, until when the polls are open, what comes next.

One pure function, so that every minute of a day can be asked. The table of states, with what Now says in each, is in
`webapp/pages/place/README.md`. From "polls closed" until the closing counts are signed nothing here shows a counter
or a tally.
"""

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from typing import cast

from webapp.precinct.checklist.prerequisites import EARLY
from webapp.precinct.checklist.step_text import page_title
from webapp.precinct.checklist.tasks import closing_hour, why_not
from webapp.precinct.day.day import Day
from webapp.precinct.day.hours import MINUTE, wall
from webapp.precinct.day.readings import Reading
from webapp.precinct.place.place import Place
from webapp.precinct.place.place_kinds import KINDS
from webapp.precinct.place.step import LISTS, DayView, Task
from webapp.precinct.reports import alerts, packet_age
from webapp.precinct.reports.alerts import Alert
from webapp.precinct.reports.bin_fullness import full_bins
from webapp.precinct.reports.ink import unsigned_before_leaving

WITHHELD = "Something of the day is open; it is shown when the counts are signed."
OVER = ("done", "missed", "shut")
CAN = ("next", "overdue", "open")
LINE = 10 * MINUTE  # before the close somebody walks to the end of the line
NOTES = 5


@dataclass(frozen=True, slots=True)
class Waiting:
    """A step that waits for a signature. `keys`: its tasks; `by`: names of those who signed; `until` ms UTC (the latest, where `coarse`);
    `wants`: whom it waits for. `others`: names of those who signed other figures for the same step."""

    id: str
    keys: tuple[str, ...]
    title: str
    by: tuple[str, ...]
    until: int
    wants: str = ""
    coarse: bool = False
    others: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ComingUp:
    """What opens by itself later, and when (ms UTC)."""

    key: str
    at: int
    says: str


@dataclass(frozen=True, slots=True)
class NowState:
    """`kind` names the row of the table in the README. `main` is the alert above all else; `next` the step that can be begun, `signs` the
    signature that this step waits for instead. `due` are other steps that are due; `stands_for` the readings that nobody took."""

    kind: str
    heading: str
    brow: str = ""
    says: tuple[str, ...] = ()
    main: Alert | None = None
    alerts: tuple[Alert, ...] = ()
    withheld: str = ""
    next: Task | None = None
    signs: Waiting | None = None
    stands_for: tuple[Task, ...] = ()
    due: tuple[Task, ...] = ()
    waiting: tuple[Waiting, ...] = ()
    coming: tuple[ComingUp, ...] = ()
    stood: Reading | None = None
    notes: bool = False  # whether the last notes may be shown
    then: tuple[Task, ...] = ()
    done: tuple[Task, ...] = ()

    @property
    def late(self) -> int:
        """Whole minutes by which the next step is overdue."""
        return self.next.late if self.next else 0

    @property
    def offered(self) -> Task | None:
        """The step whose button Now shows; None where it waits for a signature."""
        return None if self.signs else self.next


def due_reading(tasks: Sequence[Task]) -> tuple[Task | None, tuple[Task, ...]]:
    """The reading to take now, and those before it that nobody took: the newest replaces them, since a reading of a past hour cannot be had."""
    waiting = [task for task in tasks if task.step.id == "hourly" and task.state in CAN]
    return (waiting[-1], tuple(waiting[:-1])) if waiting else (None, ())


def now_state(
    place: Place,
    day: Day,
    tasks: Sequence[Task],
    now: int,
    waiting: Sequence[Waiting] = (),
    warnings: Sequence[Alert] = (),
    between: tuple[str, str, str, tuple[str, ...]] | None = None,
) -> NowState:
    """What Now says. `tasks` of this very moment; `warnings`: what others found wrong (tablets, memory, clocks, stick). `now` in ms UTC.
    `between`: kind, heading and words around it while no step is to be signed, where a kind of place has its own."""
    loud = [a for a in warnings if a.urgent]
    figures = sorted((*alerts.of_the_day(place, day), *full_bins(place, day)), key=lambda alert: not alert.urgent)
    wrong = (*loud, *figures, *packet_age.alert(day), *unsigned_before_leaving(place, day))
    wrong = (*wrong, *(a for a in warnings if not a.urgent))
    shown = tuple(a for a in wrong if not (a.figures and day.folded_away))
    main = next((a for a in shown if a.urgent), None)
    nxt, stands_for = _next(place, day, tasks, now)
    signs = next((w for w in waiting if nxt and nxt.key in w.keys), None)
    coming = _coming(place, day, tasks, now) if not nxt else _readings_to_come(place, day, tasks, now)[:1]
    kind, heading, brow, says = _words(place, day, tasks, now, nxt, coming)
    if between and nxt is None and kind != "done":
        kind, heading, brow, says = between
    elif between and nxt is not None:
        says = (*says, *between[3])
    if main:
        kind, heading, says = "alert", main.says, main.more
    elif signs:
        kind, heading, says = "signature", signs.title, ()
    looks = bool(day.opened) and not day.folded_away and not day.last("first-look")
    return NowState(
        kind,
        heading,
        brow,
        says,
        main,
        tuple(a for a in shown if a is not main),
        WITHHELD if len(shown) < len(wrong) else "",
        nxt,
        signs,
        stands_for,
        _due(tasks, nxt, stands_for, waiting),
        tuple(w for w in waiting if w is not signs),
        coming,
        day.readings[-1] if looks and day.readings else None,
        looks,
        _then(tasks, nxt),
        tuple(sorted((t for t in tasks if t.state == "done"), key=lambda t: t.entries[-1])[::-1][:3]),
    )


def _next(place: Place, day: Day, tasks: Sequence[Task], now: int) -> tuple[Task | None, tuple[Task, ...]]:
    """The step to begin now, and the readings that it replaces. Nothing is offered that the laptop would refuse, or long before its hour."""
    reading, over = due_reading(tasks)
    nxt = next((t for t in tasks if t.state in ("next", "overdue") and not t.step.optional and not why_not(t)), None)
    if nxt in over:
        nxt = reading
    return (None, ()) if nxt and too_early(place, day, nxt, now) else (nxt, over if nxt is reading else ())


def _closes(place: Place, day: Day) -> int:
    """The hour in force at which the polls close, ms UTC."""
    return closing_hour(place, cast(DayView, day))


def too_early(place: Place, day: Day, task: Task, now: int) -> bool:
    """Whether this step is not offered yet: the polls open at their hour, and the end of the line is marked shortly before the close."""
    if task.step.id == "polls-open":
        return now < place.at(place.opens)
    return task.step.id == "line-end" and now < _closes(place, day) - LINE


def _due(tasks: Sequence[Task], nxt: Task | None, over: Sequence[Task], waiting: Sequence[Waiting]) -> tuple[Task, ...]:
    """Other steps whose time is over, and the reading that can be taken now, once each page; what waits for a signature is listed there."""
    reading, all_over = due_reading(tasks)
    signed = {key for w in waiting for key in w.keys}
    found, pages = [], {nxt.page} if nxt and nxt.page else set()
    for task in tasks:
        mine = task is reading or (task.state == "overdue" and task not in all_over)
        if not mine or task is nxt or task in over or task.key in signed or task.page in pages or task.step.optional:
            continue
        pages |= {task.page} - {""}
        found.append(task)
    return tuple(found)


def _readings_to_come(place: Place, day: Day, tasks: Sequence[Task], now: int) -> tuple[ComingUp, ...]:
    if not day.opened or day.closed:
        return ()
    found = [
        ComingUp(t.key, t.due - EARLY, f"The {wall(place, t.due)} reading opens at {wall(place, t.due - EARLY)}")
        for t in tasks
        if t.step.id == "hourly" and t.state == "later" and t.due and t.due - EARLY > now
    ]
    return tuple(found)


def _coming(place: Place, day: Day, tasks: Sequence[Task], now: int) -> tuple[ComingUp, ...]:
    """What opens by itself next, while nothing is to be done: the polls, the next reading, the end of the line."""
    early = next((t for t in tasks if t.state in ("next", "overdue") and too_early(place, day, t, now)), None)
    found = list(_readings_to_come(place, day, tasks, now)[:1])
    if early and early.due:
        found.append(ComingUp(early.key, early.due, f"{wall(place, early.due)}: {early.title}"))
    return tuple(found)


def _then(tasks: Sequence[Task], nxt: Task | None) -> tuple[Task, ...]:
    """The steps after the next one, without those that most days never need."""
    if nxt is None:
        return ()
    at, name = tasks.index(nxt), nxt.step.list
    after = [
        t
        for i, t in enumerate(tasks)
        if not t.step.optional
        and t.step.id != "hourly"
        and (t.state == "open" or (t.state == "later" and i > at and t.step.list == name))
    ]
    return tuple(after[:4])


def _words(
    place: Place, day: Day, tasks: Sequence[Task], now: int, nxt: Task | None, coming: Sequence[ComingUp]
) -> tuple[str, str, str, tuple[str, ...]]:
    """(kind, heading, the line above it, the lines below it)."""
    if nxt is not None:
        kind = "overdue" if nxt.late else "reading" if nxt.step.id == "hourly" else "step"
        return kind, _title(tasks, nxt), _progress(tasks, nxt.step.list), (nxt.step.why,) if nxt.step.why else ()
    if day.opened and not day.closed:
        return _between(place, day, tasks, now)
    if coming:
        opens = wall(place, place.at(place.opens))
        return "ready", f"Polls open at {opens}", _progress(tasks, "opening"), ("Everything before it is signed.",)
    left = [t for t in tasks if t.state not in OVER and not t.step.optional]
    if not left:
        return "done", "Every step is done", "", (KINDS[place.kind].over,)
    first = left[0]
    return (
        "stuck",
        "Nothing can be signed now",
        _progress(tasks, first.step.list),
        (f"{first.title} opens {first.opens}.",),
    )


def _title(tasks: Sequence[Task], task: Task) -> str:
    """The step's title, or that of the page on which several are signed at once."""
    mine = [t for t in tasks if t.page and t.page == task.page and t.state not in OVER]
    return page_title(task.page, task.title) if len(mine) > 1 else task.title


def _between(place: Place, day: Day, tasks: Sequence[Task], now: int) -> tuple[str, str, str, tuple[str, ...]]:
    """Polls are open and nothing is to be signed."""
    closes, brow = _closes(place, day), _progress(tasks, "voting")
    note = "No step is due now. If something happens, write it in Note."
    if now >= closes:
        return (
            "line",
            f"It is past {wall(place, closes)}",
            brow,
            ("Voters who stood in line at the hour still vote.", note),
        )
    if now >= closes - 60 * MINUTE:
        return "last-hour", f"Polls close at {wall(place, closes)}", brow, (note,)
    return "between", f"Polls are open until {wall(place, closes)}", brow, (note,)


def _progress(tasks: Sequence[Task], name: str) -> str:
    """ "Voting, 1 of 13 readings signed", "Opening, 9 of 27 done": what was left out is not counted as done."""
    mine = [t for t in tasks if t.step.list == name and not t.step.optional]
    if name == "voting":
        read = [t for t in mine if t.step.id == "hourly"]
        gone = sum(t.state == "missed" for t in read)
        left_out = f", {gone} not taken" if gone else ""
        return f"Voting, {sum(t.state == 'done' for t in read)} of {len(read)} readings signed{left_out}"
    return f"{dict(LISTS)[name]}, {sum(t.state in OVER for t in mine)} of {len(mine)} done"


def fingerprint(state: NowState, length: int) -> str:
    """A short name for what Now shows: while it stays the same, nothing on Now has changed but minutes."""
    told = (
        length,
        state.kind,
        state.heading,
        state.withheld,
        state.next and (state.next.key, bool(state.next.late)),
        state.signs and (state.signs.id, state.signs.by),
        [alert.id for alert in state.alerts],
        [(task.key, bool(task.late)) for task in state.due],
        [(one.id, one.by) for one in state.waiting],
        [one.key for one in state.coming],
    )
    return hashlib.sha256(repr(told).encode()).hexdigest()[:16]
