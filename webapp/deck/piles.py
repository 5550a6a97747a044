"""The deck as one tabulator is fed it: each style's ballots as masks, and what counting them gives.

A style with further sheets is counted sheet by sheet: a contest is carried by the ballots whose sheet was fed.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from webapp.deck.positions import DeckPlan, DeckStyle
from webapp.deck.rows import Row
from webapp.deck.tally import Straight, Vector, straight_rows, straight_votes, tally

Columns = tuple[tuple[int, ...], ...]  # by contest, by position


@dataclass(frozen=True)
class Pile:
    """All ballots of one style. Bit i of every mask is the ballot `order[i]`; a ballot fed twice is in the order twice."""

    plan: DeckPlan
    style: DeckStyle
    order: tuple[Row, ...]
    columns: Columns
    carried: tuple[int, ...]  # by contest: ballots that carry it
    folded: int

    @property
    def ballots(self) -> int:
        return len(self.order)

    @cached_property
    def straight(self) -> tuple[Straight, ...]:
        """By contest: ballots with one party alone, and the positions that it votes for."""
        return self.straight_of(self.columns)

    @cached_property
    def parties(self) -> tuple[str, ...]:
        """Parties of the straight-party contest; () where the style has none."""
        return self.plan.straight_parties if self.plan.straight in self.style.index else ()

    @cached_property
    def alone(self) -> list[int]:
        """For each of these parties, the ballots on which it alone is marked."""
        return self.alone_in(self.columns)

    def alone_in(self, columns: Columns) -> list[int]:
        return straight_rows(columns[self.style.index[self.plan.straight]]) if self.parties else []

    def straight_of(self, columns: Columns) -> tuple[Straight, ...]:
        """`straight` for other columns than its own."""
        alone = self.alone_in(columns)
        return tuple(
            straight_votes(c, self.parties if c.id != self.plan.straight else (), alone) for c in self.style.contests
        )

    @cached_property
    def counts(self) -> tuple[Vector, ...]:
        """The figures of each contest."""
        return tuple(self.count(i, self.columns[i]) for i in range(len(self.style.contests)))

    def count(self, i: int, columns: Sequence[int], straight: Straight | None = None) -> Vector:
        """The figures of contest i with these columns; `straight` None means the pile's own."""
        return tally(
            self.style.contests[i], columns, self.carried[i], self.straight[i] if straight is None else straight
        )

    def count_with_n(self, i: int, n: int) -> Vector:
        """The figures of contest i when n votes are allowed in it."""
        contest = replace(self.style.contests[i], n=n)
        return tally(contest, self.columns[i], self.carried[i], straight_votes(contest, self.parties, self.alone))

    def counts_of(self, columns: Columns) -> tuple[Vector, ...]:
        """The figures of every contest with other columns, straight votes read again."""
        straight = self.straight_of(columns)
        return tuple(self.count(i, columns[i], straight[i]) for i in range(len(self.style.contests)))


def pile(plan: DeckPlan, style: DeckStyle, rows: Iterable[Row]) -> Pile:
    """The ballots of one style as masks."""
    order = tuple(rows)
    columns = [[0] * len(contest.positions) for contest in style.contests]
    carried, folded = [0] * len(style.contests), 0
    where = [{position: p for p, position in enumerate(contest.positions)} for contest in style.contests]
    for bit, row in enumerate(order):
        folded |= row.fold << bit
        for i, contest in enumerate(style.contests):
            if not row.sheets or style.sheet_of[i] < row.sheets:
                carried[i] |= 1 << bit
            for position in row.marks.get(contest.id, ()):
                columns[i][where[i][position]] |= 1 << bit
    return Pile(plan, style, order, tuple(map(tuple, columns)), tuple(carried), folded)


@dataclass(frozen=True)
class Feed:
    """What one tabulator is fed: a pile for each style, in the order of the styles."""

    plan: DeckPlan
    piles: tuple[Pile, ...]

    @cached_property
    def by_style(self) -> dict[str, Pile]:
        return {one.style.id: one for one in self.piles}

    @cached_property
    def totals(self) -> dict[str, Vector]:
        """The figures of each contest over all styles."""
        found: dict[str, Vector] = {contest.id: (0,) * len(contest.cells) for contest in self.plan.contests}
        for one in self.piles:
            for contest, vector in zip(one.style.contests, one.counts, strict=True):
                found[contest.id] = add(found[contest.id], vector)
        return found

    @cached_property
    def precincts(self) -> dict[str, int]:
        """Ballots of this feed by precinct."""
        found = dict.fromkeys(self.plan.precincts, 0)
        for one in self.piles:
            for row in one.order:
                found[row.precinct] += 1
        return found

    def only(self, row: Row) -> "Feed":
        """The feed of this one ballot alone."""
        return Feed(
            self.plan,
            tuple(pile(self.plan, one.style, [row] if one.style.id == row.style else []) for one in self.piles),
        )

    @property
    def ballots(self) -> int:
        return sum(one.ballots for one in self.piles)

    @property
    def sheets(self) -> int:
        """Sheets fed: the public counter of a tabulator that counts sheets."""
        return sum(row.sheets or one.style.sheets for one in self.piles for row in one.order)


def feed(plan: DeckPlan, rows: Sequence[Row], *tabulators: str) -> Feed:
    """The deck as this tabulator is fed it, or several taken as one."""
    by_style: dict[str, list[Row]] = {style.id: [] for style in plan.styles}
    for row in rows:
        if not row.is_refused:
            by_style[row.style] += [row] * sum(row.times(tabulator) for tabulator in tabulators)
    return Feed(plan, tuple(pile(plan, style, by_style[style.id]) for style in plan.styles))


def add(a: Vector, b: Vector) -> Vector:
    return tuple(x + y for x, y in zip(a, b, strict=True))


def less(a: Vector, b: Vector) -> Vector:
    """Returns a minus b, figure by figure. Raises ValueError where their lengths differ."""
    return tuple(x - y for x, y in zip(a, b, strict=True))
