"""What a mistake does to the lines, and what it costs: section 5 of the balance's page read a second time.

Used to check every answer of the product (does it add up? is it as cheap as the truth?) and to check this simulation: the
gaps of a night lived through with a mistake must equal the effect stated here. A `because` item is a dict as in the JSON.
"""

from __future__ import annotations

from collections import Counter
from typing import Callable, Container

from nights.lines import Line, bins_of, flags, gaps_of

Item = dict[str, object]


def _on(item: Item, *moves: tuple[str, int]) -> Counter:
    """The same move on the whole room and on each scope the item carries."""
    names = [""] + list(item.get("scope", {}).values())
    return Counter({(line, name): n for line, n in moves for name in names})


def _kind(item: Item, f: dict, fate: str, sign: int) -> Counter:
    origin, n = item.get("origin", "paper"), sign * item["ballots"]
    stock, book, counted = flags(f, fate, origin)
    effect = _on(item, ("stock", n * (stock - counted)), ("poll-book", n * (book - counted)))
    if origin != "paper":  # its own pile, where one is kept
        effect["stock", origin] += n * flags(f, fate)[0]
    return effect


def _misfiled(item: Item, f: dict) -> Counter:
    effect = _kind(item, f, item["from"], 1)
    effect.subtract(_kind(item, f, item["to"], 1))
    return effect


def _zero(item: Item, f: dict) -> Counter:
    """What lay on the counter is counted as voters' ballots by the tape; where the tape is not in, by the counter alone."""
    n, name = item["ballots"], item["tabulator"]
    row = next(t for t in f["tabulators"] if t["id"] == name)
    effect = _room_and_bins(item, f, -1, -1) if row.get("tape") is not None else Counter()
    first = row["runs"][0] if "runs" in row else {}
    at_zero, unit = (first["counter"][0], first["unit"]) if first else (row.get("counter_at_zero", 0), "")
    effect[(f"counter:{name}", "") if at_zero == n else (f"lifetime:{name}", unit)] = -n
    return effect


def _room_and_bins(item: Item, f: dict, room: int, bins: int) -> Counter:
    n = item["ballots"]
    effect = _on(item, ("stock", room * n), ("poll-book", room * n))
    if bins:
        effect[f"bins:{bins_of(f, item['tabulator'])}", ""] = bins * n
    return effect


def _wrong_precinct(item: Item) -> Counter:
    n = item["ballots"]
    return Counter({("poll-book", item["from"]): n, ("poll-book", item["to"]): -n})


def _figure(item: Item, f: dict, by: int) -> Counter:
    """A figure written `by` more than it should be."""
    name, where = item["figure"], item.get("tabulator")
    if name == "unused":
        return _on(item, ("stock", -by), ("stubs", by))
    if name == "received":
        return _on(item, ("stock", by), ("stubs", -by))
    if name == "poll_book":
        return _on(item, ("poll-book", by))
    if name in ("main", "write-in"):
        return Counter({(f"bins:{where}", ""): by})
    if name == "tape":
        effect = _on(item, ("stock", -by), ("poll-book", -by))
        effect.update({(f"bins:{bins_of(f, where)}", ""): -by, (f"counter:{where}", ""): -by})
        return effect
    unit = item.get("scope", {}).get("unit", "")
    sign = {"counter_at_close": 1, "counter_at_zero": -1}.get(name)
    if sign:
        return Counter({(f"counter:{where}", ""): sign * by, (f"lifetime:{where}", unit): -sign * by})
    if name in ("lifetime_at_close", "lifetime_at_zero"):
        return Counter({(f"lifetime:{where}", unit): by if name.endswith("close") else -by})
    raise LookupError(f"No figure {name!r} on the balance's page.")


def written_at(f: dict, item: Item) -> int:
    """What is written where the item points; a plain 0 stands for 0 in every scope."""
    scope = item.get("scope", {})
    at = {key: item[key] for key in ("figure", "tabulator") if key in item}
    for spot, n in spots(f):
        if spot == at | ({"scope": scope} if scope else {}) or (spot == at and n == 0):
            return n
    if "unit" in scope:
        return _run(f, item)
    return _row(f, item)["n"]


def _run(f: dict, item: Item) -> int:
    """A counter of one unit that carried the memory for a part of the day."""
    kind, _, end = item["figure"].partition("_at_")
    row = next(t for t in f["tabulators"] if t["id"] == item["tabulator"])
    return next(run[kind] for run in row["runs"] if run["unit"] == item["scope"]["unit"])[end == "close"]


def _row(f: dict, item: Item) -> dict:
    """The row of a set-aside list that the item points at; the only row needs no pointing."""
    rows = f.get("set_aside", {}).get(item["figure"])
    if not isinstance(rows, list):
        return {}
    if len(rows) == 1 and "scope" not in item:
        return rows[0]
    return next((row for row in rows if {k: v for k, v in row.items() if k != "n"} == item.get("scope", {})), {})


def _miskeyed(item: Item, f: dict) -> Counter:
    by = written_at(f, item) - item["likely"]
    if item["figure"] in f.get("set_aside", {}):
        effect = Counter()
        origin = _row(f, item).get("origin", "paper")
        effect.subtract(_kind(item | {"ballots": by, "origin": origin}, f, item["figure"], 1))
        return effect
    return _figure(item, f, by)


EFFECTS: dict[str, Callable[[Item, dict], Counter]] = {
    "unrecorded": lambda i, f: _kind(i, f, i["disposition"], 1),
    "recorded-twice": lambda i, f: _kind(i, f, i["disposition"], -1),
    "misfiled": _misfiled,
    "miscounted": lambda i, f: _figure(i, f, i["by"]),
    "miskeyed": _miskeyed,
    "not-checked-in": lambda i, f: _on(i, ("poll-book", -i["ballots"])),
    "checked-in-twice": lambda i, f: _on(i, ("poll-book", i["ballots"])),
    "double-scan": lambda i, f: _room_and_bins(i, f, -1, -1),
    "uncounted-in-bin": lambda i, f: _room_and_bins(i, f, 1, 1),
    "left-in-bin": lambda i, f: _room_and_bins(i, f, 0, -1),
    "strays-in-bin": lambda i, f: _room_and_bins(i, f, 0, 1),
    "emergency-scanned": lambda i, f: _room_and_bins(i, f, -1, 0),
    "provisional-scanned": lambda i, f: _room_and_bins(i, f, -1, 0),
    "bin-fed-again": lambda i, f: _room_and_bins(i, f, -1, -1),
    "tape-missing": lambda i, f: _room_and_bins(i, f, 1, 0),
    "zero-not-zero": _zero,
    "short-pack": lambda i, f: _on(i, ("stock", i["ballots"]), ("stubs", -i["ballots"])),
    "over-pack": lambda i, f: _on(i, ("stock", -i["ballots"]), ("stubs", i["ballots"])),
    "resupply-unlogged": lambda i, f: _on(i, ("stock", -i["ballots"]), ("stubs", i["ballots"])),
    "sent-unlogged": lambda i, f: _on(i, ("stock", i["ballots"])),
    "spoiled-with-unused": lambda i, f: _on(i, ("stubs", i["ballots"])),
    "card-as-paper": lambda i, f: _on(i, ("stock", -i["ballots"])),
    "absentee-unmarked": lambda i, f: _on(i, ("poll-book", -i["ballots"])),
    "wrong-precinct": lambda i, f: _wrong_precinct(i),
}


def effect(items: list[Item], f: dict, lines: Container[Line] | None = None) -> dict[Line, int]:
    """The gaps these mistakes make on the lines of this file; lines that stand at 0 are left out."""
    lines, total = gaps_of(f) if lines is None else lines, Counter()
    for item in items:
        total.update(EFFECTS[item["code"]](item, f))
    if ("paper-to-book", "") in lines:
        for (line, scope), n in list(total.items()):
            if line in ("stock", "poll-book"):
                total["paper-to-book", scope] += n if line == "stock" else -n
    return {line: n for line, n in total.items() if n and line in lines}


def spots(f: dict) -> list[tuple[Item, int]]:
    """Every figure that a hand may have typed wrong: where it stands, and what is written there."""
    found: list[tuple[Item, int]] = []

    def add(name: str, figure: object, **where: object) -> None:
        if isinstance(figure, int):
            found.append(({"figure": name} | where, figure))
        for row in figure if isinstance(figure, list) else ():
            if isinstance(row["n"], int) and "origin" not in row:
                scope = {k: row[k] for k in ("precinct", "style") if k in row}
                found.append(({"figure": name} | where | ({"scope": scope} if scope else {}), row["n"]))

    for name in ("received", "unused"):
        add(name, f.get("stock", {}).get(name))
    add("poll_book", f.get("poll_book"))
    for row in f.get("voters", ()):
        if row["id"] == "poll_book":
            add("poll_book", row["n"])
    for kind, figure in f.get("set_aside", {}).items():
        add(kind, figure)
    for t in f.get("tabulators", ()):
        for name in ("tape", "counter_at_zero", "counter_at_close", "lifetime_at_zero", "lifetime_at_close"):
            add(name, t.get(name), tabulator=t["id"])
        for run in t.get("runs", ()):
            for kind in ("counter", "lifetime"):
                for name, n in zip((f"{kind}_at_zero", f"{kind}_at_close"), run.get(kind, ())):
                    add(name, n, tabulator=t["id"], scope={"unit": run["unit"]})
        for name, figure in t.get("bins", {}).items():
            add(name, figure, tabulator=t["id"])
    for owner, bins in boxed_bins(f):
        for name, figure in bins.items():
            add(name, figure, tabulator=owner)
    return found


def boxed_bins(f: dict) -> list[tuple[str, dict]]:
    """Bins written with a box of their own, by the id of their line."""
    on = {t["box"]: t["id"] for t in reversed(f.get("tabulators", ())) if "box" in t}
    return [(bins_of(f, on[box["id"]]), box["bins"]) for box in f.get("boxes", ()) if "bins" in box and box["id"] in on]
