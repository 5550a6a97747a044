"""The changes a place file makes to the default checklists: `[[steps]]` rows, looked over before the checklist takes them.

A row names a step by its id. One that ships is changed, or dropped with `drop = true`; any other id is a new step and needs `list`, `title`
and `signs`. The rows are handed on as written; `checklist.steps(place)` applies them.
"""

import re
from collections.abc import Mapping
from typing import Any

from webapp.precinct.toml_table import Table

LISTS = ("opening", "voting", "closing", "hand-over", "office")
STEP_ID = re.compile(r"[a-z0-9-]{1,32}")
SIGNS = re.compile(r"T|1|2|P|any|each|all|[^\W\d_][\w' -]*(\+[^\W\d_][\w' -]*)+")
FIELD_KINDS = ("yes", "tick", "yes-no", "time", "number", "seal", "choice", "words", "code")
WORDS = ("title", "why", "do", "not_so", "page", "by", "caution", "source")
LONG = ("why", "do", "not_so", "caution")
ORDER = ("before", "behind")


def changes(rows: tuple[Table, ...], known: frozenset[str]) -> tuple[Mapping[str, Any], ...]:
    """The rows as written (lists as tuples); `known` are the ids of the default steps, empty where they cannot be told."""
    new = {row.values.get("id") for row in rows if isinstance(row.values.get("id"), str)}
    for i, row in enumerate(rows):
        name = _name(row)
        if name and any(other.values.get("id") == name for other in rows[:i]):
            row.wrong(f"The step {name} is changed twice: write all its changes in one [[steps]].", "id")
        if row.has("drop"):
            _drop(row, name, known)
        else:
            _change(row, name, known, known | new)
        row.done()
    return tuple(_frozen(row.values) for row in rows)


def _name(row: Table) -> str:
    name = row.raw("id")
    if not isinstance(name, str) or not STEP_ID.fullmatch(name):
        row.wrong('A [[steps]] begins with the id of a step, small letters, digits and dashes: write id = "room-view".', "id")
        return ""
    row.name = f"the step {name}"
    return name


def _drop(row: Table, name: str, known: frozenset[str]) -> None:
    if row.raw("drop") is not True:
        row.wrong(f"drop of {row.name} can only be true: write drop = true, or take the key out.", "drop")
    if name and known and name not in known:
        row.wrong(f"There is no step {name} to drop: write the id of a step of the default checklists.", "id")
    if len(row.values) > 2:
        row.wrong(f"{row.name} is dropped and changed at once: keep drop = true, or the changes.".capitalize(), "drop")
    for key in row.values:
        row.raw(key)


def _change(row: Table, name: str, known: frozenset[str], all_ids: frozenset[str]) -> None:
    if name and known and name not in known:
        for key, like in (("list", '"opening"'), ("title", '"Hang the lamp over the door"'), ("signs", '"1"')):
            if not row.has(key):
                row.wrong(f"The step {name} is none of the default steps, and as a new one it has no {key}: write {key} = {like}, "
                          "or mend the id.", "id")
    for key in WORDS:
        row.text(key, "as it is read aloud", "", most=600, lines=key in LONG)
    row.one_of("list", LISTS, LISTS[0])
    row.yes("repeats", False)
    row.one_of("per", ("", "tabulator", "box"), "")
    signs = row.text("signs", "P", "", most=60)
    if signs and not SIGNS.fullmatch(signs):
        row.wrong(f'signs of {row.name} is "{signs}": write T, 1, 2, P, all, each, or seats joined by +, such as "chair+other".', "signs")
    for key in ("after", *ORDER):
        _ids(row, key, known, all_ids)
    for field in row.tables("record", '{ name = "lamps", kind = "number", label = "Lamps" }'):
        _field(field)


def _ids(row: Table, key: str, known: frozenset[str], all_ids: frozenset[str]) -> None:
    """`after` is a list of step ids; a place in the order is one id."""
    value = row.raw(key)
    if value is None:
        return
    names = value if isinstance(value, list) and key == "after" else [value]
    for i, name in enumerate(names):
        if not isinstance(name, str):
            row.wrong(f'{key} of {row.name} names no step: write ids in quotes, such as "oath".', key)
        elif known and name not in all_ids:
            row.wrong(f"{key} of {row.name} names {name}, and there is no such step: write the id of a step.", key, i)


def _field(field: Table) -> None:
    name = field.raw("name")
    if not isinstance(name, str) or not re.fullmatch(r"[a-z][a-z0-9_]{0,31}", name):
        field.wrong(f'name of {field.name} is what the record calls it: write small letters, digits and _, such as name = "lamps".', "name")
    field.one_of("kind", FIELD_KINDS)
    field.text("label", "Lamps")
    field.text("hint", "Count them all", "", most=300)
    field.text("per", "style", "", most=16)
    field.codes("choices", "yes", ())
    field.yes("optional", False)
    field.raw("default")
    field.done()


def _frozen(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _frozen(row) for key, row in value.items()}
    return tuple(_frozen(row) for row in value) if isinstance(value, list) else value


