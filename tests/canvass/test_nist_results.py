"""The results in the form of NIST SP 1500-100 revision 2: the whole example, valid under the published schema with the formats checked, and read back
by a reader written here from the standard's text alone.

Sources: NIST SP 1500-100 version 2 (usnistgov/ElectionResultsReporting, branch version2), JSON Schema draft-04; RFC 3339 for times.
"""

import csv
import io
import json
import random
from pathlib import Path

import jsonschema
import pytest
import rfc3339_validator

from tests.canvass.county import ABSENTEE, GOV, PROVISIONAL, SITE, County, drawn, figures
from tests.matrix import some
from webapp.canvass.atoms import Atom
from webapp.canvass.edition import WAYS, Edition, Unit
from webapp.canvass.nist_results import document
from webapp.canvass.published import OneContest, next_edition
from webapp.canvass.results_csv import written
from webapp.precinct.place.place import Choice, Contest

STORED = json.loads((Path(__file__).parent / "stored" / "results-1500-100.json").read_text(encoding="utf-8"))
GOVERNOR = Contest("GOV", "Governor", 1, (Choice("A", "Ada Marsh"), Choice("B", "Ben Orrin")), "", True)
NAMES = {"HM4": "Harrow Mill school", "HM5": "Harrow Mill hall", "W3": "Lantern Street School"}
HM4, HM5, W3, LATER = Atom("HM4", SITE), Atom("HM5", SITE), Atom("W3", SITE), Atom("W3", PROVISIONAL)


@pytest.fixture
def schema(shared):
    found = json.loads(shared("standards/nist/NIST_V2_election_results_reporting.json").read_text(encoding="utf-8"))
    jsonschema.Draft4Validator.check_schema(found)
    return jsonschema.Draft4Validator(found, format_checker=jsonschema.FormatChecker())


def edition_three() -> Edition:
    """Three places over three editions: HM4 and HM5 came together, then 12 provisional ballots of W3."""
    lists = County(("HM4", "HM5", "W3"), {"HM4": "HM5", "HM5": "HM4", "W3": "HM4"}).lists
    one = OneContest()
    for kept in (
        {W3: figures(101, 98, 4, 8, 1)},
        {W3: figures(101, 98, 4, 8, 1), HM4: figures(200, 190, 12, 27, 2), HM5: figures(4, 2)},
        {
            W3: figures(101, 98, 4, 8, 1),
            HM4: figures(200, 190, 12, 27, 2),
            HM5: figures(4, 2),
            LATER: figures(7, 4, 0, 1),
        },
    ):
        one = next_edition(one, kept, lists)
    ballots = {"HM4": {SITE: 431}, "HM5": {SITE: 6}, "W3": {SITE: 212, PROVISIONAL: 12}}
    units = [Unit(id, NAMES[id], ballots[id], check_ins={"HM4": 432, "HM5": 6, "W3": 212}[id]) for id in NAMES]
    units[2] = Unit("W3", NAMES["W3"], ballots["W3"], check_ins=212, open=0, rejected=3)
    return Edition(3, "unofficial-complete", 0, 240, "Sable County election office", "General election", 3, 3,
                   (GOVERNOR,), {"GOV": one}, tuple(units), WAYS, practice=True)  # fmt: skip


def reported(edition: Edition, **changes):
    told = {
        "office": "sable",
        "made": "2026-11-12T16:05:00-06:00",
        "version": "1.2.0",
        "date": "2026-11-03",
        "kind": "general",
        "overvotes": "ballots",
    }
    return document(edition, **(told | changes))


def test_the_whole_example_is_written_field_by_field():
    made = reported(edition_three())
    county = next(unit for unit in made["GpUnit"] if unit["@id"] == "county-sable")
    county["Name"]["Text"][0]["Content"] = "Sable County"
    assert made.pop("Notes").startswith("Edition 3. Overvotes count ballots. Places where fewer than 10 ballots")
    assert made == {name: value for name, value in STORED.items() if name != "Notes"}


def test_the_example_is_valid_and_the_check_can_fail(schema):
    made = reported(edition_three())
    assert list(schema.iter_errors(made)) == [] and list(schema.iter_errors(STORED)) == []
    for spoil in (
        lambda one: one.pop("GeneratedDate"),
        lambda one: one.update(GeneratedDate="2026-11-12T16:05:00"),
        lambda one: one["Election"][0]["Contest"][0].pop("VotesAllowed"),
        lambda one: one["Election"][0]["Contest"][0]["OtherCounts"][0].update(Type="total"),
        lambda one: one.update(Status="final"),
        lambda one: one["Election"][0].update(StartDate="3 November"),
    ):
        wrong = json.loads(json.dumps(made))
        spoil(wrong)
        assert list(schema.iter_errors(wrong)), "nothing was found"
    assert rfc3339_validator.validate_rfc3339(made["GeneratedDate"]), "times are checked too"


def read_back(report) -> dict[tuple[str, str], int]:
    """Totals by contest and selection, as a stranger adds them up: counts of type total over every unit but the county."""
    election = report["Election"][0]
    names = {one["@id"]: one["BallotName"]["Text"][0]["Content"] for one in election.get("Candidate", ())}
    found: dict[tuple[str, str], int] = {}
    for contest in election["Contest"]:
        for selection in contest.get("ContestSelection", ()):
            label = (
                selection["Selection"]["Text"][0]["Content"]
                if "Selection" in selection
                else names[selection["CandidateIds"][0]]
            )
            for count in selection.get("VoteCounts", ()):
                if count["Type"] == "total" and not count["GpUnitId"].startswith("county-"):
                    found[contest["Name"], label] = found.get((contest["Name"], label), 0) + count["Count"]
        for other in contest.get("OtherCounts", ()):
            if not other["GpUnitId"].startswith("county-"):
                for name in ("Overvotes", "Undervotes", "WriteIns"):
                    if name in other:
                        found[contest["Name"], name] = found.get((contest["Name"], name), 0) + other[name]
    return found


def of_the_county(report) -> dict[tuple[str, str], int]:
    """The same from the county's own counts."""
    only = json.loads(
        json.dumps(report).replace('"county-', '"the-').replace('"place-', '"county-').replace('"cell-', '"county-')
    )
    return read_back(only)


def from_csv(data: bytes) -> dict[tuple[str, str], int]:
    names = {"writein": "WriteIns", "undervote": "Undervotes", "overvote": "Overvotes"}
    found: dict[tuple[str, str], int] = {}
    for row in csv.DictReader(io.StringIO(data.decode())):
        if row["cell"]:
            title = row["contest"] + (f" ({row['ballot_group']})" if row["ballot_group"] else "")
            key = title, names.get(row["kind"], row["choice"])
            found[key] = found.get(key, 0) + int(row["votes"])
    return found


def well_formed(report) -> None:
    """Every id is given once, and every id that is named is there: the schema does not look."""
    given, named = [], []

    def walk(one):
        if isinstance(one, dict):
            given.extend([one["@id"]] if "@id" in one else [])
            for name, value in one.items():
                if name.endswith("Ids") or name.endswith("Id") and name not in ("@id", "VendorApplicationId"):
                    named.extend(value if isinstance(value, list) else [value])
                walk(value)
        elif isinstance(one, list):
            for part in one:
                walk(part)

    walk(report)
    assert len(given) == len(set(given)), "an id is given twice"
    assert set(named) <= set(given), set(named) - set(given)


@pytest.mark.parametrize("seed", some(range(6), range(200)))
def test_drawn_counties_are_valid_and_read_back_equal(seed, schema):
    dice = random.Random(seed)
    count = dice.randint(2, 7)
    places = tuple(f"{'P-' * (i % 2)}{i}" for i in range(count))
    county = County(places, {p: dice.choice([q for q in places if q != p]) for p in places})
    kept = {}
    for _ in range(3):
        for place in places:
            for way in (SITE, ABSENTEE, PROVISIONAL):
                if dice.random() < 0.5:
                    kept.setdefault(Atom(place, way), drawn(dice, dice.choice((1, 4, 8, 30))))
        edition = county.post({"GOV": kept}, contests=(GOV,))
        report = reported(edition)
        assert list(schema.iter_errors(report)) == []
        well_formed(report)
        assert read_back(report) == of_the_county(report) == from_csv(written(edition))


def test_cells_whose_ids_would_read_alike_are_told_apart():
    """A-B with C, and A with B-C: both are "cell-A-B-C" when written plainly."""
    lists = County(("A-B", "C", "A", "B-C"), {}).lists
    one = next_edition(OneContest(), {Atom("A-B", SITE): figures(5, 0), Atom("C", SITE): figures(6, 0)}, lists)
    one = next_edition(one, {Atom("A-B", SITE): figures(5, 0), Atom("C", SITE): figures(6, 0),
                             Atom("A", SITE): figures(5, 0), Atom("B-C", SITE): figures(6, 0)}, lists)  # fmt: skip
    units = tuple(Unit(id, id, {SITE: 6}) for id in ("A-B", "C", "A", "B-C"))
    report = reported(
        Edition(2, "unofficial-partial", 0, 1, "Office", "Election", 4, 4, (GOV,), {"GOV": one}, units, WAYS)
    )
    well_formed(report)


def test_a_measure_is_a_measure_and_hostile_words_come_back_as_typed(schema):
    title, yes = '=HYPERLINK("x"),<script>alert(1)</script>\u202e "quoted"', "Yes, " + "y" * 10_000
    bridge = Contest("BR", title, 1, (Choice("Y", yes), Choice("N", "+No;@")), "Group, one")
    votes = {Atom("W3", SITE): type(figures(1, 1))(20, {"Y": 12, "N": 8})}
    one = next_edition(OneContest(), votes, County(("W3",), {}).lists)
    edition = Edition(
        1,
        "unofficial-partial",
        0,
        1,
        "Office",
        "Election",
        1,
        1,
        (bridge,),
        {"BR": one},
        (Unit("W3", "-W3", {SITE: 20}),),
        WAYS,
    )
    report = reported(edition, measures=frozenset({"BR"}))
    assert list(schema.iter_errors(report)) == []
    assert (
        read_back(json.loads(json.dumps(report)))
        == from_csv(written(edition))
        == {
            (f"{title} (Group, one)", yes): 12,
            (f"{title} (Group, one)", "+No;@"): 8,
        }
    )


def test_a_figure_that_a_tape_did_not_print_has_no_row_and_the_notes_name_it(schema):
    """W3's tape has no line for overvotes: missing is not 0, neither in its own row nor in the county's words."""
    lists = County(("HM4", "W3"), {}).lists
    printed = figures(101, 98, 4, 8)
    lacks = type(printed)(printed.carried, {line: n for line, n in printed.votes.items() if line != "over"})
    one = next_edition(OneContest(), {W3: lacks, HM4: figures(200, 190, 12, 27, 2)}, lists)
    units = tuple(Unit(id, NAMES[id], {SITE: 400}) for id in ("HM4", "W3"))
    edition = Edition(1, "unofficial-complete", 0, 1, "Office", "Election", 2, 2, (GOV,), {"GOV": one}, units, WAYS)
    rows = [row for row in csv.DictReader(io.StringIO(written(edition).decode())) if row["kind"] == "overvote"]
    assert [(row["cell"], row["votes"]) for row in rows] == [("HM4/election_day", "2")]
    report = reported(edition)
    assert list(schema.iter_errors(report)) == [] and read_back(report) == from_csv(written(edition))
    others = {one["GpUnitId"]: one for one in report["Election"][0]["Contest"][0]["OtherCounts"]}
    assert "Overvotes" not in others["place-W3"] and others["place-HM4"]["Overvotes"] == 2
    assert report["Notes"].endswith("Not printed by every tape, and then in no sum: Governor (overvotes).")


def test_a_way_that_has_no_ballots_any_more_keeps_its_published_figures(schema):
    """A count that was published, and now stands against another: its block stays, what is taken out of it waits."""
    lists = County(("W3",), {}).lists
    first = next_edition(OneContest(), {W3: figures(101, 98), LATER: figures(7, 5)}, lists)
    second = next_edition(first, {W3: figures(101, 98)}, lists)
    units = (Unit("W3", "W3", {SITE: 199}),)
    edition = Edition(2, "unofficial-partial", 0, 1, "Office", "Election", 1, 1, (GOV,), {"GOV": second}, units, WAYS)
    report = reported(edition)
    assert list(schema.iter_errors(report)) == []
    assert read_back(report) == from_csv(written(edition)) and second.ballots_waiting == 0
    third = next_edition(OneContest(), {W3: figures(101, 98), LATER: figures(3, 4, 0, 5)}, lists)
    fourth = next_edition(third, {W3: figures(101, 98), LATER: figures(3, 1, 0, 5)}, lists)
    assert fourth.ballots_waiting == 3
    waits = Edition(2, "unofficial-partial", 0, 1, "Office", "Election", 1, 1, (GOV,), {"GOV": fourth}, units, WAYS)
    assert list(schema.iter_errors(reported(waits))) == [] and "provisional" in written(waits).decode()
