"""One contest by precinct over the county, out of the rows of an edition: whole blocks only, so that no precinct of few ballots can be told apart.

A precinct has a total if all its ballots are in rows of that precinct alone. Rows of several precincts are shown
together. What a tape or a count gives of a whole place of several precincts is not by precinct, and is named.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import NamedTuple

from webapp.canvass.atoms import Figures, together
from webapp.canvass.edition import Edition, lists_of, rows
from webapp.canvass.results_csv import name_of


class Ward(NamedTuple):
    """A precinct by id and name: two towns may both have a precinct 1."""

    id: str
    name: str


@dataclass(frozen=True, slots=True)
class PrecinctRow:
    """Ballots of these precincts and no others; `whole`: all their ballots that are counted are in this row."""

    precincts: tuple[Ward, ...]
    figures: Figures
    whole: bool


@dataclass(frozen=True, slots=True)
class NotByPrecinct:
    """Ballots of a place or a pool of several precincts, as results.csv names it."""

    name: str
    figures: Figures


@dataclass(frozen=True, slots=True)
class PrecinctTable:
    """A contest's rows by precinct, and what is not by precinct; together they are the contest's total."""

    rows: tuple[PrecinctRow, ...]
    left: tuple[NotByPrecinct, ...]


def table(edition: Edition, contest: str, wards: Mapping[str, frozenset[Ward]]) -> PrecinctTable:
    """One contest by precinct, units in the order of the edition. wards: unit -> the precincts whose ballots it may have."""
    by: dict[tuple[Ward, ...], list[Figures]] = {}
    left: list[NotByPrecinct] = []
    elsewhere: set[Ward] = set()  # precincts with ballots in rows that are not theirs alone
    for row in rows(edition.figures[contest], lists_of(edition)):
        mine = [wards.get(unit, frozenset()) for unit in row.units]
        key = tuple(sorted(frozenset[Ward]().union(*mine)))
        apart = all(len(one) == 1 for one in mine)
        if apart:
            by.setdefault(key, []).append(row.figures)
        else:
            left.append(NotByPrecinct(name_of(row, edition.names), row.figures))
        if not apart or len(key) > 1:
            elsewhere |= set(key)
    found = [
        PrecinctRow(key, together(figures), len(key) == 1 and key[0] not in elsewhere) for key, figures in by.items()
    ]
    return PrecinctTable(tuple(found), tuple(left))
