"""What was kept, as it was typed: the values of a form filled again, for a correction."""

from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any
from zoneinfo import ZoneInfo

from webapp.precinct.numbers import on_clock
from webapp.precinct.place.step import Field, Step


def typed(step: Step, body: Mapping[str, Any], zone: ZoneInfo, hours: int = 24) -> dict[str, str]:
    """Input names and values that give this body again when they are read, with times on a clock of 24 or 12
    `hours`. Free words are not included: they are stored apart from the body."""
    values: dict[str, str] = {}
    for field in step.fields:
        if field.name not in body:
            if field.must == "chosen":
                values[field.name] = ""
            continue
        kept = body[field.name]
        if field.only == "by-precinct":
            for precinct, rows in kept.items():
                values |= _votes(f"{field.name}.{precinct}", rows)
        elif field.kind == "votes":
            values |= _votes(field.name, kept)
        elif field.kind == "several":
            values |= {f"{field.name}.{thing}": "yes" for thing in kept}
        elif field.per and isinstance(kept, Mapping):
            values |= {f"{field.name}.{thing}": _one(field, value, zone, hours) for thing, value in kept.items()}
        else:
            values[field.name] = _one(field, kept, zone, hours)
    return values


def _one(field: Field, value: Any, zone: ZoneInfo, hours: int) -> str:
    if isinstance(value, bool):
        return ("yes" if value else "no") if field.kind == "yes-no" else ("yes" if value else "")
    if field.kind == "time":
        return on_clock(datetime.fromtimestamp(value / 1000, UTC).astimezone(zone).strftime("%H:%M"), hours)
    if isinstance(value, Mapping):
        return "\n".join(f"{code} {number}" for code, number in value.items())
    if isinstance(value, list | tuple):
        return " ".join(str(item) for item in value)
    return "" if value is None else str(value)


def _votes(name: str, contests: Mapping[str, Mapping[str, Any]]) -> dict[str, str]:
    values: dict[str, str] = {}
    for contest, row in contests.items():
        for key, value in row.items():
            if isinstance(value, Mapping):
                values |= {f"{name}.{contest}.{key}.{choice}": str(votes) for choice, votes in value.items()}
            else:
                values[f"{name}.{contest}.{key}"] = str(value)
    return values
