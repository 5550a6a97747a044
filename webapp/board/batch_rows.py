"""The three rows of every batch, and which open batches belong together because one counter figure touches both.

BatchRow *envelopes* is `batch-envelopes`, row *fed* is `batch`, row *counter* is its second row: before = the last after.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any, NamedTuple

from webapp.precinct.balance.figure_board import Batch
from webapp.precinct.balance.line import Line

ENVELOPES, FED, COUNTER = "envelopes", "fed", "counter"
ZERO = "zero"


class BatchRow(NamedTuple):
    """One row of one batch."""

    batch: str
    of: str


@dataclass(frozen=True)
class BatchGroup:
    """Open batches that are explained together, in the order of the list, and the gaps of their rows."""

    ids: tuple[str, ...]
    gaps: Mapping[BatchRow, int]
    lines: tuple[Line, ...]


class Batches:
    """Every batch of a file in the order of feeding, with the rows that are drawn and those that are open."""

    def __init__(self, batches: Iterable[Batch], lines: Iterable[Line]):
        self.by_id = {batch.id: batch for batch in batches}
        self.place = {id: n for n, id in enumerate(self.by_id)}
        self.drawn: dict[BatchRow, Line] = {}
        self.before: dict[str, str] = {}
        for line in lines:
            kind, _, id = line.id.partition(":")
            after = (line.scope or {}).get("after")
            if kind not in ("batch-envelopes", "batch") or id not in self.by_id or line.scope and after is None:
                continue
            self.drawn[BatchRow(id, ENVELOPES if kind == "batch-envelopes" else FED if after is None else COUNTER)] = (
                line
            )
            if after is not None:
                self.before[id] = after
        self.behind = {before: id for id, before in self.before.items() if before in self.by_id}
        self.gaps = {row: line.gap for row, line in self.drawn.items() if line.gap}

    @cached_property
    def largest(self) -> int:
        """Ballots of the largest batch."""
        return max((batch.ballots.total for batch in self.by_id.values() if batch.ballots), default=0)

    @cached_property
    def fed_with(self) -> Mapping[tuple[Any, ...], list[str]]:
        """The batches of a tabulator and day whose counter moved by one figure, in the order of feeding."""
        found: dict[tuple[Any, ...], list[str]] = {}
        for batch in self.by_id.values():
            if batch.fed:
                found.setdefault((batch.tabulator, batch.day, batch.fed), []).append(batch.id)
        return found

    @cached_property
    def starts_at(self) -> Mapping[tuple[Any, ...], list[str]]:
        """The batches of a tabulator and day that begin at one figure of its counter."""
        return self._by_counter("before")

    @cached_property
    def ends_at(self) -> Mapping[tuple[Any, ...], list[str]]:
        """The batches of a tabulator and day that end at one figure of its counter."""
        return self._by_counter("after")

    def _by_counter(self, figure: str) -> Mapping[tuple[Any, ...], list[str]]:
        found: dict[tuple[Any, ...], list[str]] = {}
        for batch in self.by_id.values():
            if batch.fed is not None:
                found.setdefault((batch.tabulator, batch.day, getattr(batch, figure)), []).append(batch.id)
        return found

    @cached_property
    def groups(self) -> tuple[BatchGroup, ...]:
        """Each open batch, with the open batch before it where its own counter row is open."""
        open_rows: dict[str, list[BatchRow]] = {}
        for row in self.gaps:
            open_rows.setdefault(row.batch, []).append(row)
        together: dict[str, list[str]] = {}
        for id in sorted(open_rows, key=self.place.__getitem__):
            before = self.before.get(id) if BatchRow(id, COUNTER) in self.gaps else None
            mine = together.get(before or "") or []
            mine.append(id)
            together[id] = mine
        lists = {tuple(ids): None for ids in together.values()}
        return tuple(self._group(ids, open_rows) for ids in lists)

    def _group(self, ids: tuple[str, ...], open_rows: Mapping[str, list[BatchRow]]) -> BatchGroup:
        rows = [
            row for id in ids for row in sorted(open_rows[id], key=lambda row: (ENVELOPES, FED, COUNTER).index(row.of))
        ]
        return BatchGroup(ids, {row: self.gaps[row] for row in rows}, tuple(self.drawn[row] for row in rows))

    def counter_before(self, id: str) -> int | None:
        """What the counter should have read before this batch: the reading after the batch before, or the zero tape's."""
        line = self.drawn.get(BatchRow(id, COUNTER))
        return line.right if line else None
