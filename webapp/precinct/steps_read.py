"""The default checklists, read from their files, with what one place changes in them."""

import json
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import fields as parts
from dataclasses import replace
from functools import lru_cache
from importlib.resources import files
from typing import Any

from webapp.precinct.place import Place
from webapp.precinct.step import LISTS, Field, Step

_FIELD = {part.name for part in parts(Field)}
_STEP = {part.name for part in parts(Step)}
CHANGES = ("title", "why", "record", "signs", "after", "by", "not_so", "page")


@lru_cache(maxsize=1)
def defaults() -> tuple[Step, ...]:
    """Every step and note that ships, in order."""
    found = []
    for name, _ in LISTS:
        text = (files("webapp.precinct") / "steps" / f"{name}.toml").read_text(encoding="utf-8")
        found += [_step(name, table) for table in tomllib.loads(text)["steps"]]
    return tuple(found)


def default_ids() -> frozenset[str]:
    return frozenset(step.id for step in defaults())


def steps(place: Place) -> tuple[Step, ...]:
    """The steps of this place: the defaults, with its own dropped, changed, added and put in its order."""
    return _changed(json.dumps([dict(change) for change in place.steps], default=list)) if place.steps else defaults()


@lru_cache(maxsize=64)
def _changed(changes: str) -> tuple[Step, ...]:
    found = list(defaults())
    for change in json.loads(changes):
        at = next((i for i, step in enumerate(found) if step.id == change["id"]), None)
        if change.get("drop"):
            if at is not None:
                del found[at]
            continue
        if at is None:
            at = _place_for(found, change)
            found.insert(at, Step(change["id"], found[at - 1].list if at else "opening", change.get("title", change["id"]), change.get("signs", "1")))
        found[at] = _with(found[at], change)
    gone = default_ids() - {step.id for step in found}
    return tuple(replace(step, after=tuple(a for a in step.after if a not in gone)) for step in found)


def _place_for(found: Sequence[Step], change: Mapping[str, Any]) -> int:
    """A new step stands right after the last of the steps that it comes after; without any, at the end of the opening."""
    after = [i for i, step in enumerate(found) if step.id in change.get("after", ())]
    if after:
        return max(after) + 1
    return 1 + max(i for i, step in enumerate(found) if step.list == "opening" and not step.note and step.id != "polls-open")


def _with(step: Step, change: Mapping[str, Any]) -> Step:
    """One step with the place's words and rules; `record` adds fields of its own."""
    new = {key: tuple(value) if isinstance(value, list) else value for key, value in change.items() if key in CHANGES and key != "record"}
    if "record" in change:
        new["fields"] = tuple(_own_field(item) for item in change["record"])
    return replace(step, **new)


def _own_field(item: str | Mapping[str, Any]) -> Field:
    """A field written by the office: `{name, kind, label}`, or `"kind: label"`."""
    if isinstance(item, str):
        kind, _, label = item.partition(":")
        name = "_".join("".join(c if c.isalnum() else " " for c in label.lower()).split())[:32]
        return Field(name, kind.strip(), label.strip(), ask=f"Enter {label.strip().lower()}.")
    return _field(item)


def _step(name: str, table: Mapping[str, Any]) -> Step:
    unknown = set(table) - _STEP
    if unknown:
        raise ValueError(f"step {table.get('id')} of {name}.toml has a key that no step has: {', '.join(sorted(unknown))}")
    made = {key: tuple(value) if isinstance(value, list) else value for key, value in table.items() if key != "fields"}
    return Step(list=name, fields=tuple(_field(item) for item in table.get("fields", ())), **made)


def _field(item: Mapping[str, Any]) -> Field:
    unknown = set(item) - _FIELD
    if unknown:
        raise ValueError(f"field {item.get('name')} has a key that no field has: {', '.join(sorted(unknown))}")
    made = dict(item)
    made["choices"] = tuple((key, words) for key, words in item.get("choices", ()))
    return Field(**made)
