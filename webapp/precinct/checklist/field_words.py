"""The fields of one entry in words, each as a person reads it: a value, a choice, a map of values, a contest."""

import re
from collections.abc import Callable, Mapping
from typing import Any

from webapp.precinct.checklist import deck_words, field_options, system_entries
from webapp.precinct.checklist.step_text import fill
from webapp.precinct.day.hours import wall
from webapp.precinct.place.default_steps import steps
from webapp.precinct.place.place import Contest, Place
from webapp.precinct.place.step import DayView, Field, Step

OURS = frozenset(
    {"bin", "door", "box-bin", "aside", "aside-kind", "provisional-kind", "clock", "print"}
)  # things named in our words, not the office's
JOINS = {
    "style": "of",
    "book": "in",
    "container": "in",
    "ballot-container": "in",
    "box-bin": "in the",
    "bin": "in the",
    "door": "on the",
    **dict.fromkeys(
        (
            "tabulator",
            "running",
            "box-running",
            "container-seal",
            "seal-point",
            "sealed-point",
            "case-seal",
            "tabulator-seal",
        ),
        "on",
    ),
}


def step_of(kind: str, place: Place) -> Step | None:
    """Returns the step with this id at this place; None if the place has none."""
    return next((step for step in steps(place) if step.id == kind), None)


def title(kind: str, at: str, place: Place) -> str:
    """The heading of an entry: that of a step's statement, or the laptop's own."""
    step = step_of(kind, place)
    if step is None:
        return system_entries.TITLES.get(kind, kind)
    step = fill(step, place, at)
    return step.says or step.title


class Teller:
    """Puts one body into words: each field gives parts, which are joined to sentences afterward."""

    def __init__(self, place: Place, day: DayView, body: Mapping[str, Any], texts: Mapping[str, str]):
        self.place, self.day, self.body, self.texts, self.at = place, day, body, texts, body.get("at", "")

    def exception(self) -> list[str]:
        """What was found and done instead, before all else."""
        if not self.body.get("not_so"):
            return []
        return ["Exception", f"Found: {quoted(self.texts, 'found')}", f"Done: {quoted(self.texts, 'done')}"]

    def field(self, field: Field) -> list[str]:
        """The parts that tell this field; none where there is nothing to say."""
        if field.kind == "words":
            return (
                [(field.tell or f"{field.label}: {{}}").replace("{}", quoted(self.texts, field.name))]
                if self.texts.get(field.name)
                else []
            )
        if field.name not in self.body:
            return [field.blank] if field.blank and not self.body.get("not_so") else []
        value = self.body[field.name]
        if field.only == "by-precinct":
            return [
                f"{precinct.name}, {_contest(c, value[precinct.id][c.id])}"
                for precinct in self.place.precincts
                for c in self.place.contests
                if c.id in value.get(precinct.id, {})
            ]
        if field.kind == "votes":
            return [_contest(c, value[c.id]) for c in self.place.contests if c.id in value]
        if field.kind == "worked-out":
            return _worked_out(field, value, self.place)
        if field.per and isinstance(value, Mapping):
            return self.each(field, value)
        if field.kind in ("yes", "tick", "yes-no"):
            return (
                [field.tell or field.label]
                if value is True
                else [field.none]
                if field.none
                else [f"{field.label}: no"]
                if field.kind == "yes-no"
                else [f"Not ticked: {small(field.label)}"]
            )
        if value in (0, None) and (field.none or value is None):
            return [field.none] if field.none else []
        return (
            []
            if str(value) == field.hush
            else [by_number(field.tell or f"{field.label}: {{}}", value, self.value(field, value, bool(field.tell)))]
        )

    def each(self, field: Field, value: Mapping[str, Any]) -> list[str]:
        """A field of several things: those that are so and those that are not, or each with its figure, equal zeros together."""
        words = dict(field_options.things(field.per, self.place, self.day, self.at))
        rows = [
            (thing, small(words.get(thing, thing)) if field.per in OURS else words.get(thing, thing), value[thing])
            for thing in sorted(value, key=_order(words))
        ]
        if field.kind in ("yes", "tick"):
            good, bad = (", ".join(name for _, name, ok in rows if ok is so) for so in (True, False))
            head = field.tell or f"{field.heading}: {{}}"
            return [
                *([head.replace("{}", good)] if good else []),
                *([f"Not ticked, {small(field.heading)}: {bad}"] if bad else []),
            ]
        one = field.each or f"{{}} {JOINS.get(field.per, 'for')} {{thing}}"
        if len(rows) == 1 and not field.tell and not field.each and field.kind != "choice":
            return [f"{field.named(rows[0][1])}: {self.value(field, rows[0][2])}"]
        zeros = [row for row in rows if row[2] == 0] if field.kind in ("number", "counts") else []
        told = [
            by_number(one, n, self.value(field, n, True)).replace("{thing}", name)
            for _, name, n in rows
            if len(zeros) < 2 or n != 0
        ]
        if len(zeros) > 1:
            told.append(f"0 {JOINS.get(field.per, 'for').removesuffix(' the')} each{' of the others' if told else ''}")
        between = "; " if field.kind == "numbers" or any("," in name for _, name, _ in rows) else ", "
        return [(field.tell or f"{field.heading}: {{}}").replace("{}", between.join(told))] if told else []

    def value(self, field: Field, value: Any, within: bool = False) -> str:
        """Returns a stored value as people read it: a time on the place's clock, a choice by its label, numbers with commas."""
        if field.kind == "time":
            return wall(self.place, value)
        if field.kind == "choice":
            return self.choice(field, value)
        if field.kind == "several":
            return " and ".join(self.choice(field, one) for one in value)
        if isinstance(value, Mapping):
            return ", ".join(f"{code} {votes}" for code, votes in value.items())
        if isinstance(value, list | tuple):
            return (", " if field.kind == "numbers" else ", then ").join(f"{one:,}" for one in value)
        return f"{value:,}" if isinstance(value, int) and field.kind in ("number", "counts") else str(value)

    def choice(self, field: Field, value: str) -> str:
        """Returns a stored choice as people read it; a person who is no longer a choice by name and role."""
        if field.of == "step":
            return f"“{title(value, '', self.place)}”"
        words = dict(field_options.choices(field, self.place, self.day, self.at))
        if value not in words and field.of in ("working", "official", "carrier"):
            roll = {one.id: f"{one.name} ({one.role})" for one in self.place.officials}
            words = roll | dict(field_options.things("official", self.place, self.day))
        found = words.get(value, str(value))
        return found if field.of and field.of not in OURS else small(found)


def _order(words: Mapping[str, str]) -> Callable[[str], tuple[int, str]]:
    """Things in the order of the place file; what it does not name any more comes last."""
    places = {thing: i for i, thing in enumerate(words)}
    return lambda thing: (places.get(thing, len(places)), thing)


def by_number(template: str, value: Any, words: str) -> str:
    """The value put in, and each {one|many} by it; of several hand counts the last one counts."""
    count = value[-1] if isinstance(value, list | tuple) and value else value
    return re.sub(r"\{([^{}|]*)\|([^{}|]*)\}", lambda m: m[1] if count == 1 else m[2], template).replace("{}", words)


def small(words: str) -> str:
    """A part within a sentence begins small, unless it begins with a name such as T1."""
    return words if re.match(r"\w[A-Z0-9]", words) else words[:1].lower() + words[1:]


def quoted(texts: Mapping[str, str], name: str) -> str:
    """Free words as they were written, or that they are withheld."""
    return f"“{texts[name]}”" if texts.get(name) else "words withheld"


def contest_lines(contest: Contest, row: Mapping[str, Any]) -> list[tuple[str, int | None]]:
    """A contest as on the tape: (line, figure) in ballot order, then write-ins, undervotes, overvotes, ballots; None: not printed."""
    votes = row.get("votes", {})
    lines = [(choice.label, votes.get(choice.id)) for choice in contest.choices]
    if contest.write_in:
        lines.append(("Write-ins", row.get("write_in")))
    return [*lines, ("Undervotes", row.get("under")), ("Overvotes", row.get("over")), ("Ballots", row.get("ballots"))]


def _contest(contest: Contest, row: Mapping[str, Any]) -> str:
    return f"{contest.title}: " + ", ".join(
        f"{label} {figure:,}" for label, figure in contest_lines(contest, row) if figure is not None
    )


def _worked_out(field: Field, value: Any, place: Place) -> list[str]:
    if field.name == "hour":
        return [f" for {wall(place, value)}"]
    if field.name == "notes_to":
        return [f"Notes read to entry {value}"]
    if field.name == "reading":
        return [f"The reading of entry {value} is signed too"]
    if field.name == "lines":
        return [" for " + ", ".join(map(line_words, value))] if value else [": every line agrees"]
    if field.name == "stand_in":
        return [f"By the public counters, tapes to come: {', '.join(name.removeprefix('counter:') for name in value)}"]
    if field.name == "unfed":
        return [f"Batches not fed: {', '.join(value)}" if value else "Every batch made is fed"]
    if field.name in deck_words.FIELDS:
        return deck_words.field_parts(field.name, value, place)
    if field.name == "gaps" and isinstance(value, Mapping):
        return _gaps(value)
    return []


def _gaps(gaps: Mapping[str, int]) -> list[str]:
    """Which lines are off and by how many: the sides are in the balance itself."""
    off = [f"{line_words(line)} by {abs(gap):,}" for line, gap in gaps.items() if gap]
    return (
        [f"Off: {', '.join(off)}. The other lines agree: {len(gaps) - len(off)}"]
        if off
        else [f"The lines that are checked agree: {len(gaps)}"]
    )


def line_words(line: str) -> str:
    """The id of a balance line in words: "poll book, W3", "bins of B1"."""
    name, _, scope = line.partition("@")
    return name.replace(":", " of ").replace("-", " ") + (f" ({scope})" if scope else "")
