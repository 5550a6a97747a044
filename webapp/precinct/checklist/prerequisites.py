"""What each step waits for: one look at the day, and the state of every task in it.

The order is held by `after`. An exception that was signed counts as done, so nothing is ever a dead end; a tabulator that stays shut takes
its own later steps with it and no others.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import time
from functools import cached_property
from typing import NamedTuple

from webapp.precinct.checklist.step_text import ats, fill, page_key
from webapp.precinct.day import out_of_use
from webapp.precinct.day.hours import MINUTE, clock, closing_hour, wall
from webapp.precinct.day.rounds import counting
from webapp.precinct.place import seal_points
from webapp.precinct.place.place import Place
from webapp.precinct.place.step import LISTS, DayView, EntryView, Step, Task, all_of, last, task_key

EARLY = 15 * MINUTE  # a step of a certain hour opens this long before
GRACE = 5 * MINUTE  # and is overdue this long after


class _State(NamedTuple):
    """Of a task: its state, the words that say when it opens, what is missing above where it may be done all the same."""

    state: str
    opens: str = ""
    missing: tuple[str, ...] = ()


@dataclass(frozen=True)
class Prerequisites:
    """What is recorded at one moment, and what each step waits for. numbers: a task's place in its list, by its key."""

    place: Place
    day: DayView
    now: int
    steps: tuple[Step, ...]
    numbers: Mapping[str, int]
    dropped: Mapping[str, int] = field(default_factory=dict)  # steps that an instruction took away, each with its entry

    def task(self, step: Step, at: str, above: Sequence[Task]) -> Task:
        """Returns the task of a step at one thing, with its state and what it waits for.

        at: the thing's id, "" if the step is done once. above: the tasks before it in the checklist.
        """
        kept, due = self.kept(step, at), self.due(step, at)
        found = self._state(step, at, kept, above)
        late = found.state == "open" and due is not None and self.now > due + GRACE
        not_so = bool(kept) and kept[-1].not_so
        return Task(
            fill(step, self.place, at),
            at,
            "overdue" if late else found.state,
            self.numbers[task_key(step.id, at)],
            opens=found.opens,
            due=due,
            late=(self.now - due) // MINUTE if late and due is not None else 0,
            entries=tuple(k.number for k in kept),
            not_so=not_so,
            short=bool(kept) and bool(kept[-1].short),
            page=page_key(step, at),
            missing=found.missing,
            again=found.state == "done" and not_so and step.shuts,
        )

    def _state(self, step: Step, at: str, kept: Sequence[EntryView], above: Sequence[Task]) -> "_State":
        """Returns the state of a task by what is kept of it, before the clock makes it overdue."""
        if kept and self.done(step):
            return _State("done")
        if step.if_open and self.shut(at):
            return _State("shut", f"{at} stays shut. It opens when the step that shut it is done again.")
        if why := self.missed(step, at):
            return _State("missed", why)
        waits, missing = self.waits(step, at, above)
        return _State("later", waits) if waits else _State("open", missing=missing)

    def kept(self, step: Step, at: str) -> Sequence[EntryView]:
        """Returns the recorded entries that do this task, oldest first."""
        if step.id == "hourly":
            return [k for hour, k in self.readings if hour == at]
        return counting(self.day, step, at)

    @cached_property
    def readings(self) -> Sequence[tuple[str, EntryView]]:
        """Returns the recorded readings in order, each with the hour it is for on the wall clock; a reading for no hour is left out."""
        kept = all_of(self.day, "hourly")
        return [(clock(self.place, k.body["hour"]), k) for k in kept if k.body.get("hour")]

    def done(self, step: Step) -> bool:
        """Whether everything that the step needs is recorded; an oath and a remark are recorded once for each person and line."""
        people = getattr(self.day, "people", None)
        if step.id == "oath" and people:
            return len(people.sworn) + len(people.relieved) >= max(self.least_sworn(), len(people.present))
        return step.id != "remark" or not getattr(self.day, "unremarked", ())

    def least_sworn(self) -> int:
        """Two; one where the roll call was signed as an exception, since nobody else is there."""
        arrivals = last(self.day, "arrivals")
        return 1 if arrivals and arrivals.not_so else 2

    def enough(self, step: Step, at: str) -> bool:
        """Whether what comes after may begin."""
        if step.optional or (step.if_open and self.shut(at)) or self.missed(step, at):
            return True
        if step.id == "oath" and (people := getattr(self.day, "people", None)):
            return len(people.sworn) >= self.least_sworn()
        return bool(self.kept(step, at)) and self.done(step)

    def shut(self, at: str) -> bool:
        """Whether this thing is out of use now."""
        return out_of_use.shut(self.place, self.day, at, self.steps)

    def missed(self, step: Step, at: str) -> str:
        """Why a step need not be done any more, or "": its hour is over, or an instruction took it away."""
        if step.id in self.dropped:
            return f"not done any more, by the instruction of entry {self.dropped[step.id]}"
        if (step.id == "hourly" or step.by == "noon") and last(self.day, "polls-closed"):
            return "the polls are closed"
        later = step.id == "hourly" and any(
            clock(self.place, k.body.get("hour", 0)) > at for k in all_of(self.day, "hourly")
        )
        return "a later reading stands for it" if later else ""

    def due(self, step: Step, at: str) -> int | None:
        """ms UTC when it should be done: an hour's reading at the hour, the others by their `by`."""
        return self.place.at(time.fromisoformat(at)) if step.id == "hourly" else self.moment(step.by)

    def moment(self, by: str) -> int | None:
        """`opens-30` is half an hour before the opening; `closes` goes by the hour in force; None for ""."""
        name, _, before = by.partition("-")
        if name not in ("opens", "closes", "noon"):
            return None
        if name == "closes":
            at = closing_hour(self.place, self.day)
        else:
            at = self.place.at(self.place.opens if name == "opens" else time(12))
        return at - int(before or 0) * MINUTE

    @cached_property
    def by_name(self) -> Mapping[str, tuple[Step, ...]]:
        """The steps of each id, in their order."""
        found: dict[str, tuple[Step, ...]] = {}
        for step in self.steps:
            found[step.id] = (*found.get(step.id, ()), step)
        return found

    def waits(self, step: Step, at: str, above: Sequence[Task]) -> tuple[str, tuple[str, ...]]:
        """("" or the words that say when it opens, keys of what is missing above where the step may be done all the same)."""
        if "*" in step.after:
            return self.waits_for_all(step, above)
        lacking = self.lacking(step, at)
        if lacking:
            return "when " + self.wanted(lacking, step.list), ()
        due = self.due(step, at) if step.id == "hourly" or step.by == "noon" else None
        gate = due - EARLY if due is not None else self.moment(step.not_before)
        return ("", ()) if gate is None or self.now >= gate else (f"at {wall(self.place, gate)}", ())

    def lacking(self, step: Step, at: str) -> list[str]:
        """Keys of what must be signed before this step may be done here; steps on the same page are not waited for."""
        wanted = [
            other
            for name in step.after
            for other in self.by_name.get(name, ())
            if not (step.page and other.page == step.page)
        ]
        return [
            task_key(other.id, a)
            for other in wanted
            for a in self.same(other, step, at)
            if not self.enough(other, a) or self.held(step, other, a)
        ]

    def held(self, step: Step, other: Step, at: str) -> bool:
        """Whether this step stays closed because another step is recorded as not so."""
        kept = self.kept(other, at) if step.id in other.holds else ()
        return bool(kept) and kept[-1].not_so

    def wanted(self, keys: Sequence[str], here: str) -> str:
        """What is waited for: steps to be signed, or steps that are recorded as not so."""
        where = {key: self.by_name[key.partition(":")[0]][0] for key in keys}
        signed = [self.enough(where[key], key.partition(":")[2]) for key in keys]
        state = "as expected" if all(signed) else "signed as expected" if any(signed) else "signed"
        return self.named(keys, here, state)

    def page_waits(self, tasks: Sequence[Task]) -> str:
        """When a page that is signed once opens: when all is signed that any of its steps waits for; "" where none of that is a step."""
        keys = list(dict.fromkeys(key for task in tasks for key in self.lacking(task.step, task.at)))
        return "when " + self.named(keys, tasks[0].step.list) if keys else ""

    def waits_for_all(self, step: Step, above: Sequence[Task]) -> tuple[str, tuple[str, ...]]:
        """Everything above, yet no longer than until its own time: voters never wait for the program."""
        missing = tuple(
            t.key for t in above if t.step.list == step.list and t.state not in ("done", "shut") and not t.step.optional
        )
        due = self.due(step, "")
        if not missing or (due is not None and self.now >= due):
            return "", missing
        until = f", or at {wall(self.place, due)} with what is missing named" if due is not None else ""
        return f"when {self.named(missing, step.list)}{until}", ()

    def named(self, keys: Sequence[str], here: str, state: str = "signed") -> str:
        """ "steps 5 to 8 are signed", "step 25 of Opening is signed": the steps of these keys by their numbers."""
        where, titles = {key: self.by_name[key.partition(":")[0]][-1].list for key in keys}, dict(LISTS)
        lists = dict.fromkeys(where[key] for key in keys)
        parts = []
        for name in lists:
            numbers = sorted({self.numbers[key] for key in keys if where[key] == name})
            parts.append(
                f"step{'s'[: len(numbers) != 1]} {_runs(numbers)}" + (f" of {titles[name]}" if name != here else "")
            )
        return " and ".join(parts) + f" {'is' if len(keys) == 1 else 'are'} {state}"

    def same(self, other: Step, step: Step, at: str) -> Iterable[str]:
        """The things at which `other` must be done before `step` may be done here: the same tabulator or its box, else all."""
        everywhere = ats(other, self.place, self.day)
        if other.id == "hourly":
            return [a for a in everywhere if step.by == "noon" and a == "12:00"]
        if not at or not other.per or step.per not in ("tabulator", "box"):
            return everywhere
        box = seal_points.box_of(self.place, at)
        near = {at, box.id if box else at} | (
            {t.id for t in self.place.tabulators if t.box == at} if step.per == "box" else set()
        )
        return [a for a in everywhere if a in near] or ()


def _runs(numbers: Sequence[int]) -> str:
    """ "5 to 8", "5, 7 and 9", "5 to 8 and 11"."""
    runs: list[list[int]] = []
    for n in numbers:
        if runs and n == runs[-1][-1] + 1:
            runs[-1].append(n)
        else:
            runs.append([n])
    words = [part for run in runs for part in ([f"{run[0]} to {run[-1]}"] if len(run) > 2 else [str(n) for n in run])]
    return words[0] if len(words) == 1 else ", ".join(words[:-1]) + " and " + words[-1]
