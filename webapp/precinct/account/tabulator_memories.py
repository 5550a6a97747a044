"""The tabulators' side of a day's figures: which memory ran on which unit, from which counter to which, and what its tape says.

A tape belongs to a memory. Moved to a spare, it goes on: two runs, one tape. A fresh start makes a second tape. Fed again, the first
tape's ballots are on the second too, and count once.
"""

from typing import Any

from webapp.precinct.day import out_of_use
from webapp.precinct.day.current_entry import CurrentEntry
from webapp.precinct.day.day import Day
from webapp.precinct.place.default_steps import steps
from webapp.precinct.place.place import Place, Tabulator

Ends = tuple[int | None, int | None]  # (public, lifetime)


def tabulators(place: Place, day: Day) -> list[dict[str, Any]]:
    """The part `tabulators`. A tabulator that stayed shut and has no tape is not among them."""
    listed, found = steps(place), []
    for tabulator in place.tabulators:
        typed = day.last(f"tape-typed:{tabulator.id}")
        if typed is None and out_of_use.shut(place, day, tabulator.id, listed):
            continue
        found += _memories(place, day, tabulator, typed)
    return found


def _memories(place: Place, day: Day, tabulator: Tabulator, typed: CurrentEntry | None) -> list[dict[str, Any]]:
    """The memory of the close under the tabulator's own id; one taken out before it as T1/1, T1/2 ..."""
    runs = _runs(day, tabulator.id)
    body = typed.body if typed else {}
    found = []
    for i, (how, mine, again) in enumerate(runs[:-1], 1):
        one: dict[str, Any] = {"id": f"{tabulator.id}/{i}", "box": tabulator.box, "runs": mine}
        earlier = body.get("earlier_ballots") if i == len(runs) - 1 else None
        if earlier is not None:
            one["tape"] = earlier
        if how == "fed-again":
            if earlier is None and (again is None or again >= (mine[-1]["counter"][1] or 0)):
                continue  # all of it is on the next tape, and nobody kept this one's figure
            if earlier is not None:
                one["fed_again"] = {"on": tabulator.id, "n": min(earlier if again is None else again, earlier)}
        found.append(one)
    return [*found, _last(place, tabulator, runs[-1][1], typed)]


def _last(place: Place, tabulator: Tabulator, runs: list[dict[str, Any]], typed: CurrentEntry | None) -> dict[str, Any]:
    one: dict[str, Any] = {"id": tabulator.id, "box": tabulator.box, "runs": runs}
    ballots = typed.body.get("ballots", {}) if typed else {}
    if typed and ballots and {p.id for p in place.precincts} <= set(ballots):
        one["tape"] = (
            [_row(place, precinct.id, ballots[precinct.id]) for precinct in place.precincts]
            if len(place.precincts) > 1
            else sum(ballots.values())
        )
        if typed.body.get("subtract") and typed.body["subtract"] <= sum(ballots.values()):
            one["subtract"] = {"n": typed.body["subtract"]}
    return one


def too_much_subtracted(place: Place, day: Day) -> str:
    """The sentence when more is taken off a tape for a failed machine than is on it; "" else."""
    for tabulator in place.tabulators:
        typed = day.last(f"tape-typed:{tabulator.id}")
        off, on = (typed.body.get("subtract") or 0, sum(typed.body.get("ballots", {}).values())) if typed else (0, 0)
        if typed and off > on:
            return (
                f"{off:,} ballots are taken off the tape of {tabulator.id} for a failed machine, and {on:,} are on it. "
                f"Read both again, and correct entry {typed.corrected_by or typed.number}."
            )
    return ""


def _row(place: Place, precinct: str, n: int) -> dict[str, Any]:
    """A precinct with one style of its own names that style too."""
    styles = [s for s in place.styles if precinct in s.precincts]
    alone = len(place.stock) > 1 and len(styles) == 1 and len(styles[0].precincts) == 1
    return {"precinct": precinct, **({"style": styles[0].id} if alone else {}), "n": n}


def _runs(day: Day, at: str) -> list[tuple[str, list[dict[str, Any]], int | None]]:
    """(how the memory ended, its runs, ballots of it that were fed again) for each memory in order; the last one ends with the day."""
    zero, close = day.last(f"zero-tape:{at}"), day.last(f"counter-read:{at}")
    start, unit, out, mine, found = _ends(zero), at, None, [], []
    moves = sorted([*day.all(f"tabulator-out:{at}"), *day.all(f"tabulator-in:{at}")], key=lambda k: k.number)
    for move in moves:
        if move.kind == "tabulator-out":
            out = _ends(move)
            continue
        mine.append(_run(unit, start, out or (None, None)))
        how, out = move.body.get("how", "memory-moved"), None
        if how != "memory-moved":
            found.append((how, mine, move.body.get("fed_again")))
            mine = []
        start, unit = _ends(move), move.body.get("serial") or unit
    mine.append(_run(unit, start, _ends(close) if close else out or (None, None)))
    return [*found, ("", mine, None)]


def _ends(kept: CurrentEntry | None) -> Ends:
    return (kept.body.get("public"), kept.body.get("lifetime")) if kept else (None, None)


def _run(unit: str, start: Ends, end: Ends) -> dict[str, Any]:
    return {"unit": unit, "counter": [start[0], end[0]], "lifetime": [start[1], end[1]]}
