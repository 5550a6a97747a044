"""The smallest parts of what is published: the ballots of one unit and one way that came into the figures at one time, and their figures."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import NamedTuple

BALLOTS = "ballots"
TOTALS = ("write_in", "under", "over", BALLOTS)
"""Lines of a contest behind its choices."""


APART = ":"
"""Between a place and its precinct: the unit "W3:P1" is precinct P1 of place W3. No id has it."""


def precinct_unit(place: str, precinct: str) -> str:
    """The unit that is one precinct of a place whose figures are kept by precinct."""
    return f"{place}{APART}{precinct}"


class Atom(NamedTuple):
    """Ballots of one unit and way. `part`: a later count of them; `change`: how many ballots more or fewer a figure has since it was published."""

    unit: str
    way: str
    part: int = 1
    change: int = 0

    @property
    def cell(self) -> str:
        """How files write it: "W3/provisional", its second part "W3/provisional.2", a change after publishing "W3/election_day+1"."""
        if self.part == 1 and not self.change:
            return f"{self.unit}/{column(self.way)}"
        part, change = f".{self.part}" if self.part > 1 else "", f"+{self.change}" if self.change else ""
        return f"{self.unit}/{column(self.way)}{part}{change}"

    @property
    def base(self) -> "Atom":
        """The count that this atom is of."""
        return self._replace(change=0)

    @property
    def place(self) -> str:
        """The place of a unit that is one precinct of it, else the unit itself."""
        return self.unit.partition(APART)[0]

    @property
    def whole(self) -> "Atom":
        """The same count of all precincts of its place."""
        return Atom(self.place, self.way, self.part)


def column(way: str) -> str:
    """A way of voting as files write it: "election_day"."""
    return way.replace("-", "_")


def atom_of(cell: str) -> Atom:
    """The atom that a cell of a file names. Raises ValueError."""
    unit, _, rest = cell.partition("/")
    rest, _, change = rest.partition("+")
    way, _, part = rest.partition(".")
    return Atom(unit, way.replace("_", "-"), int(part or 1), int(change or 0))


@dataclass(frozen=True, slots=True)
class Figures:
    """One contest in one atom: `carried` ballots that had the contest, and votes by line. A line that nobody printed is not there: missing is not 0."""

    carried: int
    votes: Mapping[str, int]

    def plus(self, other: "Figures") -> "Figures":
        """Returns the sum of both: ballots carried and votes by name."""
        return Figures(self.carried + other.carried, added((self.votes, other.votes)))

    def less(self, other: "Figures") -> "Figures":
        """What this has more than the other, line by line; a line that only one of them has counts whole."""
        lines = {line: self.votes.get(line, 0) - other.votes.get(line, 0) for line in {**self.votes, **other.votes}}
        return Figures(self.carried - other.carried, lines)


NONE = Figures(0, {})


def added(rows: Iterable[Mapping[str, int]]) -> dict[str, int]:
    """Sums by line; a line that one row lacks adds nothing."""
    found: dict[str, int] = {}
    for row in rows:
        for line, votes in row.items():
            found[line] = found.get(line, 0) + votes
    return found


def together(figures: Iterable[Figures]) -> Figures:
    """The figures of several atoms as one."""
    every = tuple(figures)
    if len(every) == 1:
        return every[0]
    return Figures(sum(one.carried for one in every), added(one.votes for one in every))
