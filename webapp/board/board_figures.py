"""A board's day as the JSON of `tapeseal balance`: what was recorded of envelopes and batches, added up for its lines.

Envelopes of a tray of several precincts have no precinct here: how many of each are in it was counted before, out of
the carriers.
"""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from webapp.board.batch_ids import serial_number
from webapp.board.board_day import BoardBatch, BoardDay, Feeding, Tray
from webapp.precinct.balance.figure_board import FIRST, OUTCOMES

Rows = list[dict[str, Any]]


def figures(day: BoardDay, tabulators: Sequence[Mapping[str, Any]] = ()) -> dict[str, Any]:
    """The figures of the board; `tabulators` are those of the balance, their tapes among them as soon as they may be read."""
    board = {
        "carriers": {"received": len(day.carriers), "opened": sum(carrier.empty for carrier in day.carriers.values())},
        "envelopes": envelopes(day),
        "batches": [batch_row(batch) for batch in in_order(day)],
        "problems": outcomes(day),
    }
    if (told := unfolded(day)) is not None:
        board["unfolded"] = told
    if day.listed is not None:
        board["list"] = rows(day.listed)
    if day.duplicates:
        board["serials"] = serials(day)
    if day.moved:
        board["moved"] = [{"from": one, "to": other, "n": n} for one, other, n in day.moved]
    if counted := piles(day):
        board["piles"] = counted
    found: dict[str, Any] = {"board": board}
    if tabulators:
        found["tabulators"] = [dict(tabulator) for tabulator in tabulators]
    if day.evenings or day.mornings:
        found["days"] = days(day)
    return found


def rows(by_precinct: Mapping[str, int]) -> Rows:
    """A figure by precinct; an empty name is none."""
    return [{"precinct": precinct, "n": n} if precinct else {"n": n} for precinct, n in by_precinct.items()]


def envelopes(day: BoardDay) -> dict[str, Rows]:
    """Received out of the carriers; rejected, held, empty and extra out of the trays."""
    parts = {
        "rejected": lambda tray: sum(tray.rejected.values()),
        "held": lambda tray: sum(tray.held.values()),
        "empty": lambda tray: tray.empty,
        "extra": lambda tray: tray.extra,
    }
    of_trays = {
        key: rows(summed((one_precinct(tray), figure(tray)) for tray in day.trays.values()))
        for key, figure in parts.items()
    }
    return {"received": rows(day.received()), **of_trays}


def unfolded(day: BoardDay) -> Rows | None:
    """Ballots counted as the trays were unfolded; None while a tray with sleeves waits, or none was ever unfolded."""
    trays = [tray for tray in day.trays.values() if tray.sleeves or tray.ballots is not None]
    if not trays or any(tray.ballots is None for tray in trays):
        return None
    return rows(summed((one_precinct(tray), tray.ballots or 0) for tray in trays))


def one_precinct(tray: Tray) -> str:
    return tray.precincts[0] if len(tray.precincts) == 1 else ""


def summed(pairs: Iterable[tuple[str, int]]) -> dict[str, int]:
    found: dict[str, int] = {}
    for precinct, n in pairs:
        found[precinct] = found.get(precinct, 0) + n
    return found


def in_order(day: BoardDay) -> list[BoardBatch]:
    """The batches in the order of feeding, then those that wait, in the order of making."""
    fed = sorted((batch.fed.turn, batch.id) for batch in day.batches.values() if batch.fed)
    return [day.batches[id] for _, id in fed] + [batch for batch in day.batches.values() if not batch.fed]


def batch_row(batch: BoardBatch) -> dict[str, Any]:
    """Returns one batch as a row of `tapeseal balance`; ballots by precinct where the batch has several and they add up."""
    row: dict[str, Any] = {"id": batch.id, "kind": batch.kind}
    if len(batch.precincts) == 1:
        row |= {"precinct": next(iter(batch.precincts)), "ballots": batch.ballots}
    elif batch.precincts and sum(batch.precincts.values()) == batch.ballots:
        row["ballots"] = rows(batch.precincts)
    else:
        row["ballots"] = batch.ballots
    if batch.kind == FIRST and batch.envelopes is not None:
        row |= {"envelopes": batch.envelopes, "empty": batch.empty, "extra": batch.extra}
    return row | (fed_row(batch.fed) if batch.fed else {})


def fed_row(fed: Feeding) -> dict[str, Any]:
    return {"tabulator": fed.at, "day": fed.day, "aside": sum(fed.aside.values()), "counter": [fed.before, fed.after]}


def outcomes(day: BoardDay) -> dict[str, Rows]:
    """What became of the ballots set aside, by the precinct of their batch where it has but one."""
    found: dict[str, Rows] = {}
    for outcome in OUTCOMES:
        mine = [one for one in day.problems.values() if one.outcome == outcome]
        found[outcome] = rows(summed((precinct_of(day, one.batch), 1) for one in mine))
    return found


def piles(day: BoardDay) -> dict[str, Any]:
    """The piles as counted at the close; the ballots on the sheets of hand counts as soon as one was counted by hand."""
    found: dict[str, Any] = {name: {"counts": counts} for name, counts in day.piles.items()}
    if day.hand_counted or any(one.outcome == "hand-counted" for one in day.problems.values()):
        found["tallied"] = sum(day.hand_counted.values())
    return found


def precinct_of(day: BoardDay, id: str) -> str:
    batch = day.batches.get(id)
    return next(iter(batch.precincts)) if batch and len(batch.precincts) == 1 else ""


def serials(day: BoardDay) -> dict[str, int]:
    numbers = [n for n in map(serial_number, day.duplicates) if n is not None]
    return {"first": min(numbers), "next": max(numbers) + 1, "void": sum(one.void for one in day.duplicates.values())}


def days(day: BoardDay) -> list[dict[str, Any]]:
    """Sleeves, envelopes and counters in the evening and the next morning."""
    found: dict[str, dict[str, Any]] = {}
    for side, nights in (("end", day.evenings), ("start", day.mornings)):
        for night in nights:
            one = found.setdefault(night.day, {"id": night.day})
            for what in ("sleeves", "envelopes"):
                if getattr(night, what):
                    one[f"{what}_{side}"] = rows(getattr(night, what))
            if night.counters:
                one[f"counters_{side}"] = dict(night.counters)
    return sorted(found.values(), key=lambda one: one["id"])
