"""The set-aside side of a day's figures: each kind as its envelope was counted at the close, split by the notes of the day.

One envelope holds every spoiled ballot, re-issued or not; only the notes say how many were not. Where the notes know
more than the envelope's count (style, precinct, origin), the rows carry it. What the two do not share is a row of its
own.
"""

from collections.abc import Iterable
from typing import Any

from webapp.precinct.account.ballot_stock import counted, plain
from webapp.precinct.day.day import Day
from webapp.precinct.day.notes import BallotGroup, precinct_of
from webapp.precinct.place.place import Place

Lots = Iterable[tuple[BallotGroup, int]]
Rows = list[dict[str, Any]]


def set_aside(place: Place, day: Day) -> dict[str, Any]:
    """The part `set_aside`: every kind this place keeps, 0 where there is none."""
    closing = day.last("aside-counts")
    said = closing.body if closing else {}
    found: dict[str, Any] = {}
    found["spoiled"], found["spoiled-not-reissued"] = _spoiled(place, day, said.get("spoiled"))
    envelopes = said.get("provisional")
    found["provisional"] = _beside(
        place, list(day.notes.of("provisional")), None if envelopes is None else sum(map(plain, envelopes.values()))
    )
    found |= {kind: _noted(place, day.notes.of(kind)) for kind in ("left", "taken")}
    apart = list(day.notes.of("set-apart"))
    if apart or "set_apart" in said or place.rules.found == "set-apart":
        found["set-apart"] = _beside(place, apart, said.get("set_apart"))
    found |= {kind: counted(n) for kind, n in said.get("others", {}).items()}
    return found | _emergency(place, day)


def _emergency(place: Place, day: Day) -> dict[str, Any]:
    """Opened bins: what was left and what was counted by hand. Others: what was noted as dropped in."""
    found: dict[str, Any] = {}
    opened = [k for k in day.of("emergency-opened") if "ballots_found" in k.body]
    waiting = sum(
        n for box, n in day.notes.emergency.items() if box not in {k.at for k in opened} and (box or not opened)
    )
    if any(box.emergency for box in place.boxes) or waiting or opened:
        found["emergency"] = waiting + sum(k.body.get("left", 0) for k in opened)
    if opened:
        copies = sum(min(k.body.get("copies_by_hand", 0), k.body.get("hand_counted", 0)) for k in opened)
        by_hand = sum(k.body.get("hand_counted", 0) for k in opened)
        found["hand-counted"] = [{"n": by_hand - copies}, {"origin": "copy", "n": copies}] if copies else by_hand
    return found


def _spoiled(place: Place, day: Day, envelope: dict[str, Any] | None) -> tuple[Any, Any]:
    """(spoiled, spoiled-not-reissued): each style's envelope, less what the notes say was not re-issued."""
    again, not_again = list(day.notes.of("spoiled")), list(day.notes.of("spoiled-not-reissued"))
    if envelope is None:
        return _noted(place, again), _noted(place, not_again)
    styles = {s.style for s in place.stock} if len(place.stock) > 1 else set()
    first: Rows = []
    second: Rows = []
    for style, count in _by_style(envelope, styles):
        counts = list(count) if isinstance(count, list | tuple) else [count]
        mine, others = (
            [(lot, n) for lot, n in lots if not styles or (lot.style if lot.style in envelope else "") == style]
            for lots in (again, not_again)
        )
        second += _reach(place, style, others, counts, False)
        first += _reach(place, style, mine, counts, True)
    return _shortest(first), _shortest(second)


def _by_style(envelope: dict[str, Any], styles: set[str]) -> list[tuple[str, Any]]:
    """Each style's count, and none for ballots whose style nobody noted; one count for all at a place with one style."""
    if styles:
        return [*envelope.items(), ("", 0)]
    return [("", next(iter(envelope.values())) if len(envelope) == 1 else sum(map(plain, envelope.values())))]


def _reach(place: Place, style: str, lots: list[tuple[BallotGroup, int]], counts: list[int], the_rest: bool) -> Rows:
    """Rows of these lots as far as the envelope's counts reach, which are lessened by them. `the_rest` gives all that is left to paper."""
    rows: Rows = []
    for origin in sorted({lot.origin for lot, _ in lots} | {"paper"}, key=lambda o: (o == "paper", o)):
        noted = sum(n for lot, n in lots if lot.origin == origin)
        there = list(counts) if the_rest and origin == "paper" else [min(noted, counts[-1])]
        counts[:] = [max(n - there[-1], 0) for n in counts]
        if noted or there[-1] or (the_rest and origin == "paper" and not style):
            rows.append(_row(place, style, origin, {"logged": noted, "counts": there}))
    return rows


def _row(place: Place, style: str, origin: str, n: Any) -> dict[str, Any]:
    """A row that names its scope at a place with several styles or precincts."""
    precinct = precinct_of(style, place) if style and len(place.precincts) > 1 else ""
    return {
        **({"precinct": precinct} if precinct else {}),
        **({"style": style} if style else {}),
        **({"origin": origin} if origin != "paper" else {}),
        "n": n,
    }


def _shortest(rows: Rows) -> Any:
    """One row that names nothing becomes the bare figure; no row at all becomes 0. A row of 0 among others is left out."""
    kept = [row for row in rows if row["n"] != {"logged": 0, "counts": [0]}] or rows[:1]
    return 0 if not kept else kept[0]["n"] if len(kept) == 1 and set(kept[0]) == {"n"} else kept


def _beside(place: Place, lots: list[tuple[BallotGroup, int]], envelope: Any) -> Any:
    """Split an envelope's count by the day's notes. If they agree, rows keep style and precinct; else the remainder is a row without them."""
    if envelope is None:
        return _noted(place, lots)
    noted, there = sum(n for _, n in lots), plain(envelope)
    rows = _noted(place, lots)
    if not isinstance(rows, list) or there < noted:
        return {"logged": noted, "counts": list(envelope) if isinstance(envelope, list | tuple) else [envelope]}
    found = [{**row, "n": {"logged": row["n"], "counts": [row["n"]]}} for row in rows]
    return found + ([{"n": {"logged": 0, "counts": [there - noted]}}] if there > noted else [])


def _noted(place: Place, lots: Lots) -> Any:
    """Lots as a bare number, or as rows where they name an origin, or a scope at a place with several."""
    rows: dict[tuple[tuple[str, str], ...], int] = {}
    for lot, n in lots:
        keys = (
            ("precinct", lot.precinct if len(place.precincts) > 1 else ""),
            ("style", lot.style if len(place.stock) > 1 else ""),
            ("origin", lot.origin if lot.origin != "paper" else ""),
        )
        named = tuple((key, value) for key, value in keys if value)
        rows[named] = rows.get(named, 0) + n
    if not any(rows) or not rows:
        return sum(rows.values())
    return [{**dict(named), "n": n} for named, n in rows.items()]
