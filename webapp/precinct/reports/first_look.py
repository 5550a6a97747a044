"""The balance at the first look: until a tape is typed, the signed public counter of its tabulator takes its place.

A forgotten emergency bin or a book that was misread can still be put right now, and no longer once the tabulators are
closed. What takes a tape's place is named (`counter:T1`). Only the sums it gives are shown, stock and poll book; what
a tape alone can tell (bins, contests, the counter against its tape) stays unchecked. The command `balance` and the
packet do not use this.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from webapp.precinct.account.balanced_day import BalancedDay
from webapp.precinct.balance.balance import Balance, balance
from webapp.precinct.balance.line import Line, Unchecked
from webapp.precinct.place.step import Task

SUMS = frozenset({"stock", "poll-book"})  # what a counter can stand in for


@dataclass(frozen=True, slots=True)
class FirstLook:
    """The balance with counters in place of tapes. stands_in: their names, `counter:T1`; empty where every tape is in or no counter is signed."""

    balance: Balance
    stands_in: tuple[str, ...] = ()


def tapes_to_come(tasks: Iterable[Task]) -> bool:
    """Whether a tape that lacks is still to be typed: a remark, which opens behind the last of them, is written of what the tapes themselves give."""
    return any(task.step.id == "remark" and task.state == "later" for task in tasks)


def first_look(day: BalancedDay, told: Balance, partly: bool = False) -> FirstLook:
    """The day's balance (`told`) with the lines that the signed counters give while tapes are missing.

    partly: also once some tapes are in and the others are to come: a sum over some of the tapes is no sum."""
    figures, names = with_counters(day.figures)
    if not names:
        return FirstLook(told)
    known = day.figures.get("tabulators", ())
    some = partly and any("tape" in row for row in known)
    drawn = set() if some else {(line.id, _scope(line)) for line in told.lines}
    typed = {row["id"] for row in known if "tape" in row}
    standing = sum(row["tape"] for row in figures["tabulators"] if "tape" in row and row["id"] not in typed)
    more = [
        by_counters(line, standing)
        for line in balance(figures).lines
        if line.id in SUMS and not line.scope and (line.id, _scope(line)) not in drawn
    ]
    if not more:
        return FirstLook(told)
    ids = {line.id for line in more}
    left = tuple(lack for lack in told.unchecked if lack.id not in ids or lack.scope)
    kept = tuple(line for line in told.lines if not some or line.id not in ids)
    if some:
        told = replace(told, explanations=(), ruled_out=())  # they explain sums that lack a tape
    return FirstLook(replace(told, lines=(*more, *kept), unchecked=left), names)


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


def by_counters(line: Line, standing: int) -> Line:
    """The line with what is by public counters called so, its tape still to come. `standing`: how many ballots stand in for a tape."""
    left, right = (
        tuple(part for key, n in side for part in (_parts(n, standing) if key == "tape" else ((key, n),)))
        for side in (line.left_of, line.right_of)
    )
    return replace(line, left_of=left, right_of=right)


def _parts(n: int, standing: int) -> tuple[tuple[str, int], ...]:
    """What is on the tapes that are in, and what the counters show in place of the others."""
    return (*((("tape", n - standing),) if n != standing else ()), ("counter", standing))


def _scope(line: Line | Unchecked) -> tuple[tuple[str, Any], ...]:
    return tuple(sorted((line.scope or {}).items()))
