"""A place written as the text of its place file: one order, one spelling, so that equal places give equal bytes."""

import re
from collections.abc import Iterable, Mapping
from dataclasses import asdict
from datetime import date, datetime, time
from itertools import groupby
from typing import Any

from webapp.precinct.place.board_place import SETTINGS, BoardRoom
from webapp.precinct.place.place import AccuracyTest, Place

TABLES = (
    "parties",
    "officials",
    "precincts",
    "styles",
    "contests",
    "boxes",
    "tabulators",
    "stock",
    "applied",
    "containers",
    "phones",
    "kinds",
)
DEFAULTS = asdict(AccuracyTest())


def write(place: Place) -> str:
    """The place file of this place; `place_file.read` gives the same place back."""
    kind = {} if place.kind == "place" else {"kind": place.kind}
    head = [_pairs({"format": place.format, **kind, "mode": place.mode, "edition": place.edition})]
    facts = ("id", "name", "county", "election", "date", "zone", "opens", "closes", "host")
    head.append("[place]\n" + _pairs(_stated({key: getattr(place, key) for key in facts})))
    rules = {key: value for key, value in asdict(place.rules).items() if (key, value) != ("votes", "sum")}
    head.append("[rules]\n" + _pairs(rules))
    if waits := _stated(asdict(place.queue)):
        head.append("[queue]\n" + _pairs(waits))
    if test := {key: value for key, value in _stated(asdict(place.test)).items() if value != DEFAULTS[key]}:
        head.append("[test]\n" + _pairs(test))
    if place.board:
        head.append("[board]\n" + _pairs(_stated({key: getattr(place.board, key) for key in SETTINGS})))
    rows = [(table, _stated(_as_table(row))) for table in TABLES for row in getattr(place, table)]
    rows += [("seals", row) for row in _runs(place.seals)]
    rows += [("copies", {"for": copy}) for copy in place.copies]
    rows += _of_the_board(place.board) if place.board else []
    rows += [("steps", dict(row)) for row in place.steps]
    return "\n".join([*head, *(f"[[{table}]]\n{_pairs(row)}" for table, row in rows)])


def _of_the_board(room: BoardRoom) -> list[tuple[str, dict[str, Any]]]:
    """Tables, precincts counted together and carriers of a count board."""
    return [
        *(("tables", _stated(asdict(table))) for table in room.tables),
        *(("joined", {"precincts": group}) for group in room.joined),
        *(("carriers", {"id": carrier}) for carrier in room.carriers),
    ]


def _as_table(row: Any) -> dict[str, Any]:
    """A row as its table; what only some places state (sheet breaks, printed order, a choice's party) left out where it is empty."""
    found = asdict(row)
    if "choices" in found:
        found["choices"] = tuple(_stated(choice) for choice in found["choices"])
    return {key: value for key, value in found.items() if key not in ("breaks", "order") or value}


def _stated(row: Mapping[str, Any]) -> dict[str, Any]:
    """What is known: a field that is left out reads as None or an empty text."""
    return {key: value for key, value in row.items() if value is not None and value != ""}


def _pairs(row: Mapping[str, Any]) -> str:
    return "".join(f"{_key(key)} = {_value(value)}\n" for key, value in row.items())


def _key(key: str) -> str:
    return key if re.fullmatch(r"[A-Za-z0-9_-]+", key) else _quoted(key)


def _value(value: Any) -> str:
    match value:
        case bool():
            return str(value).lower()
        case str():
            return _quoted(value)
        case time():
            return f'"{value:%H:%M}"'
        case datetime() | date():
            return value.isoformat()
        case Mapping():
            return "{ " + ", ".join(f"{_key(key)} = {_value(row)}" for key, row in value.items()) + " }"
        case tuple() | list() if value and all(isinstance(row, Mapping) for row in value):
            return "[\n" + "".join(f"    {_value(row)},\n" for row in value) + "]"
        case tuple() | list():
            return "[" + ", ".join(_value(row) for row in value) + "]"
        case _:
            return str(value)


def _quoted(text: str) -> str:
    """A TOML basic string."""
    text = text.replace("\\", "\\\\").replace('"', '\\"')
    return (
        '"'
        + "".join(
            c if c.isprintable() else f"\\u{ord(c):04x}" if ord(c) < 0x10000 else f"\\U{ord(c):08x}" for c in text
        )
        + '"'
    )


def _runs(seals: Iterable[str]) -> list[dict[str, Any]]:
    """Seal numbers that follow one another as `first` and `last`; a number by itself as a range of one."""
    split = [found for number in seals if (found := re.fullmatch(r"(.*?)(\d*)", number))]

    def run(place: tuple[int, re.Match[str]]) -> tuple[Any, ...]:
        i, number = place
        return (number[1], len(number[2]), int(number[2]) - i) if number[2] else (number[0], 0, i)

    rows = []
    for _, group in groupby(enumerate(split), key=run):
        numbers = [number[0] for _, number in group]
        rows.append({"first": numbers[0], "last": numbers[-1]} if numbers[0][-1:].isdigit() else {"numbers": numbers})
    return rows
