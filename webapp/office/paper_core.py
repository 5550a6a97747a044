"""The core of a place that was keyed from its paper, in the shapes of a packet's; and the same lines read back out of any core.

So a packet that comes later is held against the paper line by line, whatever shape its own figures have. What no paper says is absent: it is
no 0, and the lines of the balance that need it are not drawn.
"""

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from webapp.office import paper_leaf
from webapp.packet.contents import ROW, VERSION
from webapp.packet.figures_from_core import PRECINCTS, sole_tape
from webapp.packet.print_content import total
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
    """The same with every part that a packet has, empty where the paper says nothing. `made`: ms UTC, when two parties signed it."""
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
            again = {} if fed is None else {"fed_again": {"on": at, "n": min(fed, earlier)}}
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


# --- read back


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
