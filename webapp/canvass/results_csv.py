"""`results.csv` of an edition: one row a cell, contest and line, in the form of published results files, so that sums over rows are the totals."""

import csv
import io
from collections.abc import Iterator, Mapping, Sequence
from itertools import islice

from webapp.canvass.atoms import column
from webapp.canvass.edition import Edition, Row, Unit, lines, lists_of, rows, used_ways
from webapp.precinct.place.place import Contest

AT_ONCE = 2000  # rows
Line = tuple[str, str, int, Sequence[str | int]]
"""(label, kind, votes, votes of each way or "") of one line of a cell."""
NOTHING: Mapping[str, int] = {}
COLUMNS = ("precinct", "contest", "vote_for", "choice", "kind", "votes", "ballot_group", "cell")


def table(edition: Edition) -> Iterator[list[str | int]]:
    """Header and rows. Places first, then contest by contest; a line that no tape prints has no row."""
    yield from _head(edition)
    for contest, head, cell, rows_here in _cells(edition):
        for label, kind, votes, by_way in rows_here:
            yield [head, contest.title, contest.n, label, kind, votes, contest.group, cell, *by_way]


def _head(edition: Edition) -> Iterator[list[str | int]]:
    ways = [way.id for way in used_ways(edition)]
    yield [*COLUMNS, *map(column, ways)]
    for unit in edition.units:
        yield from _of_unit(unit, ways)


def _of_unit(unit: Unit, ways: list[str]) -> Iterator[list[str | int]]:
    """Ballots of the unit by way, of each ballot group, and the voters registered where they are known."""
    by_way: list[str | int] = [unit.ballots.get(way, "") for way in ways]
    yield [unit.name, "", "", "", "ballots_cast", sum(unit.ballots.values()), "", "", *by_way]
    for group, ballots in unit.groups.items():
        yield [unit.name, "", "", "", "ballots_cast", ballots, group, "", *[""] * len(ways)]
    if unit.registered is not None:
        yield [unit.name, "", "", "", "registered", unit.registered, "", "", *[""] * len(ways)]


def _cells(edition: Edition) -> Iterator[tuple[Contest, str, str, list[Line]]]:
    """(contest, name, cell, lines) of every cell of every contest."""
    ways, lists = [way.id for way in used_ways(edition)], lists_of(edition)
    names = edition.names
    blank: dict[str, tuple[list[str], list[str]]] = {
        way: ([""] * i, [""] * (len(ways) - i - 1)) for i, way in enumerate(ways)
    }
    for contest in edition.contests:
        printed = lines(contest)
        for row in rows(edition.figures[contest.id], lists) if contest.id in edition.figures else ():
            votes = row.figures.votes
            found: list[Line]
            if len(row.by_way) == 1 and row.by_way.get(row.atoms[0].way) is row.figures:  # ballots of one way alone
                left, right = blank[row.atoms[0].way]
                found = [(label, kind, n, [*left, n, *right]) for line, label, kind in printed if (n := votes.get(line)) is not None]  # fmt: skip
            else:
                each = [row.by_way[way].votes if way in row.by_way else NOTHING for way in ways]
                found = [(label, kind, votes[line], [one.get(line, "") for one in each]) for line, label, kind in printed if line in votes]  # fmt: skip
            yield contest, name_of(row, names), cell_of(row), found


def name_of(row: Row, names: Mapping[str, str]) -> str:
    """The cell's name: its units in the office's order."""
    if len(row.units) == 1:
        return names[row.units[0]]
    return " + ".join(names[unit] for unit in row.units)


def cell_of(row: Row) -> str:
    """The atoms in the row, sorted, one space between them."""
    if len(row.atoms) == 1:
        return row.atoms[0].cell
    return " ".join(sorted(atom.cell for atom in row.atoms))


def written(edition: Edition) -> bytes:
    """The file: UTF-8, commas, LF, quotes where they are needed, no byte order mark. The same edition gives the same bytes."""
    return b"".join(pieces(edition))


def pieces(edition: Edition) -> Iterator[bytes]:
    """results.csv in pieces of some thousand rows, none of which is held longer than it is asked for."""
    every = table(edition)
    while some := list(islice(every, AT_ONCE)):
        out = io.StringIO()
        csv.writer(out, lineterminator="\n").writerows(some)
        yield out.getvalue().encode()
