"""The day's tasks: every step at every place where it is done, in order, with its state now.

The order is held by `after`. An exception that was signed counts as done, so nothing is ever a dead end; a tabulator that stays shut takes
its own later steps with it and no others.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, time
from functools import lru_cache

from webapp.precinct import things
from webapp.precinct.place import Place
from webapp.precinct.step import PLACE_LISTS, Day, Kept, Step, Task, all_of, at_label, task_key
from webapp.precinct.steps_read import steps

MINUTE = 60_000
HOUR = 60 * MINUTE
EARLY = 15 * MINUTE                 # a step of a certain hour opens this long before
GRACE = 5 * MINUTE                  # and is overdue this long after


def closing_hour(place: Place, day: Day) -> int:
    """The hour in force, ms UTC: the place file's, or that of the last instruction that changed the hours."""
    orders = [k.body["closes"] for k in all_of(day, "instruction") if k.body.get("changes") == "hours" and k.body.get("closes")]
    return orders[-1] if orders else place.at(place.closes)


def hours(place: Place, day: Day) -> tuple[int, ...]:
    """The full hours of voting at which a reading is due, ms UTC: after the opening, before the close."""
    begin, end = place.at(place.opens), closing_hour(place, day)
    first = begin - begin % HOUR + HOUR
    return tuple(range(first, end, HOUR))


def tasks(place: Place, day: Day, now: int, lists: Sequence[str] = PLACE_LISTS) -> tuple[Task, ...]:
    """Every task of these lists in order. Exactly one of those that can be done is `next`."""
    mine = tuple(step for step in steps(place) if step.list in lists and not step.note)
    board = Board(place, day, now, mine)
    found: list[Task] = []
    for step in mine:
        for at in ats(step, place, day):
            found.append(board.task(step, at, found))
    return tuple(_numbered(_with_next(found)))


def ats(step: Step, place: Place, day: Day) -> tuple[str, ...]:
    """Where and when a step is done: the readings at each hour, others once or at each tabulator or box."""
    if step.form == "reading" and step.id == "hourly":
        return tuple(clock(place, hour) for hour in hours(place, day))
    return things.ats(step, place) if things.here(step, place) else ()


def clock(place: Place, ms: int) -> str:
    return datetime.fromtimestamp(ms / 1000, place.tz).strftime("%H:%M")


@dataclass(frozen=True)
class Board:
    """One look at the day: what is kept, and what each step waits for."""

    place: Place
    day: Day
    now: int
    steps: tuple[Step, ...]

    def task(self, step: Step, at: str, above: Sequence[Task]) -> Task:
        kept = self.kept(step, at)
        filled = fill(step, self.place, at)
        bare = Task(filled, at, "open", 0, due=self.due(step, at), entries=tuple(k.number for k in kept), page=page_key(step, at),
                    not_so=bool(kept) and kept[-1].not_so, short=bool(kept) and bool(kept[-1].short))
        if kept and self.done(step, at):
            return replace(bare, state="done", again=bare.not_so and step.shuts)
        if step.if_open and things.shut(self.place, self.day, at, self.steps):
            return replace(bare, state="shut", opens=f"{at} stays shut. It opens when the step that shut it is done again.")
        if step.id == "hourly" and self.later_reading(at):
            return replace(bare, state="missed", opens="a later reading stands for it")
        waits, missing = self.waits(step, at, above)
        if waits:
            return replace(bare, state="later", opens=waits)
        late = max(0, self.now - bare.due - GRACE) // MINUTE if bare.due and self.now > bare.due + GRACE else 0
        return replace(bare, state="overdue" if late else "open", late=(self.now - bare.due) // MINUTE if late else 0, missing=missing)

    def kept(self, step: Step, at: str) -> Sequence[Kept]:
        if step.id == "hourly":
            return [k for k in all_of(self.day, "hourly") if clock(self.place, k.body.get("hour", 0)) == at]
        return self.day.kept.get(task_key(step.id, at), ())

    def done(self, step: Step, at: str) -> bool:
        """Kept, and with that over; steps that repeat tell by what they are for."""
        people = getattr(self.day, "people", None)
        if step.id == "oath" and people:
            return len(people.sworn) + len(people.relieved) >= max(2, len(people.present))
        if step.id == "remark":
            return not getattr(self.day, "unremarked", ())
        return True

    def enough(self, step: Step, at: str) -> bool:
        """Whether what comes after may begin."""
        if step.optional or (step.if_open and things.shut(self.place, self.day, at, self.steps)):
            return True
        if step.id == "oath" and (people := getattr(self.day, "people", None)):
            return len(people.sworn) >= 2
        return bool(self.kept(step, at)) and self.done(step, at)

    def later_reading(self, at: str) -> bool:
        return any(clock(self.place, k.body.get("hour", 0)) > at for k in all_of(self.day, "hourly"))

    def due(self, step: Step, at: str) -> int | None:
        """ms UTC: an hour's reading at the hour; `opens-30` half an hour before the opening; `noon`; `closes` by the hour in force."""
        if step.id == "hourly":
            return self.place.at(time.fromisoformat(at))
        name, _, before = step.by.partition("-")
        moment = {"opens": self.place.at(self.place.opens), "closes": closing_hour(self.place, self.day), "noon": self.place.at(time(12))}.get(name)
        return None if moment is None else moment - int(before or 0) * MINUTE

    def waits(self, step: Step, at: str, above: Sequence[Task]) -> tuple[str, tuple[str, ...]]:
        """("" or the sentence that says when it opens, keys of what is missing above where the step may be done all the same)."""
        if "*" in step.after:
            missing = tuple(t.key for t in above if t.step.list == step.list and t.state not in ("done", "shut") and not t.step.optional)
            due = self.due(step, at)
            if missing and due is not None and self.now < due - GRACE:
                return f"when the steps above are signed, or at {clock(self.place, due)}", missing
            return "", missing
        wanted = [other for name in step.after for other in self.steps if other.id == name and not (step.page and other.page == step.page)]
        lacking = [other for other in wanted if not all(self.enough(other, a) for a in self.same(other, step, at))]
        if lacking:
            return "when " + _and(f"“{fill(o, self.place, '').title}”" for o in lacking) + (" is signed" if len(lacking) == 1 else " are signed"), ()
        due = self.due(step, at)
        if due is not None and (step.id == "hourly" or step.by == "noon") and self.now < due - EARLY:
            return f"at {clock(self.place, due)}", ()
        return "", ()

    def same(self, other: Step, step: Step, at: str) -> Iterable[str]:
        """Where `other` must be done before `step` may be done here: on the same tabulator or its box, else everywhere."""
        everywhere = ats(other, self.place, self.day)
        if not at or not other.per or step.per not in ("tabulator", "box"):
            return everywhere
        box = things.box_of(self.place, at)
        near = {at, box.id if box else at} | ({t.id for t in self.place.tabulators if t.box == at} if step.per == "box" else set())
        return [a for a in everywhere if a in near] or ()


def page_key(step: Step, at: str) -> str:
    """Steps with the same key are shown together and signed once; `:T` makes a page of its own for each tabulator."""
    return f"{step.page[:-1]}{at}" if step.page.endswith(":T") else step.page


def fill(step: Step, place: Place, at: str) -> Step:
    """The step with its words filled in for where and when it is done."""
    label = at_label(place, step, at) or {"tabulator": "each tabulator", "box": "each box"}.get(step.per, "")
    return _filled(step, label, place.name, str(place.rules.battery_hours), at if step.id == "hourly" and at else "hourly")


@lru_cache(maxsize=4096)
def _filled(step: Step, label: str, place: str, battery: str, hour: str) -> Step:
    def say(words: str) -> str:
        return words.replace("{at}", label).replace("{place}", place).replace("{battery}", battery).replace("{hour}", hour) if "{" in words else words

    fields = tuple(replace(f, label=say(f.label), hint=say(f.hint), ask=say(f.ask)) if "{" in f.label + f.hint + f.ask else f for f in step.fields)
    return replace(step, title=say(step.title), why=say(step.why), do=tuple(say(line) for line in step.do), not_so=say(step.not_so),
                   caution=say(step.caution), fields=fields)


def _and(words: Iterable[str]) -> str:
    found = list(words)
    return found[0] if len(found) == 1 else ", ".join(found[:-1]) + " and " + found[-1]


def _with_next(found: Sequence[Task]) -> list[Task]:
    for i, task in enumerate(found):
        if task.state in ("open", "overdue") and not task.step.optional:
            return [*found[:i], replace(task, state="overdue" if task.late else "next"), *found[i + 1:]]
    return list(found)


def _numbered(found: Sequence[Task]) -> Iterable[Task]:
    counts: dict[str, int] = {}
    for task in found:
        counts[task.step.list] = counts.get(task.step.list, 0) + 1
        yield replace(task, number=counts[task.step.list])
