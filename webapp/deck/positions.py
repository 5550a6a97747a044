"""Contests, styles and the plan of a deck: what the search and the counting need of a place file, and nothing else.

A position is one oval: a choice, or one write-in line of a contest, named `+1`, `+2` and so on. `plan.py` makes these facts from a place file.
"""

from dataclasses import dataclass, field
from functools import cached_property

Position = tuple[str, str]  # (contest id, choice id or "+1")
Shape = tuple[int, bool, int]  # (choices, has write-in lines, vote for n)
DEALING = 2  # the newest way of dealing; 1: with straight party the special ballots come on top of each total


@dataclass(frozen=True)
class DeckContest:
    """One contest as the deck sees it. `parties` gives the party id of each choice, "" where it has none; () where no choice has one."""

    id: str
    n: int
    choices: tuple[str, ...]
    lines: int = 0
    parties: tuple[str, ...] = ()
    over_as_votes: bool = False  # an overvoted ballot adds n to the tape's overvotes, not 1
    title: str = ""
    labels: tuple[str, ...] = field(default=(), compare=False)

    @cached_property
    def positions(self) -> tuple[str, ...]:
        """Choices in the order of the place file, then the write-in lines."""
        return (*self.choices, *(f"+{i}" for i in range(1, self.lines + 1)))

    @cached_property
    def cells(self) -> tuple[str, ...]:
        """Names of the figures that a tape prints for this contest, in the order of every vector of figures here."""
        return (*self.choices, *(("write_in",) if self.lines else ()), "under", "over", "ballots")

    @property
    def over_weight(self) -> int:
        """What one overvoted ballot adds to the tape's overvotes."""
        return self.n if self.over_as_votes else 1

    @property
    def shape(self) -> Shape:
        return len(self.choices), self.lines > 0, self.n

    def party_positions(self, party: str) -> tuple[int, ...]:
        """Indexes of the choices that a straight mark for this party votes for; () where there are none, or more than n."""
        found = tuple(i for i, p in enumerate(self.parties) if p == party)
        return found if len(found) <= self.n else ()

    def name_of(self, position: str) -> str:
        """A position in words: the label of a choice, or the write-in line by its number."""
        if position.startswith("+"):
            return f"write-in line {position[1:]}" if self.lines > 1 else "the write-in line"
        return dict(zip(self.choices, self.labels, strict=False)).get(position, position)


@dataclass(frozen=True)
class DeckStyle:
    """One ballot style. `sheet_of` gives each contest's sheet from 0; `printed` every position as it follows on paper."""

    id: str
    precincts: tuple[str, ...]
    contests: tuple[DeckContest, ...]
    sheet_of: tuple[int, ...]
    printed: tuple[Position, ...]

    @property
    def sheets(self) -> int:
        return max(self.sheet_of, default=0) + 1

    @cached_property
    def index(self) -> dict[str, int]:
        """Index of each contest by its id."""
        return {contest.id: i for i, contest in enumerate(self.contests)}

    @cached_property
    def printed_index(self) -> tuple[tuple[int, int], ...]:
        """`printed` as (index of the contest, index of the position in it)."""
        return tuple((self.index[c], self.contests[self.index[c]].positions.index(x)) for c, x in self.printed)


@dataclass(frozen=True)
class DeckPlan:
    """Everything a deck is made from. `straight` is the id of the contest whose choices are parties, "" where there is none."""

    place: str
    edition: str
    digest: str  # SHA-256 of the place file, 64 hex digits
    contests: tuple[DeckContest, ...]
    styles: tuple[DeckStyle, ...]
    precincts: tuple[str, ...]
    tabulators: tuple[str, ...]
    folded: bool = False
    by_precinct: bool = False
    straight: str = ""
    retain_days: int = 0  # 0: the place file does not say
    dealing: int = DEALING

    @cached_property
    def contest(self) -> dict[str, DeckContest]:
        return {contest.id: contest for contest in self.contests}

    @property
    def names_dealing(self) -> bool:
        """Whether the deck says how it was dealt: only with straight party does it matter, and dealing 1 never said so."""
        return self.dealing > 1 and bool(self.straight)

    @property
    def straight_parties(self) -> tuple[str, ...]:
        """Party ids in the order of the straight-party contest."""
        return self.contest[self.straight].parties if self.straight else ()


def printed_positions(contests: tuple[DeckContest, ...], order: dict[str, tuple[str, ...]]) -> tuple[Position, ...]:
    """Every position of a ballot as it follows on paper: choices in `order` where given, write-in lines last in each contest."""
    found: list[Position] = []
    for contest in contests:
        found += [(contest.id, choice) for choice in order.get(contest.id, contest.choices)]
        found += [(contest.id, line) for line in contest.positions[len(contest.choices) :]]
    return tuple(found)
