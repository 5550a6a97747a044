"""results.csv of an edition against the figures it was made of, row by row; the standard's JSON against results.csv, total by total."""

import csv
import io
import json
from collections import Counter
from typing import Any

from webapp.archive.findings import Findings
from webapp.archive.folder_check import WholeArchive
from webapp.canvass import nist_results, results_csv
from webapp.canvass.atoms import Atom
from webapp.canvass.edition import Edition

OTHER = {"Overvotes": "overvote", "Undervotes": "undervote", "WriteIns": "writein"}


def check_rows(archive: WholeArchive, number: int, made: Edition, found: Findings) -> None:
    """Every row of a contest is one that these figures give, and none is missing."""
    name = f"data/editions/{number}/results.csv"
    header, *rows = results_csv.table(made)
    cell = results_csv.COLUMNS.index("cell")
    wanted = Counter(_filled(zip(header, row, strict=True)) for row in rows if row[cell])
    there = Counter(
        _filled(row.items()) for row in csv.DictReader(io.StringIO(archive.read(name).decode())) if row["cell"]
    )
    for row in (*(there - wanted), *(wanted - there)):
        told = dict(row)
        found.wrong(name, f"has another row than its figures give: {told.get('contest')}, {told.get('cell')}")


def _filled(row: object) -> frozenset[tuple[str, str]]:
    """The columns of a row that hold anything; a column of a way that nobody used is not there at all."""
    return frozenset((name, str(value)) for name, value in row if value not in ("", None))  # type: ignore[attr-defined]


def check_blocks(archive: WholeArchive, found: Findings) -> None:
    """Every cell of results.csv is whole blocks of edition.json, and no block of an edition before was split, grew or went."""
    before: dict[tuple[str, str], list[frozenset[str]]] = {}
    for number in archive.facts.editions:
        home = f"data/editions/{number}"
        document = json.loads(archive.read(f"{home}/edition.json"))
        blocks = {(key[0], key[1]): [_cells(block) for block in some] for key, some in document["blocks"]}
        for key, some in before.items():
            if blocks.get(key, [])[: len(some)] != some:
                found.wrong(f"{home}/edition.json", f"splits or changes a block of {key[0]} that was published before")
        shown: dict[tuple[str, str], set[str]] = {}
        for row in csv.DictReader(io.StringIO(archive.read(f"{home}/results.csv").decode())):
            if row["cell"]:
                shown.setdefault((row["contest"], row["ballot_group"]), set()).add(row["cell"])
        for key, cells in shown.items():
            for cell in cells:
                atoms = set(cell.split(" "))
                if atoms != set().union(*(block for block in blocks.get(key, ()) if block <= atoms)):
                    found.wrong(f"{home}/results.csv", f"shows ballots of {key[0]} that are no whole blocks: {cell}")
        before = blocks


def _cells(block: list[list[Any]]) -> frozenset[str]:
    """A block of edition.json as the cells that results.csv has."""
    atoms = [(unit, way, *more, *(1, 0)[len(more) :]) for unit, way, *more in block]
    return frozenset(Atom(unit, way.replace("_", "-"), part, change).cell for unit, way, part, change in atoms)


def check_standard(archive: WholeArchive, number: int, found: Findings) -> None:
    """Counts of type total of all units but the county, and the county's own, are the sums of results.csv."""
    home = f"data/editions/{number}"
    name = f"{home}/{nist_results.NAME}"
    if not (archive.folder / name).is_file():
        return
    wanted: Counter[tuple[str, str]] = Counter()
    for row in csv.DictReader(io.StringIO(archive.read(f"{home}/results.csv").decode())):
        if row["cell"]:
            title = row["contest"] + (f" ({row['ballot_group']})" if row["ballot_group"] else "")
            wanted[title, row["choice"] if row["kind"] == "choice" else f"/{row['kind']}"] += int(row["votes"])
    election = json.loads(archive.read(name))["Election"][0]
    labels = {one["@id"]: one["BallotName"]["Text"][0]["Content"] for one in election["Candidate"]}
    units: Counter[tuple[str, str]] = Counter()
    county: Counter[tuple[str, str]] = Counter()
    for contest in election["Contest"]:
        for one in contest.get("ContestSelection", ()):
            label = one["Selection"]["Text"][0]["Content"] if "Selection" in one else labels[one["CandidateIds"][0]]
            for row in one.get("VoteCounts", ()):
                if row["Type"] == "total":
                    (county if row["GpUnitId"].startswith("county-") else units)[contest["Name"], label] += row["Count"]
        for row in contest.get("OtherCounts", ()):
            to = county if row["GpUnitId"].startswith("county-") else units
            for field, kind in OTHER.items():
                to[contest["Name"], f"/{kind}"] += row.get(field, 0)
    for key in sorted({*wanted, *units, *county}):
        if not wanted[key] == units[key] == county[key]:
            found.wrong(name, f"has another total than results.csv: {key[0]}, {key[1].lstrip('/')}")
