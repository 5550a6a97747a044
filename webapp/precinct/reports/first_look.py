"""The balance at the first look: until a tape is typed, the signed public counter of its tabulator takes its place.

A forgotten emergency bin or a book that was misread can still be put right now, and no longer once the tabulators are
closed. What takes a tape's place is named (`counter:T1`). Only the sums it gives are shown, stock and poll book; what
a tape alone can tell (bins, contests, the counter against its tape) stays unchecked. The command `balance` and the
packet do not use this.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from webapp.precinct.account.balanced_day import BalancedDay
from webapp.precinct.balance.balance import Balance, balance
from webapp.precinct.balance.line import Line, Unchecked

SUMS = frozenset({"stock", "poll-book"})  # what a counter can stand in for


@dataclass(frozen=True, slots=True)
class FirstLook:
    """The balance with counters in place of tapes. stands_in: their names, `counter:T1`; empty where every tape is in or no counter is signed."""

    balance: Balance
    stands_in: tuple[str, ...] = ()


def first_look(day: BalancedDay, told: Balance) -> FirstLook:
    """The day's balance (`told`) with the lines that the signed counters give while tapes are missing."""
    figures, names = with_counters(day.figures)
    if not names:
        return FirstLook(told)
    drawn = {(line.id, _scope(line)) for line in told.lines}
    more = [
        by_counters(line)
        for line in balance(figures).lines
        if line.id in SUMS and not line.scope and (line.id, _scope(line)) not in drawn
    ]
    if not more:
        return FirstLook(told)
    ids = {line.id for line in more}
    left = tuple(lack for lack in told.unchecked if lack.id not in ids or lack.scope)
    return FirstLook(replace(told, lines=(*more, *told.lines), unchecked=left), names)


def with_counters(figures: Mapping[str, Any]) -> tuple[dict[str, Any], tuple[str, ...]]:
    """(figures with a tape for each tabulator whose counters are signed and whose tape is not in, names of those counters)."""
    rows, names = [], []
    for row in figures.get("tabulators", ()):
        ends = [run["counter"] for run in row.get("runs", ())]
        if "tape" in row or not ends or any(None in pair or pair[1] < pair[0] for pair in ends):
            rows.append(row)
            continue
        rows.append({**row, "tape": sum(close - zero for zero, close in ends)})
        names.append(f"counter:{row['id']}")
    return {**figures, "tabulators": rows} if rows else dict(figures), tuple(names)


def by_counters(line: Line) -> Line:
    """The line with its tape called what it is: public counters, the tape still to come."""
    left, right = (
        tuple(("counter" if key == "tape" else key, n) for key, n in side) for side in (line.left_of, line.right_of)
    )
    return replace(line, left_of=left, right_of=right)


def _scope(line: Line | Unchecked) -> tuple[tuple[str, Any], ...]:
    return tuple(sorted((line.scope or {}).items()))
