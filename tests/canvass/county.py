"""Invented counties in numbers: what is counted at each time, as editions are made of it."""

import random
from dataclasses import dataclass

from webapp.canvass.atoms import Atom, Figures
from webapp.canvass.blocks import Neighbors
from webapp.canvass.edition import WAYS, Edition, Unit
from webapp.canvass.published import OneContest, held_back, next_edition
from webapp.precinct.place.place import Choice, Contest

GOV = Contest("GOV", "Governor", 1, (Choice("A", "Ada Marsh"), Choice("B", "Ben Orrin")), "", True)
PROP = Contest("PROP", "Bridge", 1, (Choice("Y", "Yes"), Choice("N", "No")))
SITE, PROVISIONAL, ABSENTEE = "election-day", "provisional", "absentee"


def figures(a: int, b: int, write_in: int = 0, under: int = 0, over: int = 0, ballots: int | None = None) -> Figures:
    """A row of Governor as a tape prints it."""
    n = a + b + write_in + under + over if ballots is None else ballots
    return Figures(n, {"A": a, "B": b, "write_in": write_in, "under": under, "over": over, "ballots": n})


def drawn(dice: random.Random, ballots: int) -> Figures:
    """That many ballots of Governor."""
    marks = [dice.choice(("A", "A", "B", "B", "under", "write_in")) for _ in range(ballots)]
    return figures(*(marks.count(line) for line in ("A", "B", "write_in", "under")), 0)


@dataclass
class County:
    """Places in the office's order with their neighbors; `kept` is all that is counted so far, by contest."""

    places: tuple[str, ...]
    beside: dict[str, str]
    small: int = 10

    def __post_init__(self):
        self.lists = Neighbors(
            {place: i for i, place in enumerate(self.places)},
            {way.id: i for i, way in enumerate(WAYS)},
            self.beside,
            self.small,
        )
        self.editions: list[Edition] = []

    def post(self, kept: dict[str, dict[Atom, Figures]], issued=(), contests=(GOV,), waived=()) -> Edition:
        """The next edition of what is kept, a contest's id -> atom -> figures."""
        before = self.editions[-1].figures if self.editions else {}
        inn = {atom.unit for rows in kept.values() for atom in rows}
        back = held_back(self.lists, inn, dict(issued), waived)
        number = len(self.editions) + 1
        ballots: dict[str, dict[str, int]] = {}
        for rows in kept.values():
            for atom, one in rows.items():
                ways = ballots.setdefault(atom.unit, {})
                ways[atom.way] = max(ways.get(atom.way, 0), one.carried)
        made = Edition(
            number,
            "unofficial-partial",
            1794500000000 + number,
            number * 100,
            "Sable County election office",
            "General election",
            len(inn),
            len(self.places),
            contests,
            {id: next_edition(before.get(id, OneContest()), rows, self.lists, back) for id, rows in kept.items()},
            tuple(Unit(p, f"Place {p}", ballots[p]) for p in self.places if p in inn),
            WAYS,
            self.small,
            supersedes=number - 1 or None,
        )
        self.editions.append(made)
        return made


def sizes_of(editions, contest: str) -> dict[str, int]:
    """Ballots of each atom that any edition published, by its cell."""
    return {
        atom.cell: one.carried
        for edition in editions
        for block in edition.figures.get(contest, OneContest()).blocks
        for atom, one in block
    }
