"""What a contest's totals and columns must meet before the next contest is dealt; each condition exposes one kind of fault.

1 no column equals one of an earlier contest of the unit. 2 within the contest every choice has a vote and all figures differ, with and without
straight votes. 3 so do the sums over the units so far. 4 no contest of the same shape has the same figures. 5 no exchange of an oval with one of
an earlier contest leaves every figure as it is.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import reduce
from operator import or_

from webapp.deck.positions import DeckContest
from webapp.deck.tally import Straight, mark_counts, position_votes, straight_rows, straight_votes

Figures = tuple[int, ...]  # votes of each choice, then the sum of the lines where there are any


def figures(contest: DeckContest, votes: Sequence[int]) -> Figures:
    """Votes by position as the cells of a tape: the lines together."""
    choices = len(contest.choices)
    return (*votes[:choices], *((sum(votes[choices:]),) if contest.lines else ()))


def tells_choices_apart(contest: DeckContest, votes: Sequence[int]) -> bool:
    """Condition 2 for one reading of the unit: every choice at least 1, all different, no line and not the lines' sum equal to a choice."""
    chosen, lines = votes[: len(contest.choices)], votes[len(contest.choices) :]
    unlike = set(chosen)
    return (
        all(chosen)
        and all(lines)
        and len(unlike) == len(chosen)
        and unlike.isdisjoint(lines)
        and (not lines or sum(lines) not in unlike)
    )


def all_different(cells: Figures) -> bool:
    """Condition 3 for the sums of one contest."""
    return len(set(cells)) == len(cells)


@dataclass(frozen=True, slots=True)
class Dealt:
    """A contest whose columns are fixed, with the masks of ballots that an exchange of one oval can move between."""

    contest: DeckContest
    columns: tuple[int, ...]
    rows: int  # ballots that carry the contest
    straight: Straight
    over: int  # ballots with more than n marks
    at_n: int  # ballots with exactly n marks
    at_n1: int  # with n + 1: no longer overvoted when one mark goes
    none: int  # with no mark
    at_1: int
    overvotes: int  # how many are overvoted
    votes: Figures


def dealt(contest: DeckContest, columns: tuple[int, ...], rows: int, straight: Straight = ()) -> Dealt:
    """The masks and figures of a contest over these ballots."""
    counts = mark_counts(columns, rows)
    over, none = counts.above(contest.n), counts.exactly(0)
    votes = figures(contest, _votes(columns, over, none, straight))
    return Dealt(
        contest,
        columns,
        rows,
        straight,
        over,
        counts.exactly(contest.n),
        counts.exactly(contest.n + 1),
        none,
        counts.exactly(1),
        over.bit_count(),
        votes,
    )


def _votes(columns: Sequence[int], over: int, none: int, straight: Straight) -> list[int]:
    votes = [(column & ~over).bit_count() for column in columns]
    for ballots, positions in straight:
        given = (ballots & none).bit_count()
        for i in positions:
            votes[i] += given
    return votes


def unseen(one: Dealt, p: int, column: int) -> bool:
    """Whether reading this column as position p of the contest, in place of its own, leaves every figure of the contest as it is."""
    own = one.columns[p]
    lost, won = own & ~column, column & ~own
    over = (one.over & ~(lost & one.at_n1)) | (won & one.at_n)
    if over.bit_count() != one.overvotes:
        return False
    if not one.straight and p < len(one.contest.choices) and (column & ~over).bit_count() != one.votes[p]:
        return False
    columns = [*one.columns]
    columns[p] = column
    return figures(one.contest, _votes(columns, over, (one.none & ~won) | (lost & one.at_1), one.straight)) == one.votes


def hidden_pairs(one: Dealt, other: Dealt) -> Iterator[tuple[int, int]]:
    """Pairs of positions of two contests whose ovals could be exchanged without any figure of the two changing.

    Most pairs fall at once: the ballots that one exchange frees of an overvote and those that it overvotes differ in number.
    """
    for p, own in enumerate(one.columns):
        freed, filled = own & one.at_n1, one.at_n & ~own
        for q, column in enumerate(other.columns):
            if (
                (freed & ~column).bit_count() == (filled & column).bit_count()
                and unseen(one, p, column)
                and unseen(other, q, own)
            ):
                yield p, q


def hides_an_exchange(new: Dealt, earlier: Iterable[Dealt]) -> bool:
    """Condition 5 among contests other than the straight-party contest."""
    return any(True for one in earlier for _ in hidden_pairs(one, new))


def hides_a_straight_exchange(party: Dealt, others: Sequence[Dealt]) -> Dealt | None:
    """Condition 5 for the straight-party contest: the first contest of which an oval exchanged with a party's changes none of these.

    Straight votes move with the oval, so that a contest may change that has neither oval.
    """
    marked = reduce(or_, (column for one in others for column in one.columns), 0)
    for other in others:
        for p, own in enumerate(party.columns):
            for q, column in enumerate(other.columns):
                if unseen(party, p, column):
                    alone = straight_rows(_with(party.columns, p, column))
                    if all(
                        _stays(
                            one,
                            _with(one.columns, q, own) if one is other else one.columns,
                            marked,
                            party.contest,
                            alone,
                        )
                        for one in others
                    ):
                        return other
    return None


def _with(columns: Sequence[int], p: int, column: int) -> list[int]:
    found = list(columns)
    found[p] = column
    return found


def _stays(one: Dealt, columns: Sequence[int], marked: int, party: DeckContest, alone: Sequence[int]) -> bool:
    """Whether a contest keeps its figures; `marked`: ballots with any mark, which all carry it."""
    rows = one.rows | marked
    votes, over = position_votes(one.contest, columns, rows, straight_votes(one.contest, party.parties, alone))
    return over == one.overvotes and figures(one.contest, votes) == one.votes
