"""All answers of one or two mistakes to a night, found by trying everything: slow, plain, and made without the product.

It settles what "the cheapest five" are, and whether a mistake that was ruled out does stand in some set that adds up. It
knows the table, the codes with their sizes and the bits; it does not look at the readings.
"""

from __future__ import annotations

from collections import defaultdict
from itertools import permutations
from typing import Iterable, Iterator

from nights.costs import SECOND, Item, cost
from nights.effects import boxed_bins, effect, spots, written_at
from nights.lines import FATES, Line, bins_of, explained, gaps_of, number

BUNDLES = (25, 50, 100)
IN_A_ROOM = ("not-checked-in", "checked-in-twice")
AT_A_TABULATOR = ("double-scan", "uncounted-in-bin")
Vector = frozenset[tuple[Line, int]]


def _pack_sizes(f: dict) -> set[int]:
    return {*BUNDLES, f.get("rules", {}).get("pack", 100)}


def _kinds(f: dict) -> list[str]:
    named = list(f.get("set_aside", {})) + [d["id"] for d in f.get("dispositions", ())]
    return [kind for kind in FATES if kind in named and kind != "cast"]


def _of_kinds(f: dict, few: range) -> Iterator[Item]:
    listed = {k: number(f["set_aside"][k]) for k in f.get("set_aside", {})}
    for kind in _kinds(f):
        sizes = range(1, 61) if kind == "emergency" else few
        yield from ({"code": "unrecorded", "disposition": kind, "ballots": n} for n in sizes)
        if kind != "emergency":
            yield from (
                {"code": "recorded-twice", "disposition": kind, "ballots": n}
                for n in few
                if 2 * n <= listed.get(kind, 0)
            )
    for a, b in permutations(_kinds(f), 2):
        yield from ({"code": "misfiled", "from": a, "to": b, "ballots": n} for n in few if n <= listed.get(b, 0))
    if f.get("tabulators"):
        yield from ({"code": "emergency-scanned", "ballots": n} for n in range(1, listed.get("emergency", 0) + 1))
    if "provisional" in _kinds(f):
        yield from (
            {"code": "provisional-scanned", "ballots": n}
            for n in few
            if f.get("tabulators") and n <= listed.get("provisional", 0)
        )
    if "spoiled" in _kinds(f):
        yield from ({"code": "spoiled-with-unused", "ballots": n} for n in few)


def _of_tabulators(f: dict, few: range, far: int) -> Iterator[Item]:
    bins = {t["id"]: t["bins"] for t in f.get("tabulators", ()) if "bins" in t} | dict(boxed_bins(f))
    for shared in bins.keys() - {t["id"] for t in f.get("tabulators", ())}:
        yield from _of_bins(shared, {}, few, far)
    for t in f.get("tabulators", ()):
        here = {"tabulator": t["id"]}
        if "tape" not in t:
            yield from ({"code": "tape-missing", "ballots": n} | here for n in range(10, far))
            continue
        yield from ({"code": code, "ballots": n} | here for code in AT_A_TABULATOR for n in few)
        if bins_of(f, t["id"]) == t["id"]:
            yield from _of_bins(t["id"], bins.get(t["id"], {}), few, far)
        yield from ({"code": "zero-not-zero", "ballots": n} | here for n in range(1, 61))
    if f.get("tabulators") and all("tape" in t for t in f["tabulators"]):
        yield from ({"code": "tape-missing", "ballots": n} for n in range(10, far))


def _of_bins(owner: str, bins: dict, few: range, far: int) -> Iterator[Item]:
    yield from ({"code": "strays-in-bin", "tabulator": owner, "ballots": n} for n in few)
    yield from ({"code": "left-in-bin", "tabulator": owner, "ballots": n} for n in range(1, far))
    if bins.get("write-in"):
        yield {"code": "bin-fed-again", "tabulator": owner, "ballots": bins["write-in"]}


def _of_stock(f: dict, few: range) -> Iterator[Item]:
    sheets = sorted({1, 2, 3, 4} | _pack_sizes(f))
    yield from ({"code": code, "ballots": n} for code in ("short-pack", "over-pack") for n in sheets)
    if "sent" in f.get("stock", {}):
        yield from ({"code": "sent-unlogged", "ballots": n} for n in sheets)
    yield from ({"code": "resupply-unlogged", "ballots": n} for n in {*range(25, 501, 25)} | _pack_sizes(f))
    if "card" in f.get("cast_from", {}):
        yield from ({"code": "card-as-paper", "ballots": n} for n in few)
    if "absentee" in f.get("cast_from", {}):
        yield from ({"code": "absentee-unmarked", "ballots": n} for n in few)


def likely(n: int) -> set[int]:
    """What a figure written n may have been before two digits swapped, one was misread or dropped, or all slid."""
    d = str(n)
    found = {d[:i] + d[j] + d[i + 1 : j] + d[i] + d[j + 1 :] for i in range(len(d)) for j in range(i + 1, len(d))}
    found |= {d[:i] + x + d[i + 1 :] for i in range(len(d)) for x in "0123456789"}
    found |= {d[:i] + x + d[i:] for i in range(len(d) + 1) for x in "0123456789"}
    found |= {d + "0"} | ({d[:-1]} if d.endswith("0") else set())
    return {int(x) for x in found if x and (x == "0" or x[0] != "0")} - {n}


def _counted_more_than_once(f: dict) -> Iterator[tuple[Item, int]]:
    """Piles whose figure is a row of counts."""
    for name in ("received", "unused"):
        figure = f.get("stock", {}).get(name)
        if isinstance(figure, dict):
            yield {"figure": name}, number(figure)
        for row in figure if isinstance(figure, list) else ():
            if isinstance(row["n"], dict):
                yield {"figure": name, "scope": {"style": row["style"]}}, number(row["n"])


def _written(f: dict) -> Iterator[Item]:
    for spot, n in spots(f) + list(_counted_more_than_once(f)):
        if spot["figure"] in ("unused", "received", "main", "write-in"):
            for by in {1, 2} | _pack_sizes(f):
                yield from ({"code": "miscounted"} | spot | {"by": sign * by} for sign in (1, -1) if sign * by <= n)
    for spot, n in spots(f):
        yield from ({"code": "miskeyed"} | spot | {"likely": true} for true in likely(n))


def _scoped(item: Item, f: dict, lines: dict[Line, int]) -> Iterable[Item]:
    """The item once for every scope it may have happened in."""
    if "scope" in item or item["code"] in ("miscounted", "miskeyed"):
        return [item]
    moved = {line for line, _ in effect([item], f, lines)}
    names = {scope for line, scope in lines if scope and line in moved}
    key = "precinct" if ("poll-book", next(iter(names), "")) in lines else "style"
    return [item | {"scope": {key: name}} for name in sorted(names)] if names else [item]


def every_mistake(f: dict) -> list[tuple[Item, Vector]]:
    """Each mistake the page knows, in each size worth trying, with its effect; those on no line are left out."""
    lines = explained(gaps_of(f))
    widest = max(map(abs, lines.values()), default=0)
    few = range(1, max(5, min(widest + 5, 40)))
    items = [{"code": code, "ballots": n} for code in IN_A_ROOM for n in few]
    items += [*_of_kinds(f, few), *_of_tabulators(f, few, widest + 61), *_of_stock(f, few)]
    found = [scoped for item in items for scoped in _scoped(item, f, lines)] + list(_written(f))
    precincts = sorted({scope for line, scope in lines if line == "poll-book" and scope})
    found += [
        {"code": "wrong-precinct", "from": a, "to": b, "ballots": n} for a, b in permutations(precincts, 2) for n in few
    ]
    vectors = ((item, frozenset(effect([item], f, lines).items())) for item in found)
    return [(item, vector) for item, vector in vectors if vector]


def _rest(wanted: dict[Line, int], vector: Vector) -> Vector:
    rest = dict(wanted)
    for line, n in vector:
        rest[line] = rest.get(line, 0) - n
    return frozenset((line, n) for line, n in rest.items() if n)


def directions(item: Item, f: dict) -> dict[object, int]:
    """Which figures the mistake leaves too high (1) or too low (-1), by a name of the figure."""
    code, where = item["code"], item.get("tabulator")
    plain = {
        "not-checked-in": ("poll_book", -1),
        "checked-in-twice": ("poll_book", 1),
        "absentee-unmarked": ("poll_book", -1),
        "double-scan": (("tape", where), 1),
        "bin-fed-again": (("tape", where), 1),
        "zero-not-zero": (("tape", where), 1),
        "uncounted-in-bin": (("tape", where), -1),
        "left-in-bin": (("bin", where), -1),
        "strays-in-bin": (("bin", where), 1),
        "emergency-scanned": ("emergency", 1),
        "provisional-scanned": ("provisional", 1),
        "short-pack": ("received", 1),
        "over-pack": ("received", -1),
        "resupply-unlogged": ("received", -1),
        "sent-unlogged": ("received", 1),
    }
    if code in plain:
        return dict([plain[code]])
    if code == "spoiled-with-unused":
        return {"unused": 1, "spoiled": -1}
    if code in ("unrecorded", "recorded-twice"):
        return {item["disposition"]: 1 if code == "recorded-twice" else -1}
    if code == "misfiled":
        return {item["from"]: -1, item["to"]: 1}
    if code in ("miscounted", "miskeyed"):
        by = item["by"] if code == "miscounted" else written_at(f, item) - item["likely"]
        name = {"main": "bin", "write-in": "bin"}.get(item["figure"], item["figure"])
        return {(name, where) if where else name: 1 if by > 0 else -1}
    return {}


def opposed(items: list[Item], f: dict) -> bool:
    """Two mistakes of one figure in opposite directions: whether a list shows such a pair is left open here."""
    if len(items) < 2:
        return False
    if {"zero-not-zero", "counter_at_zero"} <= {item.get(key) for item in items for key in ("code", "figure")}:
        return True  # what the zero tape read is then lost
    one, other = (directions(item, f) for item in items)
    return any(one[figure] == -other[figure] for figure in one.keys() & other.keys())


def _name(item: Item) -> tuple:
    return tuple(sorted((k, str(v)) for k, v in item.items() if k not in ("ballots", "by", "likely")))


def answers(f: dict) -> list[tuple[float, list[Item]]]:
    """Every set of one or two mistakes that adds up, with its bits, cheapest first."""
    wanted = {line: gap for line, gap in explained(gaps_of(f)).items() if gap}
    tried = every_mistake(f)
    by_vector: dict[Vector, list[int]] = defaultdict(list)
    for i, (_, vector) in enumerate(tried):
        by_vector[vector].append(i)
    goal = frozenset(wanted.items())
    found = [(cost(tried[i][0]), [tried[i][0]]) for i in by_vector.get(goal, ())]
    for i, (item, vector) in enumerate(tried):
        for j in by_vector.get(_rest(wanted, vector), ()):
            other = tried[j][0]
            if i < j and _name(item) != _name(other):
                found.append((cost(item) + cost(other) + SECOND, [item, other]))
    return sorted(found, key=lambda answer: answer[0])
