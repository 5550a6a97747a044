"""The day's tasks: every step at every place where it is done, in order, with its state now."""

from collections.abc import Iterable, Sequence
from dataclasses import replace

from webapp.precinct.checklist.prerequisites import Prerequisites
from webapp.precinct.checklist.step_text import ats, fill
from webapp.precinct.day.hours import clock, closing_hour, hours
from webapp.precinct.day.instructions import dropped
from webapp.precinct.place.default_steps import steps
from webapp.precinct.place.place import Place
from webapp.precinct.place.place_kinds import KINDS
from webapp.precinct.place.step import DayView, Step, Task, task_key

__all__ = ["ats", "clock", "closing_hour", "fill", "hours", "tasks", "why_not"]


def tasks(place: Place, day: DayView, now: int, lists: Sequence[str] = ()) -> tuple[Task, ...]:
    """Every task of these lists in order, of all of the place's own where none is named. The first that can be done is `next`, or `overdue` where its time is over."""
    lists = lists or KINDS[place.kind].lists
    mine = tuple(step for step in steps(place) if step.list in lists and not step.note)
    order = _by_time([(step, at) for step in mine for at in ats(step, place, day)])
    board = Prerequisites(place, day, now, mine, _numbers(order), dropped(day))
    found: list[Task] = []
    for step, at in order:
        found.append(board.task(step, at, found))
    return tuple(_with_next(_with_pages(found, board)))


def why_not(task: Task) -> str:
    """The sentence that says why this task is not kept now; "" when it may be."""
    if task.state == "later":
        return f"“{task.title}” opens {task.opens}. Keep what comes first, then open this page again."
    if task.state in ("shut", "missed"):
        return f"“{task.title}” is not asked here now: {task.opens.rstrip('.')}."
    if task.state == "done" and not task.again and not task.step.repeats:
        return f"“{task.title}” is kept already, as entry {task.entries[-1]}. Look at it there; to change it, correct entry {task.entries[-1]}."
    return ""


def _with_pages(found: Sequence[Task], board: Prerequisites) -> list[Task]:
    """A page is signed once, so it opens when the last of its steps can be done, and each of its steps says so."""
    pages: dict[str, list[Task]] = {}
    for task in found:
        if task.page and task.state in ("open", "overdue", "later"):
            pages.setdefault(task.page, []).append(task)
    waits = {
        page: board.page_waits(mine) or next(t.opens for t in mine if t.state == "later")
        for page, mine in pages.items()
        if any(t.state == "later" for t in mine)
    }
    return [
        replace(t, state="later", opens=waits[t.page], late=0)
        if t.page in waits and t.state in ("open", "overdue", "later")
        else t
        for t in found
    ]


def _with_next(found: Sequence[Task]) -> list[Task]:
    """The first that can be done is next. Polls that must open now come before what is missing above them."""
    can = [i for i, t in enumerate(found) if t.state in ("open", "overdue") and not t.step.optional]
    urgent = next((i for i in can if found[i].missing), None)
    told = list(found)
    if urgent is not None:
        for key in set(found[urgent].missing):
            at = next(i for i, t in enumerate(found) if t.key == key)
            told[at] = replace(found[at], state="open" if found[at].state == "overdue" else found[at].state)
    first = can[0] if can and urgent is None else urgent
    if first is not None and told[first].state == "open":
        told[first] = replace(told[first], state="next")
    return told


def _by_time(order: Sequence[tuple[Step, str]]) -> list[tuple[Step, str]]:
    """In the order of the lists; the walk round at noon comes after the noon reading, before that of the next hour."""
    noon = [pair for pair in order if pair[0].list == "voting" and pair[0].by == "noon"]
    rest = [pair for pair in order if pair not in noon]
    at = next((i for i, (step, hour) in enumerate(rest) if step.id == "hourly" and hour > "12:00"), len(rest))
    if noon and not any(step.list == "voting" for step, _ in rest[at:]):
        return list(order)
    return [*rest[:at], *noon, *rest[at:]]


def _numbers(order: Iterable[tuple[Step, str]]) -> dict[str, int]:
    """The number of each task in its list, from 1; 0 for one that most days never need: it is not counted either."""
    counts: dict[str, int] = {}
    found = {}
    for step, at in order:
        counts[step.list] = counts.get(step.list, 0) + (not step.optional)
        found[task_key(step.id, at)] = 0 if step.optional else counts[step.list]
    return found
