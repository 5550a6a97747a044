"""Two published counties (`data/open-precinct-results`) in three editions by place and way: the last sums are the file's, and the rank of everything
published gives back no cell of fewer than ten ballots.

Half of the places are in at first, then all of them, then every other way of voting. The rows are read here, apart from the product's own reader.
"""

import csv

import pytest

from tests.canvass.county import County, sizes_of
from tests.canvass.everything_published import Known, Number, of_changes, of_csv, of_document, of_json, of_page
from tests.canvass.test_nist_results import from_csv, of_the_county, read_back, reported, schema, well_formed  # noqa: F401
from tests.canvass.what_can_be_worked_out import given_away, published
from tests.matrix import ALL, some
from webapp.canvass import document, posting_page
from webapp.canvass.atoms import Atom, Figures
from webapp.canvass.changes import between
from webapp.canvass.edition import WAYS, public, total
from webapp.canvass.results_csv import written
from webapp.office.canvassing.editions import as_json
from webapp.precinct.place.place import Choice, Contest

FILES = ("ottawa-mi-2024-general", "pinal-az-2024-primary")
NAMES = {"writein": "write_in", "undervote": "under", "overvote": "over"}
FEW = None if ALL else 8


def read(path):
    """(places, contests by key, {contest id: {(place, way): {line: votes}}}) of a file; ways in its columns' order."""
    with open(path, encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    places = list(dict.fromkeys(row["precinct"] for row in rows))[:FEW]
    ways = [name for name in rows[0] if name not in list(rows[0])[:7]]
    contests, figures, choices = {}, {}, {}
    for row in rows:
        key = row["contest"], row["ballot_group"]
        if row["precinct"] not in places or not row["contest"] or row["kind"] not in ("choice", *NAMES):
            continue
        id = f"C{list(contests).index(key) if key in contests else len(contests)}"
        contests.setdefault(key, (id, int(row["vote_for"])))
        line = row["choice"] if row["kind"] == "choice" else NAMES[row["kind"]]
        if row["kind"] == "choice":
            choices.setdefault(id, {})[line] = Choice(line, line)
        for i, way in enumerate(ways):
            votes = figures.setdefault(id, {}).setdefault((places.index(row["precinct"]), i), {})
            votes[line] = votes.get(line, 0) + int(row[way] or 0)
    made = {
        key: Contest(id, key[0], n, tuple(choices.get(id, {}).values()), key[1], True)
        for key, (id, n) in contests.items()
    }
    return places, ways, made, figures


@pytest.mark.parametrize("name", some(FILES[:1], FILES))
def test_three_editions_of_a_county_give_no_small_cell_away(name, shared, schema):
    places, ways, contests, figures = read(shared(f"data/open-precinct-results/{name}.csv"))
    ids = [f"P{i:03}" for i in range(len(places))]
    county = County(tuple(ids), {p: ids[i ^ 1] if i ^ 1 < len(ids) else ids[i - 1] for i, p in enumerate(ids)})
    n_of = {contest.id: contest.n for contest in contests.values()}
    kept = {
        id: {
            Atom(ids[place], WAYS[way].id): Figures(-(-sum(votes.values()) // n_of[id]), votes)
            for (place, way), votes in rows.items()
        }
        for id, rows in figures.items()
    }
    half = set(ids[: len(ids) // 2])

    def until(time: int):
        return {
            id: {
                atom: one
                for atom, one in rows.items()
                if (time > 2 or atom.way == WAYS[0].id) and (time > 1 or atom.unit in half)
            }
            for id, rows in kept.items()
        }

    for time in (1, 2, 3):
        county.post(until(time), contests=tuple(contests.values()))
    files = [written(edition) for edition in county.editions]
    report = reported(county.editions[-1])
    assert list(schema.iter_errors(report)) == []
    well_formed(report)
    assert read_back(report) == of_the_county(report) == from_csv(files[-1])
    sums, pooled, waits = published(files), 0, 0
    every = everything(county, files, kept, contests)
    for key, contest in contests.items():
        sizes = sizes_of(county.editions, contest.id)
        assert given_away(sums.get(key, []), sizes, 10) == [], key
        vectors = every.get(key[0] + (f" ({key[1]})" if key[1] else ""), [])
        assert (
            all(vector in vectors for vector in sums.get(key, []) if vector) and given_away(vectors, sizes, 10) == []
        ), key
        last = county.editions[-1].figures[contest.id]
        pooled += sum(len(block) for block in last.blocks if len(block) > 1)
        waits += last.ballots_waiting
        shown = total(last)
        for line in {line for votes in figures[contest.id].values() for line in votes}:
            whole = sum(votes.get(line, 0) for votes in figures[contest.id].values())
            waiting = sum(one.votes.get(line, 0) for _, one in last.waiting)
            assert shown.votes.get(line, 0) + waiting == whole, (key, line)
    print(
        f"{name}: {len(places)} places, {len(ways)} ways, {len(contests)} contests; {pooled} atoms joined, {waits} contest-ballots wait"
    )


def everything(county, files, kept, contests) -> dict[str, list[dict[str, int]]]:
    """By contest: of which ballots each number in CSV, JSON and page of every edition is the sum. Each value is that very sum."""
    found: dict[str, list[dict[str, int]]] = {}
    of_title = {key[0] + (f" ({key[1]})" if key[1] else ""): contest.id for key, contest in contests.items()}
    types: dict[str, list[str]] = {}
    for way in WAYS:
        types.setdefault(way.type, []).append(way.id.replace("-", "_"))
    before, old, last = None, {}, []
    for edition, data in zip(county.editions, files, strict=True):
        names = {unit.id: unit.name for unit in edition.units}
        known = Known(public(edition, "", {}), names)
        changed = between(old, edition)
        page = posting_page.written(edition, "now", changed if before else (), "then" if before else "").decode()
        numbers = [*of_csv(data, known), *of_json(reported(edition), known, types), *of_page(page, known, before)]
        last, before, old = numbers, known, edition.figures
        for number in numbers:
            rows = {atom.cell: one for atom, one in kept[of_title[number.contest]].items()}
            whole = sum(rows[cell].carried if number.line == "Ballots" else rows[cell].votes.get(number.line, 0) for cell in number.of)  # fmt: skip
            assert whole == number.value or not number.line, number
            if number.of and number.of not in found.setdefault(number.contest, []):
                found[number.contest].append(number.of)
    numbers = document_and_changes(county, files)
    for number in numbers:
        rows = {atom.cell: one for atom, one in kept[of_title[number.contest]].items()}
        whole = sum(rows[cell].carried if number.line == "Ballots" else rows[cell].votes.get(number.line, 0) for cell in number.of)  # fmt: skip
        assert whole == number.value or not number.line, number
        if number.of and number.of not in found.setdefault(number.contest, []):
            found[number.contest].append(number.of)
    assert len(last) > 500 and len(numbers) > 500
    return found


def document_and_changes(county, files) -> list[Number]:
    """Numbers of the document of every edition, and of the list of changes between every two of them."""
    numbers: list[Number] = []
    known = [Known(public(e, "", {}), {unit.id: unit.name for unit in e.units}) for e in county.editions]
    for edition, data, mine in zip(county.editions, files, known, strict=True):
        head = as_json(public(edition, "2026-11-12T16:05:00-06:00", {}))
        told = {"edition.json": head, "results.csv": data, "reconciliation.csv": b"place,name\n"}
        numbers += of_document(document.read(told).contests, mine)
    for i, before in enumerate(county.editions):
        for j in range(i + 1, len(county.editions)):
            numbers += of_changes(between(before.figures, county.editions[j]), known[i], known[j])
    return numbers
