"""`results.csv` of an edition: one row a cell, contest and line, in the form of published results files, so that sums over rows are the totals."""

import csv
import io
from collections.abc import Iterator, Mapping

from webapp.canvass.atoms import column
from webapp.canvass.blocks import Neighbors
from webapp.canvass.edition import Edition, Row, Unit, lines, lists_of, rows, used_ways
from webapp.precinct.place.place import Contest

NOTHING: Mapping[str, int] = {}
COLUMNS = ("precinct", "contest", "vote_for", "choice", "kind", "votes", "ballot_group", "cell")


def table(edition: Edition) -> Iterator[list[str | int]]:
    """Header and rows. Places first, then contest by contest; a line that no tape prints has no row."""
    ways, lists = [way.id for way in used_ways(edition)], lists_of(edition)
    names = {unit.id: unit.name for unit in edition.units}
    yield [*COLUMNS, *map(column, ways)]
    for unit in edition.units:
        yield from _of_unit(unit, ways)
    for contest in edition.contests:
        if contest.id in edition.figures:
            yield from _of_contest(contest, edition, ways, lists, names)


def _of_unit(unit: Unit, ways: list[str]) -> Iterator[list[str | int]]:
    """Ballots of the unit by way, of each ballot group, and the voters registered where they are known."""
    by_way: list[str | int] = [unit.ballots.get(way, "") for way in ways]
    yield [unit.name, "", "", "", "ballots_cast", sum(unit.ballots.values()), "", "", *by_way]
    for group, ballots in unit.groups.items():
        yield [unit.name, "", "", "", "ballots_cast", ballots, group, "", *[""] * len(ways)]
    if unit.registered is not None:
        yield [unit.name, "", "", "", "registered", unit.registered, "", "", *[""] * len(ways)]


def _of_contest(
    contest: Contest, edition: Edition, ways: list[str], lists: Neighbors, names: Mapping[str, str]
) -> Iterator[list[str | int]]:
    printed = lines(contest)
    for row in rows(edition.figures[contest.id], lists):
        head, cell, votes = name_of(row, names), cell_of(row), row.figures.votes
        columns = [row.by_way[way].votes if way in row.by_way else NOTHING for way in ways]
        for line, label, kind in printed:
            if line in votes:
                by_way = [column.get(line, "") for column in columns]
                yield [head, contest.title, contest.n, label, kind, votes[line], contest.group, cell, *by_way]


def name_of(row: Row, names: Mapping[str, str]) -> str:
    """The cell's name: its units in the office's order."""
    return " + ".join(names[unit] for unit in row.units)


def cell_of(row: Row) -> str:
    """The atoms in the row, sorted, one space between them."""
    return " ".join(sorted(atom.cell for atom in row.atoms))


def written(edition: Edition) -> bytes:
    """The file: UTF-8, commas, LF, quotes where they are needed, no byte order mark. The same edition gives the same bytes."""
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerows(table(edition))
    return out.getvalue().encode()
