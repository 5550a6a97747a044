"""The changes a place file makes to the default checklists: `[[steps]]` rows, checked before the checklist takes them.

A row names a step by its id. One that ships is changed, or dropped with `drop = true`; any other id is a new step, with a `title`, `signs`
and, in `after`, where it belongs. The rows are handed on as written; `checklist.steps(place)` applies them.
"""

import re
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from webapp.precinct.place import default_steps, step
from webapp.precinct.place.place_kinds import KINDS
from webapp.precinct.place.toml_table import TomlTable, near

STEP_ID = re.compile(r"[a-z0-9-]{1,32}")
FIELD_NAME = re.compile(r"[a-z][a-z0-9_]{0,31}")
BY = re.compile(r"(opens|closes)(-\d{1,3})?|noon")
PAGE = re.compile(r"[a-z0-9-]{1,24}(:T)?")
OWN_KINDS = tuple(
    kind for kind in step.KINDS if kind not in ("several", "votes", "tally", "worked-out")
)  # these four need a page that knows them
MOST_SEATS = 4  # three is what some laws ask for


def changes(rows: Sequence[TomlTable], roles: Iterable[str], kind: str = "place") -> tuple[Mapping[str, Any], ...]:
    """The rows as written, lists as tuples; `roles` has one for each official, whom a list of seats may name; `kind` of the place."""
    ids, staff = default_steps.default_ids(kind or "place"), Counter(roles)
    kept = KINDS[kind or "place"].never_dropped
    new = {id for row in rows if isinstance(id := row.values.get("id"), str)}
    for i, row in enumerate(rows):
        name = _name(row)
        if name and any(other.values.get("id") == name for other in rows[:i]):
            row.wrong(f"The step {name} is changed twice: write all its changes in one [[steps]].", "id")
        if row.has("drop"):
            _drop(row, name, ids, kept)
        else:
            _change(row, name, ids, staff)
            _after(row, ids | new)
        row.done()
    return tuple(_frozen(row.values) for row in rows)


def circles(changed: Sequence[step.Step]) -> tuple[str, ...]:
    """The ids of steps that wait for one another and so would never open; none when all is well."""
    waiting = {s.id: {a for a in s.after if a != "*"} for s in changed}
    while True:
        wanted = set().union(*waiting.values()) if waiting else set()
        kept = {
            name: after & waiting.keys() for name, after in waiting.items() if name in wanted and after & waiting.keys()
        }
        if kept.keys() == waiting.keys():
            return tuple(s.id for s in changed if s.id in waiting)
        waiting = kept


def _name(row: TomlTable) -> str:
    name = row.raw("id")
    if not isinstance(name, str) or not STEP_ID.fullmatch(name):
        row.wrong(
            'A [[steps]] begins with the id of a step in small letters, digits and dashes: write id = "room-view".',
            "id",
        )
        return ""
    row.name = f"the step {name}"
    return name


def _drop(row: TomlTable, name: str, ids: frozenset[str], kept: Mapping[str, str]) -> None:
    if row.raw("drop") is not True:
        row.wrong(f"drop of {row.name} can only be true: write drop = true, or take the key out.", "drop")
    if name and name not in ids:
        row.wrong(
            f"There is no step {name} to drop: write the id of a step of the default checklists{near(name, sorted(ids)) or '.'}",
            "id",
        )
    if name in kept:
        row.wrong(f"The step {name} cannot be dropped, as {kept[name]}: change its words instead.", "drop")
    others = [key for key in row.values if key not in ("id", "drop")]
    if others:
        row.wrong(
            f"The step {name} is dropped and changed at once: keep drop = true, or {' and '.join(others)}.", "drop"
        )
    for key in others:
        row.raw(key)


def _change(row: TomlTable, name: str, ids: frozenset[str], staff: Counter[str]) -> None:
    if name and name not in ids:
        like = near(name, sorted(ids))
        for key, example in (("title", '"Light the lamp over the door"'), ("signs", '"1"'), ("after", '["access"]')):
            if not row.has(key):
                row.wrong(
                    f"The step {name} is none that ships, and as a new step it has no {key}: write {key} = {example}, or mend the id{like or '.'}",
                    "id",
                )
    elif name and len(row.values) == 1:
        row.wrong(
            f"The step {name} is named and nothing about it is changed: write drop = true or one of {', '.join(default_steps.CHANGES)}.",
            "id",
        )
    row.text("title", "Light the lamp over the door", "")
    for key in ("why", "not_so"):
        row.text(key, "One or two plain sentences.", "", most=600, lines=True)
    _shaped(row, "by", BY, '"opens-30", "noon" or "closes"')
    _shaped(row, "page", PAGE, 'the name of a page, such as "seals-in", or "zero:T" for one page a tabulator')
    _signs(row, staff)
    record = row.raw("record")
    if record is not None and not isinstance(record, list):
        row.wrong(f'record of {row.name} is a list: write record = ["number: Lamps lit"].', "record")
    _record(row, record if isinstance(record, list) else [])


def _shaped(row: TomlTable, key: str, form: re.Pattern[str], like: str) -> None:
    value = row.raw(key)
    if value is not None and value != "" and not (isinstance(value, str) and form.fullmatch(value)):
        row.wrong(f'{key} of {row.name} is not of the form that is known: write {like}, or "" for none.', key)


def _signs(row: TomlTable, staff: Counter[str]) -> None:
    """A weight of `day/seats.py`, or a list of seats that the officials here can fill."""
    weight = row.text("signs", "P", "", most=80)
    seats = weight.split("+")
    if not weight or weight in ("T", "1", "2", "P", "all"):
        return
    unknown = [seat for seat in seats if seat not in ("any", "other") and seat not in staff]
    if unknown or len(seats) < 2:
        row.wrong(
            f'signs of {row.name} is "{weight}": write T, 1, 2, P or all, or seats joined by + such as "chair+other", from any, other and '
            f"the roles of the officials here.",
            "signs",
        )
    elif len(seats) > MOST_SEATS:
        row.wrong(
            f'signs of {row.name} is "{weight}", {len(seats)} signatures: write at most {MOST_SEATS}, or all.', "signs"
        )
    for seat in dict.fromkeys(seats):
        if seat in staff and seats.count(seat) > staff[seat]:
            row.wrong(
                f'signs of {row.name} is "{weight}", and the officials here have the role {seat} {staff[seat]} time{"s"[: staff[seat] != 1]}: write any or other '
                f"for the rest.",
                "signs",
            )


def _after(row: TomlTable, ids: Iterable[str]) -> None:
    after = row.raw("after")
    if after is None:
        return
    if not isinstance(after, list) or not all(isinstance(name, str) for name in after):
        row.wrong(f'after of {row.name} is a list of steps that come first: write after = ["oath"].', "after")
        return
    for i, name in enumerate(after):
        if name == row.values.get("id"):
            row.wrong(f"The step {name} would wait for itself: take it out of its after.", "after", i)
        elif name != "*" and name not in ids:
            row.wrong(
                f"after of {row.name} names {name}, and there is no such step: write the id of one{near(name, sorted(ids)) or '.'}",
                "after",
                i,
            )


def _record(row: TomlTable, record: list[Any]) -> None:
    """Each field `"kind: label"`, or braces with name, kind and label."""
    names: set[str] = set()
    for i, item in enumerate(record):
        if isinstance(item, dict):
            name = _field(TomlTable(row.form, (*row.path, "record", i), item, f"a field of {row.name}"))
        elif (
            isinstance(item, str)
            and item.partition(":")[0].strip() in OWN_KINDS
            and any(map(str.isalnum, item.partition(":")[2]))
        ):
            name = default_steps._own_field(item).name
        else:
            row.wrong(
                f'What {row.name} records is written as "kind: label", such as "number: Lamps lit"; kinds are {", ".join(OWN_KINDS)}.',
                "record",
                i,
            )
            continue
        if name in step.NEVER_NAMES or name in names:
            row.wrong(
                f"T{row.name[1:]} records two things called {name}, or one whose name is taken: give it another label.",
                "record",
                i,
            )
        names.add(name)


def _field(field: TomlTable) -> str:
    name = field.raw("name")
    if not isinstance(name, str) or not FIELD_NAME.fullmatch(name):
        field.wrong(
            f'{field.name} has no name the record could use: write name = "lamps", in small letters, digits and _.',
            "name",
        )
        name = ""
    if field.one_of("kind", OWN_KINDS) == "choice" and not field.has("choices"):
        field.wrong(
            f'{field.name} is a choice of nothing: write choices = [["lit", "All lit"], ["dark", "Some dark"]].', "kind"
        )
    field.text("label", "Lamps lit")
    for key in ("hint", "ask", "default"):
        field.text(key, "In digits", "", most=300)
    field.one_of("per", ("", "tabulator", "style", "official", "book"), "")
    field.yes("optional", False)
    field.whole("most", 10, None)
    pairs = field.raw("choices")
    if pairs is not None and not (
        isinstance(pairs, list)
        and pairs
        and all(
            isinstance(pair, list) and len(pair) == 2 and all(isinstance(text, str) and text for text in pair)
            for pair in pairs
        )
    ):
        field.wrong(
            f'choices of {field.name} are pairs of an id and its words: write choices = [["lit", "All lit"], ["dark", "Some dark"]].',
            "choices",
        )
    field.done()
    return name


def _frozen(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _frozen(row) for key, row in value.items()}
    return tuple(_frozen(row) for row in value) if isinstance(value, list) else value
