"""The part `board` of a packet's core: a count board's envelopes, what its batches add up to, what became of ballots set aside, and which batches are open.

The list of batches itself travels as a file, held by `table`. Out of the sums the desk draws every line of the board again; of the batches of one tabulator,
day, kind and precinct it draws one row together.
"""

from collections.abc import Mapping, Sequence
from typing import Any

from webapp.precinct.balance.figure_board import FIRST, OUTCOMES

ENVELOPES = ("received", "rejected", "held", "empty", "extra")
Row = Mapping[str, Any]


def part(night: Mapping[str, Any], open_batches: Sequence[Sequence[Any]]) -> dict[str, Any]:
    """The part of these figures (the balance's JSON); {} where the night has no board. `open_batches`: [batch, [[line, gap] ...], remark number or None] ..."""
    if "board" not in night:
        return {}
    board = night["board"]
    found: dict[str, Any] = {
        "carriers": [board["carriers"]["received"], board["carriers"]["opened"]],
        "envelopes": {key: by_precinct(board["envelopes"].get(key)) for key in ENVELOPES},
        "batches": summed(board["batches"]),
        "problems": {key: by_precinct(board["problems"].get(key)) for key in OUTCOMES},
        "open": [list(row) for row in open_batches],
    }
    if mixed := told_apart(board["batches"]):
        found["mixed"] = mixed
    if "list" in board:
        found["list"] = by_precinct(board["list"])
    if "unfolded" in board:
        found["unfolded"] = by_precinct(board["unfolded"])
    if "serials" in board:
        found["serials"] = [board["serials"][key] for key in ("first", "next", "void")]
    if "piles" in board:
        found["piles"] = {key: last(n) for key, n in board["piles"].items()}
    if "moved" in board:
        found["moved"] = [[one["from"], one["to"], one["n"]] for one in board["moved"]]
    if "days" in night:
        found["days"] = [dict(day) for day in night["days"]]
    return {"board": found}


def last(figure: Any) -> int:
    """A count as a number: the last of several."""
    return figure["counts"][-1] if isinstance(figure, Mapping) else figure


def by_precinct(figure: Any) -> dict[str, int]:
    """A figure as precinct -> number; "" for none."""
    given: Sequence[Row] = [{"n": figure}] if isinstance(figure, int) else figure or []
    found: dict[str, int] = {}
    for row in given:
        found[row.get("precinct", "")] = found.get(row.get("precinct", ""), 0) + row["n"]
    return found


def summed(batches: Sequence[Row]) -> list[list[Any]]:
    """[tabulator, day, kind, precinct, batches, ballots, set aside, fed] of the batches that share the first four, in the order of the first of each."""
    found: dict[tuple[str, str, str, str], list[int]] = {}
    for batch in batches:
        split = batch["ballots"] if isinstance(batch["ballots"], list) else []
        key = (batch.get("tabulator", ""), batch.get("day", ""), batch.get("kind", FIRST), batch.get("precinct", ""))
        sums = found.setdefault(key, [0, 0, 0, 0])
        before, after = batch.get("counter", (0, 0))
        mine = (1, sum(row["n"] for row in split) if split else batch["ballots"], batch.get("aside", 0), after - before)
        for i, n in enumerate(mine):
            sums[i] += n
    return [[*key, *sums] for key, sums in found.items()]


def told_apart(batches: Sequence[Row]) -> list[list[Any]]:
    """[tabulator, day, kind, {precinct: ballots}] of batches of several precincts, where each of those that are added up tells its ballots by precinct."""
    found: dict[tuple[str, str, str], dict[str, int]] = {}
    untold = set()
    for batch in batches:
        key = (batch.get("tabulator", ""), batch.get("day", ""), batch.get("kind", FIRST))
        if batch.get("precinct"):
            continue
        ballots = by_precinct(batch["ballots"])
        if "" in ballots:
            untold.add(key)
        sums = found.setdefault(key, {})
        for precinct, n in ballots.items():
            sums[precinct] = sums.get(precinct, 0) + n
    return [[*key, sums] for key, sums in found.items() if key not in untold]


def figures(core: Mapping[str, Any]) -> dict[str, Any]:
    """`board` and `days` of the balance's JSON out of a core; {} where it has no board."""
    board = core.get("board")
    if board is None:
        return {}
    zeros = {t["id"]: (t.get("runs") or [{}])[0].get("counter", [0])[0] or 0 for t in core["tabulators"]}
    found: dict[str, Any] = {
        "carriers": dict(zip(("received", "opened"), board["carriers"], strict=True)),
        "envelopes": {key: rows(board["envelopes"][key]) for key in ENVELOPES},
        "batches": [batch(row, zeros, apart(board, row)) for row in board["batches"]],
        "problems": {key: rows(board["problems"][key]) for key in OUTCOMES},
    }
    if "list" in board:
        found["list"] = rows(board["list"])
    if "unfolded" in board:
        found["unfolded"] = rows(board["unfolded"])
    if "serials" in board:
        found["serials"] = dict(zip(("first", "next", "void"), board["serials"], strict=True))
    if "piles" in board:
        found["piles"] = dict(board["piles"])
    if "moved" in board:
        found["moved"] = [dict(zip(("from", "to", "n"), row, strict=True)) for row in board["moved"]]
    return {"board": found, **({"days": board["days"]} if board.get("days") else {})}


def rows(figure: Mapping[str, int]) -> list[dict[str, Any]]:
    return [{"precinct": precinct, "n": n} if precinct else {"n": n} for precinct, n in figure.items()]


def apart(board: Mapping[str, Any], row: Sequence[Any]) -> dict[str, int]:
    """precinct -> ballots of a row of batches of several precincts; {} where the row is of one, or does not tell."""
    told = () if row[3] else board.get("mixed", ())
    return next((by for *key, by in told if key == list(row[:3]) and sum(by.values()) == row[5]), {})


def batch(row: Sequence[Any], zeros: Mapping[str, int], mixed: Mapping[str, int]) -> dict[str, Any]:
    """Batches that were added up, as one, each on a day of its own, so that no counter is compared with another's."""
    tabulator, day, kind, precinct, _, ballots, aside, fed = row
    name = "-".join(part for part in (tabulator or "unfed", day, kind, precinct) if part)
    found: dict[str, Any] = {"id": name, "kind": kind, "ballots": rows(mixed) if mixed else ballots}
    if precinct:
        found["precinct"] = precinct
    if tabulator:
        zero = zeros.get(tabulator, 0)
        found |= {"tabulator": tabulator, "day": name, "aside": aside, "counter": [zero, zero + fed]}
    return found


def by_precinct_rows(core: Mapping[str, Any]) -> list[tuple[str, list[int]]]:
    """(precinct, [received, rejected, held, empty, extra, ballots, counted by hand, not counted, waiting]) for a page; "" for what names none."""
    board = core["board"]
    names: dict[str, None] = {}
    columns = [board["envelopes"][key] for key in ENVELOPES]
    ballots: dict[str, int] = {}
    for row in (row for row in board["batches"] if row[2] == FIRST):
        for precinct, n in (apart(board, row) or {row[3]: row[5]}).items():
            ballots[precinct] = ballots.get(precinct, 0) + n
    columns += [ballots, *(board["problems"][key] for key in ("hand-counted", "not-counted", "waiting"))]
    for column in columns:
        names |= dict.fromkeys(column)
    return [(name, [column.get(name, 0) for column in columns]) for name in names]
