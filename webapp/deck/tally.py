"""Counting one contest over many ballots at once: each position is an integer whose bits are the ballots on which it is marked.

Marks a ballot are added bit by bit in parallel (a carry-save counter over the columns), so that a contest of 13 positions on 130 ballots
is counted with some fifty operations on integers.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from webapp.deck.positions import DeckContest

Vector = tuple[int, ...]  # figures in the order of DeckContest.cells
Straight = tuple[
    tuple[int, tuple[int, ...]], ...
]  # (ballots with one party alone, positions of this contest that it votes for)


@dataclass(frozen=True, slots=True)
class MarkCounts:
    """How many marks a contest has on each ballot, as masks of ballots."""

    planes: tuple[int, ...]  # binary digits of the number of marks, lowest first
    rows: int  # ballots that carry the contest

    def exactly(self, marks: int) -> int:
        """Ballots with exactly this many marks."""
        if marks < 0 or marks >> len(self.planes):
            return 0
        found = self.rows
        for bit, plane in enumerate(self.planes):
            found &= plane if marks >> bit & 1 else ~plane
        return found

    def above(self, marks: int) -> int:
        """Ballots with more than this many marks."""
        if marks >> len(self.planes):
            return 0
        more, same = 0, self.rows
        for bit in range(len(self.planes) - 1, -1, -1):
            plane = self.planes[bit]
            if marks >> bit & 1:
                same &= plane
            else:
                more |= same & plane
                same &= ~plane
        return more


def mark_counts(columns: Sequence[int], rows: int) -> MarkCounts:
    """Marks a ballot over these columns."""
    planes: list[int] = []
    for column in columns:
        carry = column & rows
        for bit, plane in enumerate(planes):
            if not carry:
                break
            planes[bit], carry = plane ^ carry, plane & carry
        if carry:
            planes.append(carry)
    return MarkCounts(tuple(planes), rows)


def position_votes(
    contest: DeckContest, columns: Sequence[int], rows: int, straight: Straight = ()
) -> tuple[list[int], int]:
    """Votes that count for each position, and the number of overvoted ballots.

    A ballot with more than n marks gives no vote. Straight rule: with no mark of its own, the contest gives a vote to each
    choice of the one party marked.
    """
    counts = mark_counts(columns, rows)
    over = counts.above(contest.n)
    votes = [(column & rows & ~over).bit_count() for column in columns]
    if straight:
        none = counts.exactly(0)
        for ballots, positions in straight:
            given = (ballots & none).bit_count()
            for i in positions:
                votes[i] += given
    return votes, over.bit_count()


def tally(contest: DeckContest, columns: Sequence[int], rows: int, straight: Straight = ()) -> Vector:
    """The figures of one contest in the order of `contest.cells`. Undervotes: n a ballot less the votes, on ballots not overvoted."""
    votes, over = position_votes(contest, columns, rows, straight)
    ballots, choices = rows.bit_count(), len(contest.choices)
    written = (sum(votes[choices:]),) if contest.lines else ()
    return (*votes[:choices], *written, contest.n * (ballots - over) - sum(votes), over * contest.over_weight, ballots)


def straight_rows(columns: Sequence[int]) -> list[int]:
    """For each party of the straight-party contest, the ballots on which it alone is marked."""
    counts = mark_counts(columns, -1 if not columns else _union(columns))
    alone = counts.exactly(1)
    return [column & alone for column in columns]


def straight_votes(contest: DeckContest, parties: Sequence[str], alone: Sequence[int]) -> Straight:
    """The straight votes of one contest: masks of ballots with the positions they vote for, parties without any left out."""
    return tuple(
        (mask, positions)
        for party, mask in zip(parties, alone, strict=False)
        if mask and (positions := contest.party_positions(party))
    )


def _union(columns: Sequence[int]) -> int:
    found = 0
    for column in columns:
        found |= column
    return found
