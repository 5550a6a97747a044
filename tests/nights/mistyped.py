"""Mistakes made with the pencil after the day: a pile counted wrong, digits that slide, swap, drop out or are misread.

Each changes one figure that stands in the file and answers with the truth as a `because` item, or None where the slip
would leave a file that nobody could hand in (more unused than received, a figure below zero).
"""

from __future__ import annotations

from random import Random
from typing import Callable, Iterator

from nights.costs import Item
from nights.effects import boxed_bins, spots
from nights.lines import number


def _figures(f: dict) -> Iterator[tuple[str, str | None, dict, str]]:
    """(name, tabulator, holder, key) of every figure or list of rows."""
    for name in ("received", "unused"):
        yield name, None, f["stock"], name
    if "poll_book" in f:
        yield "poll_book", None, f, "poll_book"
    for row in f.get("voters", ()):
        if row["id"] == "poll_book":
            yield "poll_book", None, row, "n"
    for kind in f["set_aside"]:
        yield kind, None, f["set_aside"], kind
    for t in f.get("tabulators", ()):
        for name in ("tape", "counter_at_zero", "counter_at_close", "lifetime_at_zero", "lifetime_at_close"):
            if name in t:
                yield name, t["id"], t, name
        for name in t.get("bins", ()):
            yield name, t["id"], t["bins"], name
    for owner, bins in boxed_bins(f):
        for name in bins:
            yield name, owner, bins, name


def _change(f: dict, spot: Item, alter: Callable[[int], int]) -> None:
    """Alter the figure at this spot, every repeated count of it alike."""
    unit = spot.get("scope", {}).get("unit")
    for run in (run for t in f.get("tabulators", ()) if t["id"] == spot.get("tabulator") for run in t.get("runs", ())):
        if run["unit"] == unit:
            kind, _, end = spot["figure"].partition("_at_")
            run[kind][end == "close"] = alter(run[kind][end == "close"])
            return
    for name, tabulator, holder, key in _figures(f):
        if name != spot["figure"] or tabulator != spot.get("tabulator"):
            continue
        figure = holder[key]
        if isinstance(figure, list):
            row = next(r for r in figure if spot.get("scope", {}).items() <= r.items() and "origin" not in r)
            holder, key, figure = row, "n", row["n"]
        if isinstance(figure, dict):
            holder, key, figure = figure, "counts", figure["counts"]
            holder[key] = [alter(n) for n in figure]
        else:
            holder[key] = alter(figure)
        return


def can_be_handed_in(f: dict) -> bool:
    stock = f["stock"]
    there = number(stock["received"]) + number(stock.get("resupply", 0)) - number(stock.get("sent", 0))
    if number(stock["unused"]) > there:
        return False
    if isinstance(stock["received"], list):
        return all(number(u["n"]) <= number(r["n"]) for r, u in zip(stock["received"], stock["unused"]))
    return True


def _counted_spots(f: dict, name: str) -> list[Item]:
    found = []
    for figure, tabulator, holder, key in _figures(f):
        where = {"figure": figure} | ({"tabulator": tabulator} if tabulator else {})
        if figure == name and isinstance(holder[key], list):
            found += [where | {"scope": {k: r[k] for k in ("precinct", "style") if k in r}} for r in holder[key]]
        elif figure == name:
            found.append(where)
    return found


def miscounted(f: dict, rng: Random, item: Item) -> Item | None:
    """The pile is counted, and the count is off by `by`."""
    found = _counted_spots(f, item["figure"])
    if not found:
        return None
    spot = rng.choice(found)
    _change(f, spot, lambda n: n + item["by"])
    below = any(n < 0 for _, n in spots(f))
    return None if below or not can_be_handed_in(f) else item | spot


def _swap(digits: str, rng: Random) -> str:
    i, j = sorted(rng.sample(range(len(digits)), 2)) if len(digits) > 1 else (0, 0)
    return digits[:i] + digits[j] + digits[i + 1 : j] + digits[i] + digits[j + 1 :] if j else digits


def _misread(digits: str, rng: Random) -> str:
    i = rng.randrange(len(digits))
    return digits[:i] + rng.choice("0123456789") + digits[i + 1 :]


def _drop(digits: str, rng: Random) -> str:
    i = rng.randrange(len(digits))
    return digits[:i] + digits[i + 1 :]


def _slide(digits: str, rng: Random) -> str:
    return digits[:-1] if digits.endswith("0") and rng.random() < 0.5 else digits + "0"


def typed_wrong(n: int, rng: Random) -> int | None:
    """What a tired hand makes of a figure; None where it comes out the same, empty or with a leading zero."""
    digits = rng.choice((_swap, _swap, _misread, _misread, _drop, _slide))(str(n), rng)
    if not digits or digits == str(n) or (len(digits) > 1 and digits[0] == "0"):
        return None
    return int(digits)


def miskeyed(f: dict, rng: Random, item: Item) -> Item | None:
    spot, true = rng.choice([s for s in spots(f) if s[0]["figure"] == item["figure"]] or [({}, 0)])
    wrong = typed_wrong(true, rng) if spot else None
    if wrong is None:
        return None
    _change(f, spot, lambda n: wrong)
    return item | spot | {"likely": true} if can_be_handed_in(f) else None
