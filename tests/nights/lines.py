"""The balance lines a second time, from the table and section 3 of the balance's page, for checking what is simulated.

Shares nothing with the product. A gap is left minus right; a line is named (id, scope), scope "" for the whole room.
"""

from __future__ import annotations

from collections import Counter

# (from stock, in the poll book, counted) by the fate of a ballot; (from stock, in the poll book) by its origin.
FATES = {
    "cast": (1, 1, 1),
    "spoiled": (1, 0, 0),
    "spoiled-not-reissued": (1, 1, 0),
    "provisional": (1, 0, 0),
    "emergency": (1, 1, 0),
    "hand-counted": (1, 1, 0),
    "taken": (1, 1, 0),
    "left": (0, 1, 0),
    "found": (1, 1, 0),
    "set-apart": (1, 1, 0),
}
ORIGINS = {"paper": (1, 1), "card": (0, 1), "copy": (0, 1), "absentee": (0, 0)}

Line = tuple[str, str]


def flags(f: dict, fate: str, origin: str = "paper") -> tuple[int, int, int]:
    """(from stock, in the poll book, counted) under the dispositions of this file."""
    stock, book, counted = FATES.get(fate, (0, 0, 0))
    from_stock, in_book = ORIGINS[origin]
    for row in f.get("dispositions", ()):
        if row["id"] == fate:
            stock, book = int(row.get("from_stock", stock)), int(row.get("in_poll_book", book))
            counted = int(row.get("counted", counted))
        if row["id"] == origin:
            from_stock, in_book = int(row.get("from_stock", from_stock)), int(row.get("in_poll_book", in_book))
    return stock * from_stock, book * in_book, counted


def number(figure: object) -> int:
    """A figure of any shape as one number."""
    if isinstance(figure, int):
        return figure
    if isinstance(figure, list):
        return sum(number(row["n"]) for row in figure)
    return figure["counts"][-1]


def by(figure: object, scope: str) -> Counter | None:
    """A figure split by precinct or style; None where it is not written so. A plain 0 splits into nothing."""
    if not isinstance(figure, list) and number(figure) == 0 or figure == []:
        return Counter()
    if not isinstance(figure, list) or not all(scope in row for row in figure):
        return None
    split: Counter = Counter()
    for row in figure:
        split[row[scope]] += number(row["n"])
    return split


def tape(f: dict) -> object:
    """The tapes of the night put together: rows where every tape has rows, else a number."""
    tapes = [t["tape"] for t in f.get("tabulators", ()) if "tape" in t]
    if tapes and all(isinstance(t, list) for t in tapes):
        return [row for t in tapes for row in t]
    return sum(cast(t) for t in f.get("tabulators", ()) if "tape" in t)


def cast(tabulator: dict) -> int:
    """The ballots on one tape, less what was fed again elsewhere and what was allowed to be subtracted."""
    return (
        number(tabulator["tape"])
        - tabulator.get("fed_again", {}).get("n", 0)
        - tabulator.get("subtract", {}).get("n", 0)
    )


def _standing(f: dict, weigh) -> list[tuple[int, object]]:
    """(weight, figure) of everything that is set aside or cast from elsewhere, one entry per origin."""
    parts = []
    for kind, figure in f.get("set_aside", {}).items():
        rows = figure if isinstance(figure, list) else [{"n": figure}]
        for origin in {row.get("origin", "paper") for row in rows}:
            some = [row for row in rows if row.get("origin", "paper") == origin]
            parts.append((weigh(*flags(f, kind, origin)), some if isinstance(figure, list) else figure))
    for origin, figure in f.get("cast_from", {}).items():
        stock, book, counted = flags(f, "cast", origin)
        parts.append((weigh(stock, book, counted), figure))
    return parts


def _draw(line: str, left: list[tuple[int, object]], right: list[tuple[int, object]]) -> dict[Line, int]:
    """The line for the room and for every scope that both sides are written in."""
    gaps = {(line, ""): sum(w * number(x) for w, x in left) - sum(w * number(x) for w, x in right)}
    for scope in ("precinct", "style"):
        splits = [(w, by(x, scope)) for w, x in left if w] + [(-w, by(x, scope)) for w, x in right if w]
        if any(split is None for _, split in splits) or not isinstance(left[0][1], list):
            continue
        for name in sorted({name for _, split in splits for name in split}):
            gaps[line, name] = sum(w * split[name] for w, split in splits)
    return gaps


def _used(f: dict) -> list[tuple[int, object]]:
    stock = f["stock"]
    short = [{"style": p.get("style"), "n": p["nominal"] - p["counted"]} for p in stock.get("packs", ())]
    parts = [(1, stock["received"]), (-1, stock["unused"]), (1, stock.get("resupply", 0)), (-1, stock.get("sent", 0))]
    return parts + [(-1, short)] if short else parts


def _book(f: dict) -> list[tuple[int, object]] | None:
    if "poll_book" in f:
        return [(1, f["poll_book"])]
    for row in f.get("voters", ()):
        if row["id"] == "poll_book":
            return [(1, row["n"]), (-1, row.get("cancelled", 0))]
    return None


def _room_lines(f: dict) -> dict[Line, int]:
    gaps: dict[Line, int] = {}
    by_hand = not f.get("tabulators") and "hand-counted" in f.get("set_aside", {})
    printed = any("tape" in t for t in f.get("tabulators", ())) or by_hand
    stock, book = _used(f) if "stock" in f else None, _book(f)
    if stock and book and (by_hand or not printed):
        parts = _standing(f, lambda s, b, c: s - b)
        gaps |= _draw("paper-to-book", stock + [(-w, x) for w, x in book], parts)
    if not printed:
        return gaps
    if stock:
        gaps |= _draw("stock", stock, [(1, tape(f))] + _standing(f, lambda s, b, c: s - c))
    if book:
        gaps |= _draw("poll-book", book, [(1, tape(f))] + _standing(f, lambda s, b, c: b - c))
    for row in f.get("voters", ()):
        if row["id"] != "poll_book":
            also = [(1, f["set_aside"][k]) for k in row.get("includes", ()) if not flags(f, k)[1]]
            gaps |= _draw(
                f"voters:{row['id']}", [(1, row["n"])], [(1, tape(f))] + _standing(f, lambda s, b, c: b - c) + also
            )
    return gaps


def _stub_lines(f: dict) -> dict[Line, int]:
    if "stubs" not in f or "stock" not in f:
        return {}
    rows = f["stubs"] if isinstance(f["stubs"], list) else [f["stubs"]]
    left = [
        {**({"style": r["style"]} if "style" in r else {}), "n": r["next"] - r["first"] - len(r.get("missing", ()))}
        for r in rows
    ]
    return _draw("stubs", [(1, left)], _used(f))


def _tabulator_lines(f: dict) -> dict[Line, int]:
    gaps: dict[Line, int] = {}
    for t in f.get("tabulators", ()):
        runs = t.get("runs", ())
        ran = t["counter_at_close"] - t["counter_at_zero"] if "counter_at_close" in t else None
        if runs:
            ran = sum(run["counter"][1] - run["counter"][0] for run in runs)
        for run in runs:
            if "lifetime" in run:
                (zero, close), (start, end) = run["counter"], run["lifetime"]
                gaps[f"lifetime:{t['id']}", run["unit"]] = end - start - (close - zero)
        if "tape" in t and ran is not None:
            gaps[f"counter:{t['id']}", ""] = ran - number(t["tape"])
        if "lifetime_at_close" in t and ran is not None:
            gaps[f"lifetime:{t['id']}", ""] = t["lifetime_at_close"] - t["lifetime_at_zero"] - ran
        if "tape" in t and "bins" in t:
            gaps[f"bins:{t['id']}", ""] = sum(number(n) for n in t["bins"].values()) - cast(t)
    for box in f.get("boxes", ()):
        on_it = [t for t in f.get("tabulators", ()) if t.get("box") == box["id"]]
        if "bins" in box and on_it and all("tape" in t for t in on_it):
            gaps[f"bins:{bins_of(f, on_it[0]['id'])}", ""] = (
                sum(number(n) for n in box["bins"].values()) + _taken_out(box, on_it[0]) - sum(map(cast, on_it))
            )
    return gaps


def _taken_out(box: dict, tabulator: dict) -> int:
    """Ballots of earlier emptyings: counted, or else the counter's since the one before."""
    total, last = 0, tabulator.get("counter_at_zero", 0)
    if "runs" in tabulator:
        last = tabulator["runs"][0]["counter"][0]
    for emptying in box.get("emptied", ()):
        total += emptying["counter"] - last if emptying["n"] is None else emptying["n"]
        last = emptying["counter"]
    return total


def bins_of(f: dict, tabulator: str) -> str:
    """Under which id the bins of a tabulator have their line: its own, or that of the box it shares."""
    box = next((t.get("box") for t in f.get("tabulators", ()) if t["id"] == tabulator), None)
    sharing = [t["id"] for t in f.get("tabulators", ()) if box and t.get("box") == box]
    has_bins = any(b["id"] == box and "bins" in b for b in f.get("boxes", ()))
    return box if len(sharing) > 1 and has_bins else tabulator


def _other_lines(f: dict) -> dict[Line, int]:
    gaps: dict[Line, int] = {}
    for kind, figure in f.get("set_aside", {}).items():
        if isinstance(figure, dict) and "logged" in figure:
            gaps[f"aside:{kind}", ""] = number(figure) - figure["logged"]
    for box in f.get("boxes", ()):
        if "emergency" in box:
            e = box["emergency"]
            which = box["id"] if len(f["boxes"]) > 1 else ""
            gaps["emergency", which] = e["found"] - e["fed"] - e["hand_counted"] - e["left"]
    for seal in f.get("seals", ()):
        gaps[f"seals:{seal['at']}", ""] = int(seal["applied"] != seal["found"])
    if "containers" in f and (any("tape" in t for t in f.get("tabulators", ())) or "tabulators" not in f):
        gaps["containers", ""] = (
            sum(c["ballots"] for c in f["containers"])
            - number(tape(f))
            - number(f.get("set_aside", {}).get("hand-counted", 0))
        )
    for origin, pile in f.get("other_stock", {}).items():
        used = sum(
            number(row["n"])
            for figure in f.get("set_aside", {}).values()
            if isinstance(figure, list)
            for row in figure
            if row.get("origin") == origin
        )
        gaps["stock", origin] = (
            number(pile["received"]) - number(pile["unused"]) - used - number(f.get("cast_from", {}).get(origin, 0))
        )
    return gaps


EXPLAINED = ("stock", "poll-book", "paper-to-book", "bins", "counter", "lifetime", "stubs")


def gaps_of(f: dict) -> dict[Line, int]:
    """Every line these figures allow, with its gap in ballots."""
    return _room_lines(f) | _stub_lines(f) | _tabulator_lines(f) | _other_lines(f)


def explained(gaps: dict[Line, int]) -> dict[Line, int]:
    """The lines an explanation has to close, their scopes included."""
    return {line: gap for line, gap in gaps.items() if line[0].split(":")[0] in EXPLAINED}
