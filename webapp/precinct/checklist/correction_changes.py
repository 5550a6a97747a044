"""What a correction changes: each field with what it said and what it says now. What stays as it was is not in it."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from webapp.precinct.checklist import field_options, form_values
from webapp.precinct.place.place import Contest, Place
from webapp.precinct.place.step import DayView, Field, Step

NOTHING = "nothing"


@dataclass(frozen=True, slots=True)
class Change:
    """One field of a correction: its label, what it said, what it says now; "nothing" where it was or is left empty."""

    label: str
    was: str
    now: str


def changes(
    step: Step,
    at: str,
    place: Place,
    day: DayView,
    old: tuple[Mapping[str, Any], Mapping[str, str]],
    new: tuple[Mapping[str, Any], Mapping[str, str]],
) -> list[Change]:
    """`old` and `new` = (body, free words by name)."""
    before, after = (
        form_values.typed(step, body, place.tz, place.rules.clock) | dict(words) for body, words in (old, new)
    )
    found = [
        Change(label, _told(field, place, day, at, was), _told(field, place, day, at, now))
        for field, name, label in _asked(step, place, day, at, before | after)
        if (was := before.get(name, "")) != (now := after.get(name, ""))
    ]
    return found + list(_exception(old, new))


def _asked(
    step: Step, place: Place, day: DayView, at: str, said: Mapping[str, str]
) -> Iterator[tuple[Field, str, str]]:
    """(field, input name, label) of every input that either says something in."""
    for field in step.fields:
        if field.kind == "votes":
            for base, head, contest in _rows(field, place):
                names = {f"votes.{choice.id}": choice.label for choice in contest.choices}
                lines = {
                    "ballots": "ballots",
                    "write_in": "write-ins",
                    "under": "undervotes",
                    "over": "overvotes",
                } | names
                for line, label in lines.items():
                    yield field, f"{base}.{contest.id}.{line}", f"{head}{contest.title}, {label}"
        elif field.per:
            known = dict(field_options.things(field.per, place, day, at))
            things = [name.partition(".")[2] for name in said if name.partition(".")[0] == field.name]
            for thing in dict.fromkeys((*known, *things)):
                yield field, f"{field.name}.{thing}", field.named(known.get(thing, thing))
        else:
            yield field, field.name, field.label


def _rows(field: Field, place: Place) -> Iterator[tuple[str, str, Contest]]:
    """(input name, words before, contest) of every contest that a field of votes asks, precinct by precinct where it does."""
    if field.only == "by-precinct":
        for precinct in place.split():
            for contest in place.contests_of(precinct.id):
                yield f"{field.name}.{precinct.id}", f"{precinct.name}: ", contest
    else:
        yield from ((field.name, "", contest) for contest in place.typed_contests())


def _told(field: Field, place: Place, day: DayView, at: str, value: str) -> str:
    """A value as people read it."""
    if field.kind == "choice" and value:
        return dict(field_options.choices(field, place, day, at)).get(value, value)
    if field.kind in ("yes", "tick"):
        return "yes" if value == "yes" else "not ticked"
    return value or NOTHING


def _exception(
    old: tuple[Mapping[str, Any], Mapping[str, str]], new: tuple[Mapping[str, Any], Mapping[str, str]]
) -> Iterator[Change]:
    """Whether it is kept as an exception, and in which words."""
    was, now = (bool(body.get("not_so")) for body, _ in (old, new))
    if was != now:
        yield Change("Kept as an exception", "yes" if was else "no", "yes" if now else "no")
    for name, label in (("found", "What was found"), ("done", "What was done, and who was told")):
        if (before := old[1].get(name, "")) != (after := new[1].get(name, "")):
            yield Change(label, before or NOTHING, after or NOTHING)
