"""The lines of a place's paper, read back out of any core: a packet that comes later is compared with the paper line by line, whatever its shapes."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from webapp.office.keying import paper_leaf
from webapp.packet.contents import ROW
from webapp.packet.figures_from_core import PRECINCTS, sole_tape
from webapp.packet.print_content import total
from webapp.precinct.place.place import Place


def values_of(core: Mapping[str, Any], place: Place) -> dict[str, int]:
    """Every line of the leaf that a core has, a packet's or a keyed one's. Lines that it has not are not there."""
    found: dict[str, int | None] = {}
    for one in paper_leaf.controls(place):
        kind, *rest = one.name.split(".")
        found[one.name] = _READ[kind](core, place, rest)
    return {name: n for name, n in found.items() if n is not None}


def _part(figure: Any, key: str, name: str, several: bool) -> int | None:
    """The part of a figure that is of one style or precinct; the whole of it where there is one only."""
    if figure is None or not several:
        return total(figure)
    rows = [row for row in figure if row.get(key) == name] if isinstance(figure, list) else []
    return total(rows) if rows else None


def _of_hours(core: Mapping[str, Any], place: Place, rest: list[str]) -> int | None:
    return core["hours"][[key for key, _ in paper_leaf.HOURS].index(rest[0])]


def _of_stock(core: Mapping[str, Any], place: Place, rest: list[str]) -> int | None:
    key, style = rest
    several, stock = len(place.stock) > 1, core["stock"]
    if key != "packs":
        return _part(stock.get(key), "style", style, several)
    rows = [row for row in stock.get("packs", ()) if not several or row.get("style") == style]
    return sum(row["nominal"] - row["counted"] for row in rows) if rows else None


def _of_book(core: Mapping[str, Any], place: Place, rest: list[str]) -> int | None:
    book = _by_id(core["people"], "poll_book")
    return _part(book.get(rest[0]), "precinct", rest[1], len(place.precincts) > 1)


def _of_boxes(core: Mapping[str, Any], place: Place, rest: list[str]) -> int | None:
    return _by_id(core["emergency"], rest[0]).get(rest[1])


def _of_bins(core: Mapping[str, Any], place: Place, rest: list[str]) -> int | None:
    bins = _by_id(core.get("boxes", ()), rest[0]).get("bins") or {}
    return total(bins.get(rest[1]))


def _of_emptied(core: Mapping[str, Any], place: Place, rest: list[str]) -> int | None:
    emptied = _by_id(core.get("boxes", ()), rest[0]).get("emptied") or ()
    counted = [total(one.get("n")) for one in emptied]
    return sum(n for n in counted if n is not None) if counted and None not in counted else None


def _of_counter(core: Mapping[str, Any], place: Place, rest: list[str]) -> int | None:
    runs = _tabulator(core, rest[0]).get("runs") or []
    what, _, end = rest[1].partition("_")
    if not runs or (what == "lifetime" and len(runs) > 1):
        return None
    ends = runs[0 if end == "open" else -1].get("counter" if what == "public" else "lifetime")
    return ends[0 if end == "open" else 1] if ends else None


def _of_tape(core: Mapping[str, Any], place: Place, rest: list[str]) -> int | None:
    return _part(_tabulator(core, rest[0]).get("tape"), "precinct", rest[1], len(place.precincts) > 1)


def _of_earlier(core: Mapping[str, Any], place: Place, rest: list[str]) -> int | None:
    return total(_tabulator(core, f"{rest[0]}/1").get("tape"))


def _of_votes(core: Mapping[str, Any], place: Place, rest: list[str]) -> int | None:
    at, id, line = rest
    own = _tabulator(core, at).get("contests") if any("contests" in one for one in core["tabulators"]) else None
    rows = own if own is not None else core["contests"] if sole_tape(core["tabulators"]) == at else {}
    contest, row = place.contest(id), rows.get(id)
    return row[[*(c.id for c in contest.choices), *ROW].index(line)] if row and contest else None


def _of_apart(core: Mapping[str, Any], place: Place, rest: list[str]) -> int | None:
    at, precinct, id, line = rest
    own = _tabulator(core, at).get(PRECINCTS) if any(PRECINCTS in one for one in core["tabulators"]) else None
    rows = own if own is not None else core.get(PRECINCTS, {}) if sole_tape(core["tabulators"]) == at else {}
    contest, row = place.contest(id), rows.get(precinct, {}).get(id)
    return row[[*(c.id for c in contest.choices), *ROW].index(line)] if row and contest else None


def _tabulator(core: Mapping[str, Any], at: str) -> Mapping[str, Any]:
    return _by_id(core["tabulators"], at)


def _by_id(rows: Sequence[Mapping[str, Any]], id: str) -> Mapping[str, Any]:
    """The row of this id; {} where there is none."""
    return next((row for row in rows if row["id"] == id), {})


_READ: Mapping[str, Callable[[Mapping[str, Any], Place, list[str]], int | None]] = {
    "hours": _of_hours,
    "stock": _of_stock,
    "book": _of_book,
    "aside": lambda core, place, rest: total(core["aside"].get(rest[0])),
    "drop_off": lambda core, place, rest: total(core.get("drop_off")),
    "box": _of_boxes,
    "bins": _of_bins,
    "emptied": _of_emptied,
    "counter": _of_counter,
    "tape": _of_tape,
    "earlier": _of_earlier,
    "fed_again": lambda core, place, rest: (_tabulator(core, f"{rest[0]}/1").get("fed_again") or {}).get("n"),
    "votes": _of_votes,
    "apart": _of_apart,
    "container": lambda core, place, rest: total(_by_id(core["containers"], rest[0]).get("ballots")),
    "seals": lambda core, place, rest: (core.get("seal_stock") or {}).get(rest[0]),
}
