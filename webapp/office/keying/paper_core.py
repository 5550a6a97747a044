"""The core of a place that was keyed from its paper, in the shapes of a packet's; `paper_values.py` reads the same lines back out of any core.

What no paper says is absent: it is no 0, and the lines of the balance that need it are not drawn.
"""

from collections.abc import Mapping
from typing import Any

from webapp.office.keying import paper_leaf
from webapp.packet.contents import ROW, VERSION
from webapp.packet.figures_from_core import PRECINCTS, sole_tape
from webapp.precinct.account import contest_rows
from webapp.precinct.account.contest_rows import added
from webapp.precinct.place.place import Place

Values = Mapping[str, int]
EMPTY: Mapping[str, Any] = {
    "hours": [None, None, None],
    "marks": [],
    "steps": [],
    "readings": [],
    "stock": {},
    "aside": {},
    "emergency": [],
    "people": [],
    "tabulators": [],
    "contests": {},
    "seals": [],
    "containers": [],
    "gaps": [],
    "remarks": [],
}


def core_of(values: Values, place: Place) -> dict[str, Any]:
    """What the paper says, as a packet's core says it; parts of which it says nothing are not there."""
    parts = {
        "hours": [values.get(f"hours.{key}") for key, _ in paper_leaf.HOURS],
        "stock": _stock(values, place),
        "people": _people(values, place),
        "aside": _aside(values, place),
        "drop_off": values.get("drop_off"),
        "emergency": _emergency(values, place),
        "boxes": _boxes(values, place),
        **_tapes(values, place),
        "containers": [
            {"id": one.id, "ballots": values[f"container.{one.id}"]}
            for one in place.containers
            if f"container.{one.id}" in values
        ],
        "seal_stock": {key: values[f"seals.{key}"] for key, _ in paper_leaf.SEALS if f"seals.{key}" in values},
    }
    return {name: part for name, part in parts.items() if part not in (None, {}, []) and part != EMPTY["hours"]}


def whole(core: Mapping[str, Any], place: Place, made: int) -> dict[str, Any]:
    """A keyed core with every part that a packet has, empty where the paper says nothing. `made`: ms UTC, when two parties signed it."""
    return {
        **{name: type(part)(part) for name, part in EMPTY.items()},
        "v": VERSION,
        "place": place.id,
        "place_digest": place.digest,
        "mode": place.mode,
        "number": 0,
        "amends": None,
        "made": made,
        "run": 1,
        "length": 0,
        "head": bytes(32),
        **core,
    }


def _some(rows: Mapping[str, int | None], several: bool, key: str) -> Any:
    """One figure, or a row for each thing that has one; None where none has."""
    there = {name: n for name, n in rows.items() if n is not None}
    if not there:
        return None
    return [{key: name, "n": n} for name, n in there.items()] if several else next(iter(there.values()))


def _stock(values: Values, place: Place) -> dict[str, Any]:
    several, found = len(place.stock) > 1, dict[str, Any]()
    for key in ("received", "unused"):
        rows = _some({s.style: values.get(f"stock.{key}.{s.style}") for s in place.stock}, several, "style")
        found |= {} if rows is None else {key: rows}
    for key in ("resupply", "sent"):
        moved = [
            {**({"style": s.style} if several else {}), "n": n}
            for s in place.stock
            if (n := values.get(f"stock.{key}.{s.style}"))
        ]
        found |= {key: moved} if moved else {}
    packs = [
        {**({"style": s.style} if several else {}), "nominal": max(s.pack or 0, n), "counted": max(s.pack or 0, n) - n}
        for s in place.stock
        if (n := values.get(f"stock.packs.{s.style}"))
    ]
    return found | ({"packs": packs} if packs else {})


def _people(values: Values, place: Place) -> list[dict[str, Any]]:
    several = len(place.precincts) > 1
    n = _some({p.id: values.get(f"book.n.{p.id}") for p in place.precincts}, several, "precinct")
    gone = _some({p.id: values.get(f"book.cancelled.{p.id}") or None for p in place.precincts}, several, "precinct")
    if n is None:
        return []
    return [{"id": "poll_book", "n": n, **({} if gone is None else {"cancelled": gone})}]


def _aside(values: Values, place: Place) -> dict[str, Any]:
    found = {
        name.partition(".")[2]: values[name]
        for name in (one.name for one in paper_leaf.controls(place))
        if name.startswith("aside.") and name in values
    }
    for kind, key in (("emergency", "left"), ("hand-counted", "hand_counted")):
        there = [values[name] for box in place.boxes if (name := f"box.{box.id}.{key}") in values]
        found |= {kind: sum(there)} if there else {}
    return found


def _emergency(values: Values, place: Place) -> list[dict[str, Any]]:
    found = []
    for box in place.boxes:
        row = {key: values[name] for key, _ in paper_leaf.EMERGENCY if (name := f"box.{box.id}.{key}") in values}
        if "found" in row:
            found.append({"id": box.id, "fed": 0, "hand_counted": 0, "left": 0} | row)
    return found


def _boxes(values: Values, place: Place) -> list[dict[str, Any]]:
    """Bins counted by hand, of a box whose every bin is on the paper; what was taken out of it during the day."""
    found = []
    for box in place.boxes:
        row: dict[str, Any] = {"id": box.id}
        if box.bins and all(f"bins.{box.id}.{bin_}" in values for bin_ in box.bins):
            row["bins"] = {bin_: values[f"bins.{box.id}.{bin_}"] for bin_ in box.bins}
        if values.get(f"emptied.{box.id}"):
            row["emptied"] = [{"n": values[f"emptied.{box.id}"]}]
        found += [row] if len(row) > 1 else []
    return found


def _tapes(values: Values, place: Place) -> dict[str, Any]:
    """Tabulators with counters, tape and, where there are several, contests of their own; the contests added up."""
    machines, own = list[dict[str, Any]](), dict[str, dict[str, list[int | None]]]()
    apart = dict[str, dict[str, dict[str, list[int | None]]]]()
    for tabulator in place.tabulators:
        at = tabulator.id
        mine = _apart(values, place, at)
        apart |= {at: mine} if mine else {}
        drawn = {c.id: _row(values, f"votes.{at}", c) for c in place.typed_contests()}
        if place.split() and place.rules.votes == "by-precinct":
            drawn = contest_rows.added_up(place, mine, {p.id: values.get(f"tape.{at}.{p.id}") for p in place.precincts})
        rows = {id: row for id, row in drawn.items() if any(n is not None for n in row)}
        own |= {at: rows} if rows else {}
        earlier = values.get(f"earlier.{at}")
        if earlier is not None:
            fed = values.get(f"fed_again.{at}")
            again = {} if fed is None else {"fed_again": {"on": at, "n": min(fed, earlier)}}  # more was asked about
            before = {"unit": at, "counter": [None, None], "lifetime": [None, None]}
            machines.append({"id": f"{at}/1", "box": tabulator.box, "runs": [before], "tape": earlier, **again})
        machine = _machine(values, place, at, tabulator.box)
        if len(machine) > 2 or rows or mine:
            machines.append(machine)
    contests = {
        c.id: added(columns)
        for c in place.typed_contests()
        if (columns := [mine[c.id] for mine in own.values() if c.id in mine])
    }
    alone = [sole_tape(machines)]
    if own and list(own) != alone:
        machines = [m | ({"contests": own[m["id"]]} if m["id"] in own else {}) for m in machines]
    if apart and list(apart) != alone:
        machines = [m | ({PRECINCTS: apart[m["id"]]} if m["id"] in apart else {}) for m in machines]
    return {
        "tabulators": machines,
        "contests": contests,
        **({PRECINCTS: contest_rows.over_tapes(place, apart)} if apart else {}),
    }


def _apart(values: Values, place: Place, at: str) -> dict[str, dict[str, list[int | None]]]:
    """The rows of one tape by precinct and contest, as far as the paper has them."""
    drawn = {
        p.id: {c.id: _row(values, f"apart.{at}.{p.id}", c) for c in place.contests_of(p.id)} for p in place.split()
    }
    found = {p: {id: row for id, row in rows.items() if any(n is not None for n in row)} for p, rows in drawn.items()}
    return {p: rows for p, rows in found.items() if rows}


def _machine(values: Values, place: Place, at: str, box: str) -> dict[str, Any]:
    found: dict[str, Any] = {"id": at, "box": box}
    ends = {key: values.get(f"counter.{at}.{key}") for key, _ in paper_leaf.ENDS}
    if any(n is not None for n in ends.values()):
        counter, lifetime = ([ends[f"{what}_open"], ends[f"{what}_close"]] for what in ("public", "lifetime"))
        found["runs"] = [{"unit": at, "counter": counter, "lifetime": lifetime}]
    if paper_leaf.ballots(values, place, at) is not None:
        tape = {p.id: values[f"tape.{at}.{p.id}"] for p in place.precincts}
        found["tape"] = _some(dict(tape), len(place.precincts) > 1, "precinct")
    return found


def _row(values: Values, name: str, contest: Any) -> list[int | None]:
    return [values.get(f"{name}.{contest.id}.{line}") for line in (*(c.id for c in contest.choices), *ROW)]
