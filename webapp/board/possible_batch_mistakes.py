"""The mistakes that can explain the open rows of one group of batches, each with what it would move.

One-ballot mistakes come in sizes of 1 to 4, and beyond that only in the size that closes a row. A mistake whose rows
are not drawn moves nothing and is not offered.
"""

from collections.abc import Iterator, Mapping
from typing import Any

from webapp.board.batch_mistakes import COSTS, ONE_BALLOT, PILES, BatchMistake, one_ballot_cost
from webapp.board.batch_rows import COUNTER, ENVELOPES, FED, Batches, BatchGroup, BatchRow
from webapp.precinct.explain.mistake_sizes import BUNDLES, FEW, slips


class PossibleMistakes:
    """The mistakes that can explain the gaps of one group. others: gap -> batches of groups whose only gap is a fed row, for ballots that strayed."""

    def __init__(self, batches: Batches, group: BatchGroup, others: Mapping[int, list[str]]):
        self.batches, self.group, self.others = batches, group, others

    def ordinary(self) -> Iterator[BatchMistake]:
        """Every mistake of an ordinary size in the batches of the group, and in the one before the first, whose counter reading may be the wrong one."""
        for id in self.group.ids:
            yield from self.one_ballot(id)
            yield from self.piles(id)
            yield from self.misread(id)
            yield from self.at_the_tabulator(id)
        before = self.batches.before.get(self.group.ids[0])
        if before in self.batches.by_id:
            yield from self.misread(before)
        for row, gap in self.group.gaps.items():
            yield from self.closing(row, gap)
        yield from self.exchanged()

    def one_ballot(self, id: str) -> Iterator[BatchMistake]:
        for code, (of, way) in ONE_BALLOT.items():
            for n in range(1, FEW + 1):
                yield from self.sized(code, BatchRow(id, of), way, n)

    def sized(self, code: str, row: BatchRow, way: int, n: int) -> Iterator[BatchMistake]:
        """A one-ballot mistake of n ballots, if its row is drawn and there were so many."""
        if row not in self.batches.drawn or n > self.most(code, row.batch):
            return
        if code == "strayed":
            yield from self.strayed(row, n)
        else:
            yield BatchMistake(code, row.batch, (("ballots", n),), one_ballot_cost(code, n), ((row, way * n),), n)

    def most(self, code: str, id: str) -> int:
        """Ballots that a one-ballot mistake can have at the most: those set aside, the envelopes, or the ballots of the batch."""
        batch = self.batches.by_id[id]
        if code == "aside-fed":
            return batch.aside.total
        figure = batch.envelopes if code in ("left-in-envelope", "empty-unlogged") else batch.ballots
        return figure.total if figure else 0

    def strayed(self, row: BatchRow, n: int) -> Iterator[BatchMistake]:
        """Ballots of this batch fed with another, whose group has no other gap."""
        for to in self.others.get(-n, ()):
            if to not in self.group.ids:
                yield BatchMistake(
                    "strayed", row.batch, (("to", to), ("ballots", n)), one_ballot_cost("strayed", n), ((row, n),), n
                )

    def closing(self, row: BatchRow, gap: int, beside: BatchMistake | None = None) -> Iterator[BatchMistake]:
        """The mistakes whose size is exactly this gap of one row, of any size they can have; `beside` is a mistake taken as made already."""
        for code, (of, way) in ONE_BALLOT.items():
            if of == row.of and gap * way > FEW:
                yield from self.sized(code, row, way, gap * way)
        if row.of == FED and gap < 0:
            yield from self.came_from_elsewhere(row, -gap)
            if beside and self.through(row.batch, beside) == -gap:
                yield from self.whole_again(row.batch, -gap)
        if row.of == COUNTER and gap > 0:
            yield from self.between_batches(row, gap)

    def came_from_elsewhere(self, row: BatchRow, n: int) -> Iterator[BatchMistake]:
        """Ballots that another batch lacks, where this is the only gap of the group."""
        if len(self.group.gaps) == 1 and self.group.gaps.get(row) == -n:
            for other, gap in self.batches.gaps.items():
                if other.of == FED and gap == n and other.batch not in self.group.ids:
                    yield BatchMistake(
                        "strayed",
                        other.batch,
                        (("to", row.batch), ("ballots", n)),
                        one_ballot_cost("strayed", n),
                        ((row, -n),),
                        n,
                    )

    def between_batches(self, row: BatchRow, n: int) -> Iterator[BatchMistake]:
        """Ballots that went through after the last batch and before this one."""
        batch, after = self.batches.by_id[row.batch], self.batches.before[row.batch]
        if n <= max(2 * self.batches.largest, BUNDLES[-1]):
            yield BatchMistake(
                "batch-not-listed",
                row.batch,
                (("ballots", n), ("after", after)),
                COSTS["batch-not-listed"],
                ((row, n),),
                n,
            )
        earlier = [
            id
            for id in self.batches.fed_with.get((batch.tabulator, batch.day, n), ())
            if self.batches.place[id] < self.batches.place[row.batch]
        ]
        if earlier:
            yield BatchMistake(
                "fed-again-later",
                row.batch,
                (("of", earlier[-1]), ("ballots", n)),
                COSTS["fed-again-later"],
                ((row, n),),
                n,
            )

    def piles(self, id: str) -> Iterator[BatchMistake]:
        """A pile of ballots or envelopes counted wrong by 1, 2 or a bundle; there cannot be fewer than none."""
        batch = self.batches.by_id[id]
        for code, figure, effects in (
            ("ballots-miscounted", batch.ballots, ((ENVELOPES, -1), (FED, 1))),
            ("envelopes-miscounted", batch.envelopes, ((ENVELOPES, 1),)),
        ):
            for by in (sign * n for n in PILES for sign in (1, -1)):
                if figure is not None and by <= figure.total:
                    yield from self.moving(
                        code,
                        id,
                        (("by", by),),
                        COSTS[code] + 2 * (abs(by) > 1),
                        {BatchRow(id, of): way * by for of, way in effects},
                        abs(by),
                    )

    def moving(
        self,
        code: str,
        id: str,
        keys: tuple[tuple[str, Any], ...],
        cost: float,
        effects: Mapping[BatchRow, int],
        ballots: int = 0,
    ) -> Iterator[BatchMistake]:
        """The mistake, with those of its effects whose rows are drawn; none where it moves nothing."""
        seen = tuple((row, n) for row, n in effects.items() if row in self.batches.drawn and n)
        if seen:
            yield BatchMistake(code, id, keys, cost, seen, ballots)

    def misread(self, id: str) -> Iterator[BatchMistake]:
        """A counter figure read or typed wrong by a usual slip, or 1 off; a counter never runs backwards."""
        batch = self.batches.by_id[id]
        if batch.before is None or batch.after is None:
            return
        for figure, written, way in (("before", batch.before, 1), ("after", batch.after, -1)):
            counter = id if figure == "before" else self.batches.behind.get(id, "")
            for likely in sorted(slips(written) | {written + 1, written - 1}):
                d = written - likely
                if likely >= 0 and (likely <= batch.after if figure == "before" else likely >= batch.before):
                    effects = {BatchRow(id, FED): way * d, BatchRow(counter, COUNTER): way * d}
                    yield from self.moving(
                        "counter-misread",
                        id,
                        (("figure", figure), ("likely", likely)),
                        COSTS["counter-misread"],
                        effects,
                    )

    def at_the_tabulator(self, id: str) -> Iterator[BatchMistake]:
        """The header sheet counted, the whole batch fed twice, the counter set back to nothing."""
        batch = self.batches.by_id[id]
        yield from self.moving("header-counted", id, (), COSTS["header-counted"], {BatchRow(id, FED): -1}, 1)
        if (through := self.through(id)) > 0:
            yield from self.whole_again(id, through)
        stood = self.batches.counter_before(id)
        if batch.before == 0 and stood:
            yield from self.moving("counter-reset", id, (), COSTS["counter-reset"], {BatchRow(id, COUNTER): -stood})

    def through(self, id: str, beside: BatchMistake | None = None) -> int:
        """Ballots of a batch that went through: those in it less those set aside, put right where another mistake says so."""
        batch = self.batches.by_id[id]
        written = batch.ballots.total - batch.aside.total if batch.ballots else 0
        if beside is None or beside.batch != id:
            return written
        more_aside = {"aside-unlogged": 1, "not-fed": 1, "aside-fed": -1}.get(beside.code, 0)
        return written - more_aside * beside.ballots - (beside.get("by") if beside.code == "ballots-miscounted" else 0)

    def whole_again(self, id: str, n: int) -> Iterator[BatchMistake]:
        keys, cost = (("ballots", n),), COSTS["batch-fed-twice"]
        yield from self.moving("batch-fed-twice", id, keys, cost, {BatchRow(id, FED): -n}, n)

    def exchanged(self) -> Iterator[BatchMistake]:
        """The entries of two batches exchanged: read in the order of their counters, every counter row of the group closes."""
        rows = {row: gap for row, gap in self.group.gaps.items() if row.of == COUNTER}
        first = next((row.batch for row in rows), None)
        for one, other in dict.fromkeys(self.might_be_exchanged(first) if first else ()):
            if one != other and self.closes(one, other, rows):
                early, late = sorted((one, other), key=self.batches.place.__getitem__)
                yield BatchMistake("order", early, (("with", late),), COSTS["order"], tuple(rows.items()))

    def might_be_exchanged(self, first: str) -> Iterator[tuple[str, str]]:
        """Pairs that would close the first open counter row: it begins where another ends, or where its own predecessor should have ended."""
        batch, before = self.batches.by_id[first], self.batches.before[first]
        on = batch.tabulator, batch.day
        for other in self.batches.starts_at.get((*on, self.batches.counter_before(first)), ()):
            yield first, other
        if before in self.batches.by_id and BatchRow(before, COUNTER) not in self.batches.drawn:
            yield before, first
            for other in self.batches.ends_at.get((*on, batch.before), ()):
                yield before, other

    def closes(self, one: str, two: str, rows: Mapping[BatchRow, int]) -> bool:
        """Whether, with these two exchanged, every counter row of the group agrees, and none that agreed comes apart."""
        change = {one: two, two: one}
        touched = {id for id in (one, two, self.batches.behind.get(one), self.batches.behind.get(two)) if id}
        if not {row.batch for row in rows} <= touched:
            return False
        return all(self.agrees(id, change) for id in touched if BatchRow(id, COUNTER) in self.batches.drawn)

    def agrees(self, id: str, change: Mapping[str, str]) -> bool:
        """Whether the counter before a batch reads what its predecessor left.

        id: the batch. change: batch ids that were exchanged, each with the id that takes its part.
        """
        before, here = self.batches.before[id], self.batches.by_id[change.get(id, id)]
        stood = (
            self.batches.by_id[change.get(before, before)].after
            if before in self.batches.by_id
            else self.batches.counter_before(id)
        )
        return here.before == stood
