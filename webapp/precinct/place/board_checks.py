"""What must hold in the place file of a count board beyond the rest: hours in order, tables that feed on a tabulator there is, precincts that are known.

Each check is pure: a place in, findings `(path, sentence)` out, as in `cross_checks.py`.
"""

from collections.abc import Iterator

from webapp.precinct.place.board_place import hours_in_order
from webapp.precinct.place.cross_checks import Finding, known, twice
from webapp.precinct.place.place import Place


def findings(place: Place) -> Iterator[Finding]:
    """Everything that does not fit together at a board; nothing at another kind of place."""
    if place.board is None:
        return
    yield from hours_in_order(place.board)
    yield from tables_fit(place)
    yield from joined_once(place)
    yield from twice("carriers", "id", place.board.carriers)
    if not place.tabulators:
        yield ("tabulators",), 'A board feeds on a tabulator: write [[tabulators]] with id = "A1".'


def tables_fit(place: Place) -> Iterator[Finding]:
    """A table has its own id, and one that feeds names its tabulator."""
    tables = place.board.tables if place.board else ()
    yield from twice("tables", "id", [table.id for table in tables])
    for i, table in enumerate(tables):
        if table.work == "feed" and not table.tabulator:
            yield ("tables", i), f'Table {table.id} feeds: write tabulator = "A1".'
        yield from known("tabulator", table.tabulator, place.tabulators, "tabulators", ("tables", i, "tabulator"))


def joined_once(place: Place) -> Iterator[Finding]:
    """A precinct that is counted together with others is in one group, and is a precinct of this board."""
    seen: set[str] = set()
    for i, group in enumerate(place.board.joined if place.board else ()):
        for j, precinct in enumerate(group):
            yield from known("precinct", precinct, place.precincts, "precincts", ("joined", i, "precincts", j))
            if precinct in seen:
                yield ("joined", i, "precincts", j), f"Precinct {precinct} is in two [[joined]]: keep one."
            seen.add(precinct)
