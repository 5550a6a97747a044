"""What a step is: the facts of the checklists, before anybody has done anything.

A step says what to do, what to record, who signs and what must come first. A *note* is a step that has no place in the order: it is kept
when something happens. A *task* is a step at one tabulator, box or hour, with its state now. The names of the fields are the keys of what
is kept for good, so they are never renamed.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Protocol

from webapp.precinct.place.place import Place
from webapp.precinct.place.place_kinds import KINDS as PLACE_KINDS

LISTS = (
    ("opening", "Opening"),
    ("voting", "Voting"),
    ("closing", "Closing"),
    ("board-opening", "Opening"),
    ("board-work", "Work"),
    ("board-close", "Close"),
    ("hand-over", "Hand-over"),
    ("office", "Office"),
    ("test-deck", "Deck"),
    ("test-run", "Test"),
    ("test-seals", "Sealing"),
)
PLACE_LISTS = PLACE_KINDS["place"].lists
KINDS = (
    "yes",
    "tick",
    "yes-no",
    "time",
    "number",
    "counts",
    "numbers",
    "seal",
    "choice",
    "several",
    "words",
    "code",
    "votes",
    "tally",
    "worked-out",
)
FORMS = ("", "roll-call", "oath", "reading", "zero", "tape", "first-look", "balance", "packet", "tally", "compared")
PER_STEP = ("", "tabulator", "box")
_JOINS = re.compile(r"(?:,|:| of| for| at| in| on)$")  # what a label ends with that goes on with the thing's name
NEVER_NAMES = frozenset(
    {"found", "done", "not_so", "short", "words", "at", "reason"}
)  # what every body may carry besides its fields


@dataclass(frozen=True, slots=True)
class Field:
    """One thing to record. `per` asks it once for each of several things, `of` takes the choices from the place.

    kind: yes (must be so, else the exception) | tick | yes-no | time | number (whole, from 0) | counts (a hand count, or several in order) |
    numbers (a list) | seal | choice | several (of the choices of `of`, each ticked) | words (free, salted, never in the body) | code | votes (a contest as on the tape) | tally (lines
    "code number") | worked-out (the page works it out, nobody types it).
    """

    name: str
    kind: str
    label: str
    hint: str = ""
    ask: str = ""  # the sentence that says what to write, when nothing or something else was typed
    per: str = ""
    of: str = ""
    choices: tuple[tuple[str, str], ...] = ()  # (id, words)
    optional: bool = False
    needs: str = (
        ""  # where an optional field is asked for all the same: bins_counted | ballots (containers that hold some)
    )
    default: str = ""  # as it would be typed; "first" takes the first choice; nothing that vouches has one
    must: str = ""  # what a right answer is: on-now | spare | serial | delivered | all-seals (`checklist/expected_values.py`) | chosen: of the choices one is picked, if only "Nobody"
    most: int | None = None  # more than this is not as it should be
    least: int = 0  # of an optional field per thing: for how many things at least
    later: bool = False  # a time that may still be to come
    tell: str = ""  # how a statement tells it: {} its value, {s|p} by number; a beginning of space, comma, colon or bracket goes on with the sentence
    none: str = ""  # the same for 0, no and nobody
    blank: str = ""  # the same where it was left empty
    hush: str = ""  # the value that goes without saying
    each: str = ""  # asked per thing: how one of them is told, {thing} and {}
    fold: bool = False  # asked only when there is time: folded away on the form
    usual: str = ""  # what the one button of a note says of this field; it never stands in the form beforehand
    zero: bool = False  # a key beside the field writes 0 into it
    same: str = ""  # "step.field" here whose figure a key beside this one writes, or "closing-hour"
    same_says: str = ""  # the words of that key, {} the figure
    only: str = ""  # asked only where the tapes print votes so: sum | by-precinct
    leads: str = ""  # the field that a tap on one of the choices leads into

    @property
    def heading(self) -> str:
        """The label above rows of things: "Public counter" of "Public counter of"."""
        return _JOINS.sub("", self.label)

    def named(self, thing: str) -> str:
        """The label of one of several things: "Public counter of T1", "Shown empty: Main bin"."""
        return f"{self.label} {thing}" if _JOINS.search(self.label) else f"{self.label}: {thing}"


@dataclass(frozen=True, slots=True)
class Step:
    """One step of a checklist, or one kind of note.

    signs: a weight of `day/seats.py`. after: ids that come first, "*" for all above. by: when it should be done, "opens-30", "closes", "noon" or
    "". page: steps of one page are shown together and signed once; ":T" at its end makes it one page for each tabulator. not_so: what to do
    when it is not so.
    """

    id: str
    list: str
    title: str
    signs: str
    why: str = ""
    do: tuple[str, ...] = ()
    fields: tuple[Field, ...] = ()
    after: tuple[str, ...] = ()
    after_results_first: tuple[str, ...] = ()  # the same where the place reads the results before the counts;
    why_results_first: str = ""  # what is true there of `why`;
    behind_results_first: str = ""  # there it stands in the list behind this step,
    alone_results_first: bool = False  # and on no page
    not_before: str = ""  # opens no sooner than this, as `by`
    by: str = ""
    not_so: str = ""
    page: str = ""
    per: str = ""
    repeats: bool = False
    caution: str = ""
    form: str = ""
    folded: str = ""  # above the fields that are folded away until there is time for them
    says: str = ""  # how its statement begins; "" for the title
    source: str = ""  # key of the source of the practice; CP: common practice, no source
    note: bool = False
    ballot: bool = False  # speaks of one ballot or voter: times to the quarter hour only
    optional: bool = False  # never waited for
    shuts: bool = False  # not so: this tabulator stays shut
    if_open: bool = False  # falls away at a tabulator that stays shut
    again_with: tuple[
        str, ...
    ] = ()  # notes after which it is to be done again: what was kept before counts no more; "changed.deck": only where its `part` says so
    stale_with: str = ""  # a step: kept before that one was kept or corrected here, it counts no more
    holds: tuple[str, ...] = ()  # steps that stay closed while this one stands as not so
    where: str = ""  # only where the place has it: emergency (bins) | write-ins
    blind: bool = False  # counted before anybody looks: its page is never put aside half filled in
    tiles: str = ""  # a note: the field whose choices stand on its tile
    press: str = ""  # a note: the field whose choices are its buttons, one tap each
    usual: str = ""  # a note: what its one button says, {tile} and {press} the choices; whoever presses it says so
    usual_also: str = ""  # a note: what stands above its buttons, and is said with each of them
    at_once: str = ""  # heading above its ticks, with a key that ticks all of them
    at_a_tap: tuple[
        tuple[str, str], ...
    ] = ()  # (words, "field=choice field=choice"): buttons that choose in several fields

    def field(self, name: str) -> Field | None:
        """Returns the field with this name; None if the step has none."""
        return next((f for f in self.fields if f.name == name), None)

    def known(self, name: str) -> Field:
        """The field of this name, which this step has. Raises StopIteration where it has none."""
        return next(f for f in self.fields if f.name == name)

    @property
    def ticks(self) -> tuple[str, ...]:
        """Names of its own ticks that must be so, but the check words, which are copied one by one."""
        return tuple(f.name for f in self.fields if f.kind == "yes" and not f.per and f.name != "words_copied")


@dataclass(frozen=True, slots=True)
class Task:
    """A step to be done here and now, or done. `step` has its words filled in for `at`.

    state: done | next | open | later | overdue | shut | missed (a later one replaced it). opens: the words that say
    when, where it is `later`: "when steps 5 to 8 are signed". due: ms UTC. late: whole minutes overdue. number: its
    place in its list, from 1.
    """

    step: Step
    at: str
    state: str
    number: int
    opens: str = ""
    due: int | None = None
    late: int = 0
    entries: tuple[int, ...] = ()
    not_so: bool = False
    short: bool = False
    page: str = ""
    missing: tuple[str, ...] = ()  # keys of tasks above that are not kept, where the step may be done all the same
    again: bool = False  # kept as not so: it may be done again and then opens what it keeps shut

    @property
    def key(self) -> str:
        return task_key(self.step.id, self.at)

    @property
    def title(self) -> str:
        return self.step.title


@dataclass(frozen=True, slots=True)
class Read:
    """What a form said. `mistakes` = {input name: sentence}; with any of them nothing is to be kept. `typed` shows it all again."""

    body: Mapping[str, Any]
    words: Mapping[str, str]
    happened: int
    mistakes: Mapping[str, str]
    typed: Mapping[str, str] = field(default_factory=dict)
    timed: bool = False  # whether the form itself states when it happened; else `happened` is when it was read
    stops: Mapping[str, str] = field(default_factory=dict)  # of the mistakes, those that a rule of the day makes


class EntryView(Protocol):
    """The fields of an entry in force that the rules read."""

    @property
    def number(self) -> int: ...

    @property
    def kind(self) -> str: ...

    @property
    def at(self) -> str: ...

    @property
    def body(self) -> Mapping[str, Any]: ...

    @property
    def time(self) -> int: ...

    @property
    def not_so(self) -> bool: ...

    @property
    def short(self) -> Sequence[Mapping[str, Any]]: ...


class DayView(Protocol):
    """The parts of a day that the rules read: entries in force by task key."""

    @property
    def kept(self) -> Mapping[str, Sequence[EntryView]]: ...


class NoDay:
    """A day on which nothing is kept yet."""

    kept: Mapping[str, Sequence[EntryView]] = {}


def task_key(step: str, at: str) -> str:
    """Returns the key of a task: `STEP`, or `STEP:AT` where the step is done at each of several things."""
    return f"{step}:{at}" if at else step


def last(day: DayView, step: str, at: str = "") -> EntryView | None:
    """The newest entry of a step in force."""
    kept = day.kept.get(task_key(step, at))
    return kept[-1] if kept else None


def all_of(day: DayView, step: str) -> list[EntryView]:
    """Every entry of a kind in force, wherever it was done, in the order of the record."""
    found = [k for key, kept in day.kept.items() if key.split(":")[0] == step for k in kept]
    return sorted(found, key=lambda k: k.number)


def at_label(place: Place, step: Step, at: str) -> str:
    """How the place of a task is called: "T1", "box X"."""
    return f"box {at}" if step.per == "box" and at else at
