"""Votes by precinct as a file, `votes.csv`: it travels with a board's packet, which holds its digest.

UTF-8, commas, LF; the columns of an edition's `results.csv` up to `votes`. `precinct` is an id, or ids with one space
between where several are shown together; `contest` and `choice` are ids of the place file, which both sides have. A
line that no tape prints has no row.
"""

import csv
import io
from collections.abc import Iterator, Mapping, Sequence

from webapp.board.batch_table import UnreadableTable
from webapp.board.precinct_votes import PrecinctVotes
from webapp.precinct.account.contest_rows import TOTALS
from webapp.precinct.place.place import Contest

COLUMNS = ("precinct", "contest", "vote_for", "choice", "kind", "votes")
CAST, CHOICE = "ballots_cast", "choice"
KINDS = dict(zip(TOTALS, ("writein", "undervote", "overvote", "ballots"), strict=True))
MOST = 200_000  # rows of a file that is read


def written(contests: Sequence[Contest], parts: Sequence[PrecinctVotes]) -> str:
    """The whole file; "" where there are no votes by precinct."""
    if not parts:
        return ""
    out = io.StringIO()
    sheet = csv.writer(out, lineterminator="\n")
    sheet.writerow(COLUMNS)
    for part in parts:
        sheet.writerows(rows(contests, part))
    return out.getvalue()


def rows(contests: Sequence[Contest], part: PrecinctVotes) -> Iterator[tuple[str | int, ...]]:
    """Ballots first, then contest by contest in ballot order."""
    name = " ".join(part.precincts)
    yield name, "", "", "", CAST, part.ballots
    for contest in contests:
        for (choice, kind), n in zip(lines(contest), part.contests.get(contest.id, ()), strict=False):
            if n is not None:
                yield name, contest.id, contest.n, choice, kind, n


def lines(contest: Contest) -> list[tuple[str, str]]:
    """(choice, kind) of each line of a row, in its order."""
    return [(choice.id, CHOICE) for choice in contest.choices] + [("", kind) for kind in KINDS.values()]


def read(text: str, contests: Mapping[str, Contest]) -> tuple[PrecinctVotes, ...]:
    """The parts of a file. Raises `UnreadableTable` with the row that is wrong."""
    found = list(csv.reader(io.StringIO(text)))
    if not found or tuple(found[0]) != COLUMNS:
        raise UnreadableTable("This is not a file of votes by precinct: its first row names other columns. Choose the file that ends in votes.csv.")  # fmt: skip
    if len(found) > MOST:
        raise UnreadableTable(f"This file has {len(found):,} rows, more than any board has.")
    ballots: dict[tuple[str, ...], int] = {}
    votes: dict[tuple[str, ...], dict[str, list[int | None]]] = {}
    for number, cells in enumerate(found[1:], 2):
        if len(cells) != len(COLUMNS) or not (cells[5].isascii() and cells[5].isdigit() and len(cells[5]) < 10):
            raise UnreadableTable(f"Row {number} of the votes by precinct holds something else than a figure.")
        name, contest, _, choice, kind, n = cells
        key = tuple(name.split(" "))
        if kind == CAST:
            ballots[key] = int(n)
            continue
        known = contests.get(contest)
        places = lines(known) if known else []
        if known is None or (choice, kind) not in places:
            raise UnreadableTable(f"Row {number} of the votes by precinct names a contest or a line that the place file does not have.")  # fmt: skip
        row = votes.setdefault(key, {}).setdefault(contest, [None] * len(places))
        row[places.index((choice, kind))] = int(n)
    return tuple(PrecinctVotes(key, n, votes.get(key, {})) for key, n in ballots.items())
