"""Whether a contest on a tape adds up: votes (with write-ins) + undervotes + overvotes = ballots carrying it x N.

Tapes print overvotes in one of two ways: lost *votes* (an overvoted ballot adds N) or overvoted *ballots* (it adds
1). They differ only where N > 1 and there are any. The office states the way; if it does not, the way follows once
from all contest lines of a file, so that one odd line cannot be excused by choosing its own. Sources of both ways:
NIST/EAC logic model of the draft VVSG, and `trade.md` section 7.
"""

from collections.abc import Hashable, Iterable, Mapping
from dataclasses import dataclass
from typing import TypeVar

VOTES, BALLOTS = "votes", "ballots"
MORE, MULTIPLES, NO_MULTIPLE, STATED = (
    "more-lines-agree",
    "every-figure-a-multiple",
    "not-every-figure-a-multiple",
    "stated",
)


@dataclass(frozen=True)
class ContestCount:
    """One contest on one tape or in one precinct: vote for `n`, `votes` with write-ins, all figures as printed."""

    n: int
    ballots: int
    votes: int
    under: int
    over: int

    def left(self, overvotes: str) -> int:
        """All votes the tape accounts for: votes with write-ins, undervotes, overvotes by the convention."""
        return self.votes + self.under + self.over * (self.n if overvotes == BALLOTS else 1)

    def gap(self, overvotes: str) -> int:
        """`left` less ballots x N, in votes."""
        return self.left(overvotes) - self.ballots * self.n


@dataclass(frozen=True)
class Convention:
    """How overvotes are counted in a file, and how that is known: how many of the lines agree under each way."""

    overvotes: str
    known: str
    agree_as_votes: int = 0
    agree_as_ballots: int = 0


def contest_convention(counts: Iterable[ContestCount], stated: str | None = None) -> Convention:
    """The one way for all these contest lines: as stated, or the way under which more lines are 0.

    Equal on both: votes if every overvote figure is a multiple of its N, else ballots.
    """
    counts = tuple(counts)
    as_votes, as_ballots = (sum(count.gap(way) == 0 for count in counts) for way in (VOTES, BALLOTS))
    if stated:
        return Convention(stated, STATED, as_votes, as_ballots)
    if as_votes != as_ballots:
        return Convention(VOTES if as_votes > as_ballots else BALLOTS, MORE, as_votes, as_ballots)
    if all(count.over % count.n == 0 for count in counts):
        return Convention(VOTES, MULTIPLES, as_votes, as_ballots)
    return Convention(BALLOTS, NO_MULTIPLE, as_votes, as_ballots)


Key = TypeVar("Key", bound=Hashable)


def opposite_gaps(gaps: Mapping[Key, int]) -> list[tuple[Key, Key, int]]:
    """Pairs of gaps that cancel, (one with n too many, one with n too few), such as two precincts of one room. Each is in one pair at most."""
    over = sorted((key for key, gap in gaps.items() if gap > 0), key=lambda key: (gaps[key], str(key)))
    under = sorted((key for key, gap in gaps.items() if gap < 0), key=lambda key: (-gaps[key], str(key)))
    pairs = []
    for more in over:
        less = next((key for key in under if gaps[key] == -gaps[more]), None)
        if less is not None:
            under.remove(less)
            pairs.append((more, less, gaps[more]))
    return pairs
