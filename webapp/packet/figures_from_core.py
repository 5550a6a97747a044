"""Writes the balance's JSON back out of a packet's core, so that the office draws every line again from what it was sent.

Rules and ballot kinds are not in a core: both sides have the place file.
"""

from collections.abc import Mapping, Sequence
from typing import Any

from webapp.packet import board_core
from webapp.precinct.account.contest_rows import of_rows
from webapp.precinct.account.figures_of_day import rules
from webapp.precinct.day.notes import dispositions
from webapp.precinct.place.place import Place

RENAMED: tuple[tuple[str, str, Any], ...] = (
    ("stock", "stock", {}),
    ("set_aside", "aside", {}),
    ("voters", "people", []),
    ("readings", "readings", []),
)
"""(name in the balance, name in the core, what stands there when there is none)."""

PRECINCTS = "contests_by_precinct"
"""The part of a core, and of a tape in it, that has the rows of its contests by precinct, where tapes print them so."""

OWN_NAMES = ("stubs", "other_stock", "cast_from", "seal_stock")
"""Parts of the balance that stand in the core under their own names, where the place has them."""


def figures(core: Mapping[str, Any], place: Place) -> dict[str, Any]:
    """The balance's JSON of a core. Raises KeyError, TypeError or ValueError where the core does not fit this place file."""
    found = {"rules": rules(place), "dispositions": dispositions(place)}
    found |= {name: core[ours] for name, ours, _ in RENAMED} | {name: core[name] for name in OWN_NAMES if name in core}
    found["tabulators"] = [
        {name: part for name, part in t.items() if name not in ("contests", PRECINCTS)} for t in core["tabulators"]
    ]
    found["boxes"] = _boxes(core, place)
    found["seals"] = [_said(row) for row in core["seals"]]
    found["containers"] = [_said(row) for row in core["containers"] if row.get("ballots") is not None]
    found["contests"] = _contests(core, place)
    found |= board_core.figures(core)
    return {name: part for name, part in found.items() if part}


def _said(row: Mapping[str, Any]) -> dict[str, Any]:
    """A row without its null values."""
    return {name: value for name, value in row.items() if value is not None}


def _boxes(core: Mapping[str, Any], place: Place) -> list[dict[str, Any]]:
    """Bins and emergency bin of each box, joined again, in the order of the place file."""
    boxes = {box["id"]: dict(box) for box in core.get("boxes", [])}
    for row in core["emergency"]:
        boxes.setdefault(row["id"], {"id": row["id"]})["emergency"] = {
            name: n for name, n in row.items() if name != "id"
        }
    order = [box.id for box in place.boxes]
    return sorted(boxes.values(), key=lambda box: order.index(box["id"]))


def sole_tape(tabulators: Sequence[Mapping[str, Any]]) -> str | None:
    """The id of the one tabulator with a tape, leaving out memories taken out of it (T1/1); None where there are more or none."""
    with_tape = [t["id"] for t in tabulators if "tape" in t and "/" not in t["id"]]
    return with_tape[0] if len(with_tape) == 1 else None


def cast(core: Mapping[str, Any]) -> int:
    """Ballots that count: on the tapes, less those fed again and those taken off for a failed tabulator."""
    taped = [t for t in core["tabulators"] if t.get("tape") is not None]
    return sum(_on(t["tape"]) - t.get("fed_again", {}).get("n", 0) - t.get("subtract", {}).get("n", 0) for t in taped)


def _on(tape: Any) -> int:
    return tape if isinstance(tape, int) else sum(row["n"] for row in tape if row.get("sheet", 1) == 1)


def _contests(core: Mapping[str, Any], place: Place) -> list[dict[str, Any]]:
    """Each contest on each tape: from the tape's own rows, or from the room's row where there is one tape only."""
    own = {t["id"]: t["contests"] for t in core["tabulators"] if "contests" in t}
    sole = sole_tape(core["tabulators"])
    by_tape = own or ({sole: core["contests"]} if sole else {})
    apart = {t["id"]: t[PRECINCTS] for t in core["tabulators"] if PRECINCTS in t}
    apart = apart or ({sole: core[PRECINCTS]} if sole and PRECINCTS in core else {})
    tallied = core.get("write_ins", {})
    found = []
    for contest in place.typed_contests():
        part = of_rows(
            contest,
            {at: rows[contest.id] for at, rows in by_tape.items() if contest.id in rows},
            tallied.get(contest.id),
            apart,
        )
        found += [part] if part else []
    return found
