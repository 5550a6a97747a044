"""One edition: the figures as they are published, numbered. Everything that leaves the office is made from it and from nothing else."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from webapp.canvass.atoms import APART, Atom, Figures, column, together
from webapp.canvass.blocks import Neighbors
from webapp.canvass.published import OneContest
from webapp.precinct.place.place import Contest

DRAFT = "draft"  # figures of now that nobody signed; never posted, and its number is 0
STATUSES = {
    "unofficial-partial": "Unofficial, partial",
    "unofficial-complete": "Unofficial, complete",
    "certified": "Certified",
    "recount": "Certified after a recount",
    "correction": "Certified after a correction",
    DRAFT: "Draft, not posted",
}


@dataclass(frozen=True, slots=True)
class Way:
    """A way of voting: `type` is the standard's word for it (NIST SP 1500-100, CountItemType)."""

    id: str
    name: str
    type: str


WAYS = (
    Way("election-day", "Election day", "election-day"),
    Way("early-voting", "Early voting", "early"),
    Way("absentee", "Absentee", "absentee"),
    Way("provisional", "Provisional, accepted", "provisional"),
    Way("uocava", "Overseas and military", "uocava"),
    Way("found", "Found and counted later", "other"),
)
"""The ways of an office that names none."""


@dataclass(frozen=True, slots=True)
class Unit:
    """A place, or a pool of places whose ballots were counted together (`of`: their ids). `ballots` by way and `groups` by ballot group are counts
    of ballots, no votes; `registered` and `check_ins` None where the office does not know them."""

    id: str
    name: str
    ballots: Mapping[str, int] = field(default_factory=dict)
    groups: Mapping[str, int] = field(default_factory=dict)
    registered: int | None = None
    check_ins: int | None = None
    of: tuple[str, ...] = ()
    open: int | None = None  # provisional envelopes that are not decided
    rejected: int | None = None


@dataclass(frozen=True)
class Edition:
    """`number` from 1; `made` in ms UTC; `cut`: the newest entry of the office's record that is in it; `awaited` places, `inn` of them in.

    `contests` in ballot order, `figures` by contest id, `units` in the office's order: the places that are in, then pools.
    """

    number: int
    status: str
    made: int
    cut: int
    office: str
    election: str
    inn: int
    awaited: int
    contests: tuple[Contest, ...]
    figures: Mapping[str, OneContest]
    units: tuple[Unit, ...]
    ways: tuple[Way, ...]
    small: int = 10
    because: str = ""
    supersedes: int | None = None
    practice: bool = False
    allowed: Mapping[str, frozenset[str]] = field(default_factory=dict)  # contest -> cells of few that two parties show
    precincts: tuple[Unit, ...] = ()  # of places whose returns are by precinct; their ballots are those of the place

    @property
    def every_unit(self) -> tuple[Unit, ...]:
        """The units, each place with its precincts behind it."""
        behind: dict[str, list[Unit]] = {}
        for one in self.precincts:
            behind.setdefault(one.id.partition(APART)[0], []).append(one)
        return tuple(one for unit in self.units for one in (unit, *behind.get(unit.id, ())))

    @property
    def names(self) -> dict[str, str]:
        """What each unit is called, precincts of a place too: "Lantern Street School, Ward 1"."""
        return {unit.id: unit.name for unit in self.every_unit}

    @property
    def called(self) -> str:
        """What it is called: "Edition 3"; a draft has no number."""
        return f"Edition {self.number}" if self.number else STATUSES[DRAFT]

    @property
    def waiting(self) -> int:
        """Ballots that are counted and not shown yet, summed over contests."""
        return sum(one.ballots_waiting for one in self.figures.values())

    def unit(self, name: str) -> Unit:
        """Returns the unit with this id. Raises StopIteration where the edition has none."""
        return next(unit for unit in self.units if unit.id == name)


class Row(NamedTuple):
    """One cell of one contest: its atoms, which are whole blocks, their figures together and, by way, those of ways that are whole blocks by themselves."""

    units: tuple[str, ...]
    atoms: tuple[Atom, ...]
    figures: Figures
    by_way: Mapping[str, Figures]


def units_of(atoms: Sequence[Atom], lists: Neighbors) -> tuple[str, ...]:
    """The units whose ballots a block has, in the office's order."""
    if len(atoms) == 1:
        return (atoms[0].unit,)
    return tuple(dict.fromkeys(atom.unit for atom in sorted(atoms, key=lists.rank)))


def rows(one: OneContest, lists: Neighbors) -> list[Row]:
    """The cells of one contest: one a set of units, in the office's order."""
    cells: dict[tuple[str, ...], list[Sequence[tuple[Atom, Figures]]]] = {}
    for block in one.blocks:
        units = (block[0][0].unit,) if len(block) == 1 else units_of([atom for atom, _ in block], lists)
        if units in cells:
            cells[units].append(block)
        else:
            cells[units] = [block]
    rank, last = lists.order.get, len(lists.order)
    order = sorted(cells, key=lambda units: [(rank(unit, last), unit) for unit in units])
    return [_row(units, cells[units]) for units in order]


def _row(units: tuple[str, ...], blocks: Sequence[Sequence[tuple[Atom, Figures]]]) -> Row:
    """A way has its own figures only where every atom of it is in a block of that way alone."""
    if len(blocks) == 1 and len(blocks[0]) == 1:
        atom, figures = blocks[0][0]
        return Row(units, (atom,), figures, {atom.way: figures})
    mixed = {atom.way for block in blocks for atom, _ in block if len({other.way for other, _ in block}) > 1}
    ways: dict[str, list[Figures]] = {}
    for block in blocks:
        for atom, figures in block:
            ways.setdefault(atom.way, []).append(figures)
    every = [(atom, figures) for block in blocks for atom, figures in block]
    return Row(
        units,
        tuple(atom for atom, _ in every),
        together(figures for _, figures in every),
        {way: together(found) for way, found in ways.items() if way not in mixed},
    )


def total(one: OneContest) -> Figures:
    """The contest over all its blocks: what is published of the county. What waits is not in it."""
    return together(figures for block in one.blocks for _, figures in block)


def lines(contest: Contest) -> tuple[tuple[str, str, str], ...]:
    """(line, label, kind of the results files) in ballot order; ballots are no row of a contest."""
    named = tuple((choice.id, choice.label, "choice") for choice in contest.choices)
    return (*named, ("write_in", "", "writein"), ("under", "", "undervote"), ("over", "", "overvote"))


def used_ways(edition: Edition) -> tuple[Way, ...]:
    """The ways that have ballots in this edition, or had some in one before, in the office's order."""
    used = {way for unit in edition.units for way in unit.ballots}
    used |= {atom.way for one in edition.figures.values() for block in one.blocks for atom, _ in block}
    return tuple(way for way in edition.ways if way.id in used)


def lists_of(edition: Edition, beside: Mapping[str, str] | None = None) -> Neighbors:
    """The order of units and ways, as this edition has them."""
    return Neighbors(
        {unit.id: i for i, unit in enumerate(edition.every_unit)},
        {way.id: i for i, way in enumerate(edition.ways)},
        beside or {},
        edition.small,
    )


# --- as it is stored


def stored(edition: Edition) -> dict[str, Any]:
    """The edition as the office keeps it for itself, with the figures of each atom: small places too. It is never handed out."""
    return {
        "format": 1,
        "number": edition.number,
        "contests": {
            id: {
                "blocks": [[_atom_row(atom, figures) for atom, figures in block] for block in one.blocks],
                "waiting": [_atom_row(atom, figures) for atom, figures in one.waiting],
            }
            for id, one in edition.figures.items()
        },
    }


def _atom_row(atom: Atom, figures: Figures) -> list[Any]:
    return [*atom, figures.carried, dict(figures.votes)]


def figures_of(document: Mapping[str, Any]) -> dict[str, OneContest]:
    """The figures of a stored edition. Raises KeyError, TypeError or ValueError where it has another form."""
    if document["format"] != 1:
        raise ValueError("another form")
    return {
        id: OneContest(
            tuple(tuple(_of_row(row) for row in block) for block in one["blocks"]),
            tuple(_of_row(row) for row in one["waiting"]),
        )
        for id, one in document["contests"].items()
    }


def _of_row(row: Sequence[Any]) -> tuple[Atom, Figures]:
    unit, way, part, change, carried, votes = row
    return Atom(unit, way, part, change), Figures(carried, dict(votes))


def public(edition: Edition, made: str, files: Mapping[str, str]) -> dict[str, Any]:
    """`edition.json`: what the edition is, its blocks without figures, and the digest of each file. `made` as the office's clock shows it."""
    return {
        "edition": edition.number,
        "status": edition.status,
        "practice": edition.practice,
        "made": made,
        "cut": edition.cut,
        "office": edition.office,
        "election": edition.election,
        "because": edition.because,
        "small": edition.small,
        "places": [edition.inn, edition.awaited],
        "ways": {column(way.id): way.type for way in used_ways(edition)},
        "blocks": [
            [[contest.title, contest.group], [[_plain(atom) for atom, _ in block] for block in one.blocks]]
            for contest in edition.contests
            if (one := edition.figures.get(contest.id)) is not None
        ],
        "waiting": edition.waiting,
        "supersedes": edition.supersedes,
        "files": dict(sorted(files.items())),
    }


def _plain(atom: Atom) -> list[Any]:
    """An atom in edition.json: [unit, way], behind it the part and the change where they are not the first."""
    more = [atom.part, atom.change] if atom.change else [atom.part] if atom.part > 1 else []
    return [atom.unit, column(atom.way), *more]


def whole_blocks(before: Mapping[str, OneContest], edition: Edition) -> int | None:
    """Ballots of the smallest block that is not empty, if the rule holds over this edition and the one before; None if it does not.

    The rule: a block published before has the same atoms now; no atom is in two blocks; a new block has `small`
    ballots, or none. This is checked apart from the code that made the blocks. With no ballots at all: `small`.
    Blocks that two parties signed to be shown although small are not counted.
    """
    least = None
    for id, one in edition.figures.items():
        old = before.get(id, OneContest()).blocks
        same = [[atom for atom, _ in block] for block in old] == [
            [a for a, _ in block] for block in one.blocks[: len(old)]
        ]
        atoms = [atom for block in one.blocks for atom, _ in block]
        may = edition.allowed.get(id, frozenset())
        sizes = [
            sum(abs(figures.carried) for _, figures in block)
            for block in one.blocks
            if not may.issuperset(atom.cell for atom, _ in block)
        ]
        if not same or len(atoms) != len(set(atoms)) or any(0 < size < edition.small for size in sizes):
            return None
        least = (
            min([size for size in sizes if size], default=least)
            if least is None
            else min([least, *filter(None, sizes)])
        )
    return edition.small if least is None else least
