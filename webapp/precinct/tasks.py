"""The day's tasks: every step at every place where it is done, in order, with its state now.

The order is held by `after`. An exception that was signed counts as done, so nothing is ever a dead end; a tabulator that stays shut takes
its own later steps with it and no others.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, time
from functools import lru_cache

from webapp.precinct import things
from webapp.precinct.place import Place
from webapp.precinct.step import LISTS, PLACE_LISTS, Day, Kept, Step, Task, all_of, at_label, last, task_key
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
    """The full hours of voting at which a reading is due, ms UTC: after the opening, before the hour in force."""
    begin, end = place.at(place.opens), closing_hour(place, day)
    first = begin + HOUR - place.opens.minute * MINUTE
    return tuple(range(first, end, HOUR))


def tasks(place: Place, day: Day, now: int, lists: Sequence[str] = PLACE_LISTS) -> tuple[Task, ...]:
    """Every task of these lists in order. The first that can be done is `next`, or `overdue` where its time is over."""
    mine = tuple(step for step in steps(place) if step.list in lists and not step.note)
    order = [(step, at) for step in mine for at in ats(step, place, day)]
    board = Board(place, day, now, mine, _numbers(order))
    found: list[Task] = []
    for step, at in order:
        found.append(board.task(step, at, found))
    return tuple(_with_next(_with_pages(found)))


def ats(step: Step, place: Place, day: Day) -> tuple[str, ...]:
    """Where and when a step is done: the readings at each hour, others once or at each tabulator or box."""
    if step.form == "reading" and step.id == "hourly":
        return tuple(clock(place, hour) for hour in hours(place, day))
    return things.ats(step, place)


def clock(place: Place, ms: int) -> str:
    """Wall-clock time HH:MM of a moment, in the place's zone."""
    return datetime.fromtimestamp(ms / 1000, place.tz).strftime("%H:%M")


@dataclass(frozen=True)
class Board:
    """One look at the day: what is kept, and what each step waits for. `numbers` = a task's place in its list, by its key."""

    place: Place
    day: Day
    now: int
    steps: tuple[Step, ...]
    numbers: Mapping[str, int]

    def task(self, step: Step, at: str, above: Sequence[Task]) -> Task:
        kept = self.kept(step, at)
        bare = Task(fill(step, self.place, at), at, "open", self.numbers[task_key(step.id, at)], due=self.due(step, at),
                    entries=tuple(k.number for k in kept), page=page_key(step, at),
                    not_so=bool(kept) and kept[-1].not_so, short=bool(kept) and bool(kept[-1].short))
        if kept and self.done(step):
            return replace(bare, state="done", again=bare.not_so and step.shuts)
        if step.if_open and self.shut(at):
            return replace(bare, state="shut", opens=f"{at} stays shut. It opens when the step that shut it is done again.")
        if why := self.missed(step, at):
            return replace(bare, state="missed", opens=why)
        waits, missing = self.waits(step, at, above)
        if waits:
            return replace(bare, state="later", opens=waits)
        late = bare.due is not None and self.now > bare.due + GRACE
        return replace(bare, state="overdue" if late else "open", late=(self.now - bare.due) // MINUTE if late else 0, missing=missing)

    def kept(self, step: Step, at: str) -> Sequence[Kept]:
        if step.id == "hourly":
            return [k for k in all_of(self.day, "hourly") if k.body.get("hour") and clock(self.place, k.body["hour"]) == at]
        return self.day.kept.get(task_key(step.id, at), ())

    def done(self, step: Step) -> bool:
        """Whether what is kept is all that is wanted; an oath and a remark are kept once for each person and line."""
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
        return things.shut(self.place, self.day, at, self.steps)

    def missed(self, step: Step, at: str) -> str:
        """Why a step of its own hour need not be done any more, or ""."""
        if (step.id == "hourly" or step.by == "noon") and last(self.day, "polls-closed"):
            return "the polls are closed"
        later = step.id == "hourly" and any(clock(self.place, k.body.get("hour", 0)) > at for k in all_of(self.day, "hourly"))
        return "a later reading stands for it" if later else ""

    def due(self, step: Step, at: str) -> int | None:
        """ms UTC when it should be done: an hour's reading at the hour, the others by their `by`."""
        return self.place.at(time.fromisoformat(at)) if step.id == "hourly" else self.moment(step.by)

    def moment(self, by: str) -> int | None:
        """`opens-30` is half an hour before the opening; `closes` goes by the hour in force; None for ""."""
        name, _, before = by.partition("-")
        found = {"opens": self.place.at(self.place.opens), "closes": closing_hour(self.place, self.day), "noon": self.place.at(time(12))}.get(name)
        return None if found is None else found - int(before or 0) * MINUTE

    def waits(self, step: Step, at: str, above: Sequence[Task]) -> tuple[str, tuple[str, ...]]:
        """("" or the words that say when it opens, keys of what is missing above where the step may be done all the same)."""
        if "*" in step.after:
            return self.waits_for_all(step, above)
        wanted = [other for name in step.after for other in self.steps if other.id == name and not (step.page and other.page == step.page)]
        lacking = [task_key(other.id, a) for other in wanted for a in self.same(other, step, at) if not self.enough(other, a)]
        if lacking:
            return "when " + self.named(lacking, step.list), ()
        gate = self.due(step, at) - EARLY if step.id == "hourly" or step.by == "noon" else self.moment(step.not_before)
        return ("", ()) if gate is None or self.now >= gate else (f"at {clock(self.place, gate)}", ())

    def waits_for_all(self, step: Step, above: Sequence[Task]) -> tuple[str, tuple[str, ...]]:
        """Everything above, yet no longer than until its own time: voters never wait for the program."""
        missing = tuple(t.key for t in above if t.step.list == step.list and t.state not in ("done", "shut") and not t.step.optional)
        due = self.due(step, "")
        if not missing or (due is not None and self.now >= due):
            return "", missing
        until = f", or at {clock(self.place, due)} with what is missing named" if due is not None else ""
        return f"when {self.named(missing, step.list)}{until}", ()

    def named(self, keys: Sequence[str], here: str) -> str:
        """ "steps 5 to 8 are signed", "step 25 of Opening is signed": the steps of these keys by their numbers."""
        where, titles = {step.id: step.list for step in self.steps}, dict(LISTS)
        lists = dict.fromkeys(where[key.partition(":")[0]] for key in keys)
        parts = []
        for name in lists:
            numbers = sorted({self.numbers[key] for key in keys if where[key.partition(":")[0]] == name})
            parts.append(f"step{'s'[:len(numbers) != 1]} {_runs(numbers)}" + (f" of {titles[name]}" if name != here else ""))
        return " and ".join(parts) + (" is signed" if len(keys) == 1 else " are signed")

    def same(self, other: Step, step: Step, at: str) -> Iterable[str]:
        """Where `other` must be done before `step` may be done here: on the same tabulator or its box, else everywhere."""
        everywhere = ats(other, self.place, self.day)
        if other.id == "hourly":
            return [a for a in everywhere if step.by == "noon" and a == "12:00"]
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
    return replace(step, title=say(step.title), says=say(step.says), why=say(step.why), do=tuple(say(line) for line in step.do), not_so=say(step.not_so),
                   caution=say(step.caution), fields=fields)


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


def _with_pages(found: Sequence[Task]) -> list[Task]:
    """A page is signed once, so it opens when the last of its steps can be done."""
    waits: dict[str, str] = {}
    for task in found:
        if task.page and task.state == "later":
            waits.setdefault(task.page, task.opens)
    return [replace(t, state="later", opens=waits[t.page], late=0) if t.page in waits and t.state in ("open", "overdue") else t for t in found]


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


def _numbers(order: Iterable[tuple[Step, str]]) -> dict[str, int]:
    counts: dict[str, int] = {}
    found = {}
    for step, at in order:
        counts[step.list] = counts.get(step.list, 0) + 1
        found[task_key(step.id, at)] = counts[step.list]
    return found
