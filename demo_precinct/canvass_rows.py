"""What a results file and the files of an edition say, row by row: split by way of voting, one precinct's lines, sums as a stranger adds them up, votes that wait."""

import csv
import io
import json
from pathlib import Path
from typing import Any

from demo_precinct.results_file import ResultsFile
from webapp.canvass.edition import WAYS
from webapp.office.totals.official_results import KIND_WORDS, NEEDED, UnusableResults, rows_of
from webapp.precinct.place.place import Place

NO_ROW = ("ballots_cast", "ballots_blank", "registered")  # rows that no way of voting splits
LINES = ("write_in", "under", "over")


def by_way(data: bytes) -> dict[str, bytes]:
    """A results file for each way of voting that it has a column for: {way id: the same rows with that way's votes}. Raises UnusableResults."""
    rows = rows_of(data)
    columns = [name for name in rows[0] if name not in NEEDED] if rows else []
    known = {way.id.replace("-", "_"): way for way in WAYS}
    if not columns:
        raise UnusableResults(
            "The results file has no column for a way of voting behind the first seven: leave --canvass out."
        )
    for column in columns:
        if column not in known:
            raise UnusableResults(
                f'No way "{column}" in office.toml. Rename the column to one of: {", ".join(known)}; or leave it out.'
            )
    found = {}
    for i, column in enumerate(columns):
        out = io.StringIO()
        table = csv.DictWriter(out, NEEDED, extrasaction="ignore", lineterminator="\n")
        table.writeheader()
        for row in rows:
            if row["kind"] not in NO_ROW:
                whole = all(not row[name] for name in columns)
                table.writerow({**row, "votes": row["votes"] if whole and not i else row[column] or "0"})
        found[known[column].id] = out.getvalue().encode()
    return found


def rows_here(file: ResultsFile, index: int, place: Place) -> dict[str, dict[str, Any]]:
    """One precinct's figures by contest id: votes by choice, the other lines the file has, and the least ballots they tell."""
    found = {}
    here = {contest.id: contest for contest in place.contests}
    for key, lines in file.precincts[index].lines.items():
        contest = here[file.contests[key].id]
        row: dict[str, Any] = {"votes": {c.id: lines.get(c.label, 0) for c in contest.choices}}
        row |= {name: lines[name] for name in LINES if name in lines}
        row["least"] = -(-sum(lines.values()) // contest.n)
        found[contest.id] = row
    return found


def shown_by_contest(data: bytes) -> dict[tuple[str, str], dict[str, int]]:
    """Sums of a results file by contest and line, as a stranger adds them up."""
    found: dict[tuple[str, str], dict[str, int]] = {}
    for row in csv.DictReader(io.StringIO(data.decode())):
        if row["contest"]:
            mine = found.setdefault((row["contest"], row["ballot_group"]), {})
            line = KIND_WORDS.get(row["kind"], row["choice"])
            mine[line] = mine.get(line, 0) + int(row["votes"])
    return found


def waiting_rows(path: Path) -> dict[str, dict[str, int]]:
    """Votes that wait by contest id and line."""
    found: dict[str, dict[str, int]] = {}
    for contest, one in json.loads(path.read_bytes())["contests"].items():
        mine = found.setdefault(contest, {})
        for *_, votes in one["waiting"]:
            for line, n in votes.items():
                mine[line] = mine.get(line, 0) + n
    return found
