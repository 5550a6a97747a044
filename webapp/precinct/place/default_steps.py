"""The default checklists, read from their files, with what one place changes in them."""

import json
import re
import tomllib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import fields as parts
from dataclasses import replace
from functools import lru_cache
from importlib.resources import files
from typing import Any

from webapp.precinct.numbers import on_clock
from webapp.precinct.place.place import Place
from webapp.precinct.place.place_kinds import KINDS
from webapp.precinct.place.step import LISTS, Field, Step
from webapp.precinct.place.step_places import WHERE

_FIELD = {part.name for part in parts(Field)}
_STEP = {part.name for part in parts(Step)}
CHANGES = ("title", "why", "record", "signs", "after", "by", "not_so", "page")
PAGES_RESULTS_FIRST = {"closing-counts": "counts-after"}  # where the tape is known, nobody counts before they look
_EXAMPLE = re.compile(r"\{([0-2][0-9]:[0-5][0-9])\}")  # a time in the words of a list that ships: as {14:05}
_TYPED = re.compile(
    r"\b([01][0-9]|2[0-3]):[0-5][0-9]\b(?!:| [ap]m)"
)  # one in the office's own words, which only a file stores


@lru_cache(maxsize=8)
def defaults(kind: str = "place", hours: int = 24) -> tuple[Step, ...]:
    """Every step and note that ships for this kind of place, in order; those that the desk works through for it come last. `hours` of its clock."""
    tables = dict(_files())
    return tuple(
        _step(name, table, hours) for name in (*KINDS[kind].lists, *KINDS[kind].desk) for table in tables[name]["steps"]
    )


@lru_cache(maxsize=1)
def page_titles() -> Mapping[str, str]:
    """What the pages that are signed once are called, by their names without ":T"."""
    return {page: title for _, tables in _files() for page, title in tables.get("pages", {}).items()}


@lru_cache(maxsize=1)
def _files() -> tuple[tuple[str, Mapping[str, Any]], ...]:
    return tuple(
        (name, tomllib.loads((files("webapp.precinct") / "steps" / f"{name}.toml").read_text(encoding="utf-8")))
        for name, _ in LISTS
    )


def default_ids(kind: str = "place") -> frozenset[str]:
    """Returns the ids of all default steps of this kind of place."""
    return frozenset(step.id for step in defaults(kind))


def steps(place: Place) -> tuple[Step, ...]:
    """The steps of this place: the defaults in the order its rules ask for, with its own dropped, changed, added."""
    return _steps(
        json.dumps([dict(change) for change in place.steps], default=list) if place.steps else "",
        place.rules.first,
        place.kind,
        place.rules.votes if place.split() else "sum",
        place.rules.clock,
    )


@lru_cache(maxsize=64)
def _steps(changes: str, first: str, kind: str, votes: str, hours: int) -> tuple[Step, ...]:
    shipped = tuple(_as_printed(step, votes) for step in defaults(kind, hours))
    found = _results_first(shipped) if first == "results" else list(shipped)
    for change in json.loads(changes or "[]"):
        at = next((i for i, step in enumerate(found) if step.id == change["id"]), None)
        if change.get("drop"):
            found = _without(found, change["id"])
            continue
        if at is None:
            at = _place_for(found, change, KINDS[kind].lists[0])
            found.insert(
                at,
                Step(
                    change["id"],
                    found[at - 1].list if at else KINDS[kind].lists[0],
                    change.get("title", change["id"]),
                    change.get("signs", "1"),
                    not_so="Write what is so, and what was done about it.",
                ),
            )
        found[at] = _with(found[at], change, hours)
    if first == "results":
        found = [replace(step, page=PAGES_RESULTS_FIRST.get(step.page, step.page)) for step in found]
    return tuple(_weighed(found))


def _as_printed(step: Step, votes: str) -> Step:
    """The step at a place whose tapes print `votes` so: sum, by-precinct, both."""
    if not any(field.only for field in step.fields):
        return step
    return replace(step, fields=tuple(f for f in step.fields if f.only in ("", votes) or votes == "both"))


def _results_first(found: Sequence[Step]) -> list[Step]:
    """The order in which the tape is read and called in before the counts are made."""
    moved = [
        replace(
            step,
            after=step.after_results_first or step.after,
            why=step.why_results_first or step.why,
            page="" if step.alone_results_first else step.page,
        )
        for step in found
    ]
    ordered = [step for step in moved if not step.behind_results_first]
    for step in moved:
        if step.behind_results_first:
            before = [
                i
                for i, other in enumerate(ordered)
                if step.behind_results_first in (other.id, other.behind_results_first)
            ]
            ordered.insert(max(before) + 1, step)
    return ordered


def _weighed(found: Sequence[Step]) -> Iterable[Step]:
    """Steps of one page are signed once, so the heaviest of their weights holds for all of them."""
    pages: dict[str, str] = {}
    for step in found:
        if step.page:
            pages[step.page] = max(pages.get(step.page, step.signs), step.signs, key=_seats)
    return (
        replace(step, signs=pages[step.page]) if step.page and step.signs != pages[step.page] else step
        for step in found
    )


def _seats(weight: str) -> float:
    """How much a weight asks for: more people, and of two equal numbers the one that binds them to parties or roles."""
    return {"T": 0, "1": 1, "any": 1, "each": 1, "2": 2, "P": 2.5, "all": 99}.get(weight, weight.count("+") + 1.6)


def _without(found: Sequence[Step], gone: str) -> list[Step]:
    """The steps without one of them: whatever waited for it now waits for what it had waited for."""
    after = next((step.after for step in found if step.id == gone), ())
    return [
        replace(step, after=_instead(step.after, gone, after)) if gone in step.after else step
        for step in found
        if step.id != gone
    ]


def _instead(names: Iterable[str], gone: str, after: Iterable[str]) -> tuple[str, ...]:
    spread = [other for name in names for other in (after if name == gone else (name,))]
    return tuple(dict.fromkeys(spread))


def _place_for(found: Sequence[Step], change: Mapping[str, Any], first: str) -> int:
    """The place of a new step: right after the last of the steps that it comes after; without any, at the end of the first list."""
    after = [i for i, step in enumerate(found) if step.id in change.get("after", ())]
    if after:
        return max(after) + 1
    return 1 + max(
        i
        for i, step in enumerate(found)
        if step.list == first and not step.note and step.id not in ("polls-open", "counting-begins")
    )


def _with(step: Step, change: Mapping[str, Any], hours: int) -> Step:
    """One step with the place's words and rules. `record` asks for more; a field of the step's own is asked in the place's words, never less."""
    new: dict[str, Any] = {
        key: tuple(value) if isinstance(value, list) else value
        for key, value in change.items()
        if key in CHANGES and key != "record"
    }
    new |= {key: _on_clock(new[key], hours) for key in ("title", "why", "not_so") if key in new}
    own = [_read_here(_own_field(item), hours) for item in change.get("record", ())]
    if own:
        names = [field.name for field in own]
        new["fields"] = (*(field for field in step.fields if field.name not in names), *own)
    return replace(step, **new)


def _own_field(item: str | Mapping[str, Any]) -> Field:
    """A field written by the office: `{name, kind, label}`, or `"kind: label"`."""
    if isinstance(item, str):
        kind, _, label = item.partition(":")
        name = "_".join("".join(c if c.isalnum() else " " for c in label.lower()).split())[:32]
        return Field(name, kind.strip(), label.strip(), ask=_ask(kind.strip(), label.strip()))
    field = _field(item)
    return field if field.ask else replace(field, ask=_ask(field.kind, field.label))


def _read_here(field: Field, hours: int) -> Field:
    label, hint, ask = (_on_clock(words, hours) for words in (field.label, field.hint, field.ask))
    return replace(field, label=label, hint=hint, ask=ask)


def _on_clock(words: str, hours: int) -> str:
    """The office's own words with each time of day on the place's clock; a place file stores only the words."""
    return _TYPED.sub(lambda found: on_clock(found[0], hours), words)


def _ask(kind: str, label: str) -> str:
    """The sentence for a field whose office wrote none."""
    tail = {"number": ", in digits", "counts": ", in digits", "time": ", as 14:05", "seal": ", exactly as printed"}.get(
        kind, ""
    )
    return f"Enter {label[:1].lower()}{label[1:]}{tail}."


def _step(name: str, table: Mapping[str, Any], hours: int) -> Step:
    """A step as its list writes it. `same_as` names the list of another kind that has it too: only what differs is written; `more` are fields besides."""
    if "same_as" in table:
        other = next(row for row in dict(_files())[table["same_as"]]["steps"] if row["id"] == table["id"])
        table = {key: value for key, value in {**other, **table}.items() if key != "same_as"}
    table = {**table, "fields": [*table.get("fields", ()), *table["more"]]} if "more" in table else dict(table)
    table.pop("more", None)
    unknown = set(table) - _STEP
    if unknown:
        raise ValueError(
            f"step {table.get('id')} of {name}.toml has a key that no step has: {', '.join(sorted(unknown))}"
        )
    if table.get("where", "") not in WHERE:
        raise ValueError(
            f"step {table.get('id')} of {name}.toml: where = {table['where']!r} is not one of {', '.join(filter(None, WHERE))}; a new one goes into step_places.py"
        )
    made = {key: _tuple(value) for key, value in table.items() if key != "fields"}
    return Step(
        list=name, fields=tuple(_field(_with_examples(item, hours)) for item in table.get("fields", ())), **made
    )


def _with_examples(item: Mapping[str, Any], hours: int) -> dict[str, Any]:
    """A field of a list that ships, its example times on a clock of 12 or 24 `hours`."""
    return {
        key: _EXAMPLE.sub(lambda found: on_clock(found[1], hours), value) if key in ("hint", "ask") else value
        for key, value in item.items()
    }


def _tuple(value: Any) -> Any:
    """Lists as tuples, at every depth, so that a step can be a key."""
    return tuple(map(_tuple, value)) if isinstance(value, list) else value


def _field(item: Mapping[str, Any]) -> Field:
    unknown = set(item) - _FIELD
    if unknown:
        raise ValueError(f"field {item.get('name')} has a key that no field has: {', '.join(sorted(unknown))}")
    made = dict(item)
    made["choices"] = tuple((key, words) for key, words in item.get("choices", ()))
    return Field(**made)
