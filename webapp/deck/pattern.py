"""The search for the pattern of one unit: contest by contest the first totals and the first rotation that meet every condition.

Nothing is random and nothing is kept from run to run, so that the same place file gives the same pattern everywhere.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any

from webapp.deck import conditions, totals
from webapp.deck.conditions import Dealt, Figures
from webapp.deck.dealing import deal, rotated
from webapp.deck.positions import DEALING, DeckContest, DeckStyle, Shape
from webapp.deck.specials import Special
from webapp.deck.tally import Straight, position_votes, straight_rows, straight_votes

MOST_REFUSALS, MOST_REFUSALS_OF_DEALING_1 = 100, 20


class NoDeck(Exception):
    """No pile of ballots of ours shows every fault of this place file; one sentence says why and what to do."""


@dataclass
class Sums:
    """Figures of every contest over the units so far, by contest id."""

    figures: dict[str, Figures] = field(default_factory=dict)
    shapes: dict[str, Shape] = field(default_factory=dict)

    def with_more(self, contest: DeckContest, more: Figures) -> Figures:
        before = self.figures.get(contest.id, (0,) * len(more))
        return tuple(a + b for a, b in zip(before, more, strict=True))

    def is_taken(self, contest: DeckContest, found: Figures, style: DeckStyle) -> bool:
        """Whether a contest of the same shape that is not on this style has these sums."""
        return any(
            other not in style.index and self.shapes[other] == contest.shape and sums == found
            for other, sums in self.figures.items()
        )

    def add(self, contest: DeckContest, more: Figures) -> None:
        """Adds one unit's figures of a contest to the sums."""
        self.figures[contest.id] = self.with_more(contest, more)
        self.shapes[contest.id] = contest.shape


@dataclass(frozen=True)
class Laid:
    """The special ballots of a unit as masks, and the straight votes that each contest has of them."""

    columns: tuple[tuple[int, ...], ...]  # by contest, by position
    rows: tuple[int, ...]  # by contest: ballots that carry it
    straight: tuple[Straight, ...]
    count: int


def lay(style: DeckStyle, special: Sequence[Special], straight: str) -> Laid:
    """The special ballots as masks: bit 0 is the first of them."""
    columns = [[0] * len(contest.positions) for contest in style.contests]
    rows = [0] * len(style.contests)
    for bit, ballot in enumerate(special):
        for i, contest in enumerate(style.contests):
            if not ballot.sheets or style.sheet_of[i] < ballot.sheets:
                rows[i] |= 1 << bit
            for position in ballot.marks.get(contest.id, ()):
                columns[i][position] |= 1 << bit
    parties: tuple[str, ...] = ()
    alone: list[int] = []
    if straight in style.index:
        parties, alone = style.contests[style.index[straight]].parties, straight_rows(columns[style.index[straight]])
    votes = [straight_votes(contest, parties if contest.id != straight else (), alone) for contest in style.contests]
    return Laid(tuple(map(tuple, columns)), tuple(rows), tuple(votes), len(special))


Pattern = tuple[
    tuple[int, ...], ...
]  # by contest, by position: rows of the pattern as a mask; 0 for the straight-party contest


@dataclass
class PatternSearch:
    """The search over the units of a place file in their order; holds the sums so far and the patterns found, to share them."""

    straight: str
    dealing: int = DEALING
    sums: Sums = field(default_factory=Sums)
    known: dict[tuple[Any, ...], Pattern] = field(default_factory=dict)

    def unit(self, style: DeckStyle, special: Sequence[Special]) -> Pattern:
        """The pattern of one unit. Units whose contests and special ballots are alike take the first's where it meets every condition."""
        laid = lay(style, special, self.straight)
        key = (tuple((len(c.choices), c.lines, c.n, c.id == self.straight) for c in style.contests), laid)
        shared = self.known.get(key)
        found = shared if shared and self._still_holds(style, laid, shared) else self._searched(style, laid)
        self.known.setdefault(key, found)
        for contest, cells in self._cells(style, laid, found):
            self.sums.add(contest, cells)
        return found

    def _searched(self, style: DeckStyle, laid: Laid) -> Pattern:
        """Searches a pattern from the start.

        Exchanges with ovals of the straight-party contest are looked at over the whole unit: if one stays hidden, the
        totals of its contest are refused and the search begins again; at last, with totals as dealing 1 takes them.
        If one partisan contest is alone on a ballot no search may help: the first pattern is given, and playing the
        faults names what stays hidden.
        """
        first: Pattern | None = None
        for counts_special in (True, False) if self.dealing > 1 and self.straight in style.index else (False,):
            refused: set[tuple[str, Figures]] = set()
            while len(refused) <= (MOST_REFUSALS if counts_special else MOST_REFUSALS_OF_DEALING_1):
                unit = _Unit(self, style, laid, refused, counts_special)
                found = unit.search()
                first = first or found
                hidden = conditions.hides_a_straight_exchange(unit.party, unit.dealt) if unit.party else None
                if not hidden:
                    return found
                refused.add((hidden.contest.id, hidden.votes))
        assert first is not None
        return first

    def _cells(self, style: DeckStyle, laid: Laid, pattern: Pattern) -> list[tuple[DeckContest, Figures]]:
        found = []
        for i, contest in enumerate(style.contests):
            votes, _ = position_votes(contest, laid.columns[i], laid.rows[i], laid.straight[i])
            found.append(
                (
                    contest,
                    conditions.figures(contest, [v + m.bit_count() for v, m in zip(votes, pattern[i], strict=True)]),
                )
            )
        return found

    def _still_holds(self, style: DeckStyle, laid: Laid, pattern: Pattern) -> bool:
        """Conditions 3 and 4 over the units so far; the others hold within any unit that is alike."""
        fresh: set[tuple[Shape, Figures]] = set()
        for contest, cells in self._cells(style, laid, pattern):
            found = self.sums.with_more(contest, cells)
            if (
                (contest.shape, found) in fresh
                or not conditions.all_different(found)
                or self.sums.is_taken(contest, found, style)
            ):
                return False
            fresh.add((contest.shape, found))
        return True


class _Unit:
    """The search of one unit. `refused`: figures that a contest may not have; `counts_special`: totals have the special ballots' votes."""

    def __init__(
        self,
        search: PatternSearch,
        style: DeckStyle,
        laid: Laid,
        refused: set[tuple[str, Figures]],
        counts_special: bool,
    ):
        self.sums, self.style, self.laid, self.straight = search.sums, style, laid, search.straight
        self.seen: set[int] = set()
        self.dealt: list[Dealt] = []  # without the straight-party contest
        self.party: Dealt | None = None
        self.refused = refused
        self.counts_special = counts_special
        self.cells: dict[Shape, set[Figures]] = {}
        self.fresh: dict[Shape, set[Figures]] = {}  # sums of contests dealt in this unit

    def search(self) -> Pattern:
        """Returns the unit's pattern: by contest and position, the rows that mark it, as a bit mask."""
        found: dict[int, tuple[int, ...]] = {}
        order = sorted(range(len(self.style.contests)), key=lambda i: self.style.contests[i].id != self.straight)
        for i in order:
            contest = self.style.contests[i]
            if contest.id == self.straight:
                found[i] = (0,) * len(contest.positions)
                self.party = self._dealt(i, contest, found[i])
                self._keep(self.party)
                self.dealt.clear()
            else:
                found[i] = self._contest(i, contest)
        return tuple(found[i] for i in range(len(order)))

    def _contest(self, i: int, contest: DeckContest) -> tuple[int, ...]:
        plain, _ = position_votes(contest, self.laid.columns[i], self.laid.rows[i])
        straight, _ = position_votes(contest, self.laid.columns[i], self.laid.rows[i], self.laid.straight[i])
        for window, found in self._candidates(i, contest, plain):
            if not self._totals_fit(
                contest,
                [a + b for a, b in zip(plain, found, strict=True)],
                [a + b for a, b in zip(straight, found, strict=True)],
            ):
                continue
            first = deal(found, window)
            for rotation in self._unseen_rotations(i, found, first, window):
                pattern = tuple(rotated(column, window, rotation) for column in first)
                one = self._dealt(i, contest, pattern)
                if not conditions.hides_an_exchange(one, self.dealt):
                    self._keep(one)
                    return pattern
        raise NoDeck(
            f"Contest {contest.id} on style {self.style.id} needs more than {totals.LARGEST_WINDOW} test ballots to tell its "
            f"{len(contest.choices)} choices apart: test it with a deck of its own, or ask the office how it is tested."
        )

    def _candidates(self, i: int, contest: DeckContest, special: list[int]) -> Iterator[tuple[int, totals.Totals]]:
        """(window, totals of the pattern), the least first. On a style with straight party each total counts what the special ballots
        give it, and the pattern deals the rest: the straight votes ask for large totals, and so no ballot is spent twice."""
        lists = totals.all_candidates(len(contest.choices), contest.lines, contest.n, bool(self.laid.straight[i]))
        if not self.counts_special:
            yield from lists
            return
        for _, found in lists:
            rest = tuple(total - own for total, own in zip(found, special, strict=True))
            if all(total > 0 for total in rest):
                yield totals.window(rest, contest.n), rest

    def _totals_fit(self, contest: DeckContest, plain: list[int], straight: list[int]) -> bool:
        """Conditions 2 to 4."""
        if not conditions.tells_choices_apart(contest, plain) or not conditions.tells_choices_apart(contest, straight):
            return False
        cells = conditions.figures(contest, straight)
        sums = self.sums.with_more(contest, cells)
        return (
            conditions.all_different(sums)
            and (contest.id, cells) not in self.refused
            and cells not in self.cells.get(contest.shape, ())
            and sums not in self.fresh.get(contest.shape, ())
            and not self.sums.is_taken(contest, sums, self.style)
        )

    def _unseen_rotations(self, i: int, found: totals.Totals, first: tuple[int, ...], window: int) -> Iterator[int]:
        """Rotations that meet condition 1. The least total is looked up first, since short columns are the first to meet their like."""
        order = sorted(range(len(found)), key=found.__getitem__)
        special, shift, whole, seen = self.laid.columns[i], self.laid.count, (1 << window) - 1, self.seen
        for rotation in range(window):
            back = window - rotation
            for p in order:
                column = first[p]
                if special[p] | ((column << rotation | column >> back) & whole) << shift in seen:
                    break
            else:
                yield rotation

    def _dealt(self, i: int, contest: DeckContest, pattern: tuple[int, ...]) -> Dealt:
        columns = tuple(
            special | rows << self.laid.count for special, rows in zip(self.laid.columns[i], pattern, strict=True)
        )
        rows = self.laid.rows[i]
        for column in columns:
            rows |= column
        return conditions.dealt(contest, columns, rows, self.laid.straight[i])

    def _keep(self, one: Dealt) -> None:
        shape, sums = one.contest.shape, self.sums.with_more(one.contest, one.votes)
        self.seen.update(one.columns)
        self.dealt.append(one)
        self.cells.setdefault(shape, set()).add(one.votes)
        self.fresh.setdefault(shape, set()).add(sums)
