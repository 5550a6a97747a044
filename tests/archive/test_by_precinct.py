"""A place whose tape prints votes by precinct, from its packet to every file that leaves the office, and through both checkers of the archive.

One figure: 24 votes for the first choice in precinct A of Lantern Street School. The schema is NIST SP 1500-100 version 2, JSON Schema draft-04.
"""

import csv
import io
import json
from collections import defaultdict
from dataclasses import replace
from pathlib import Path

import jsonschema
import pytest

from demo_precinct import rehearsed_county
from tests.archive.small_office import OFFICE, SmallOffice, row
from webapp.archive import check
from webapp.commands import main
from webapp.office.checking import packet_checks, split_returns
from webapp.office.keying import from_paper, paper_asks, paper_core, paper_values
from webapp.packet.figures_from_core import PRECINCTS
from webapp.precinct.place import place_file
from webapp.precinct.place.place import Precinct

A, B = (dict(id="PA", name="Ward A"), dict(id="PB", name="Ward B"))


def split_office(home: Path) -> SmallOffice:
    """The small office with two precincts at W3, whose tape prints them apart."""
    whole = place_file.read((rehearsed_county.HERE / "place.toml").read_bytes())
    kept = {"GOV", "COUNCIL"}
    styles = tuple(replace(s, contests=tuple(id for id in s.contests if id in kept)) for s in whole.styles)
    small = tuple(c for c in whole.contests if c.id in kept)
    one = replace(whole, host="", contests=small, styles=styles)
    apart = replace(
        one,
        id="W3",
        name="Lantern Street School",
        precincts=(Precinct(**A, registered=300), Precinct(**B)),
        styles=tuple(replace(s, precincts=("PA", "PB")) for s in styles),
        rules=replace(one.rules, typed="all", votes="by-precinct"),
    )
    others = [replace(one, id=id, name=name) for id, name in (("W5", "Heathfield Chapel"), ("HM4", "Harrow Mill hall"))]
    rehearsed_county.prepare(home, OFFICE.encode(), [apart, *others])
    return SmallOffice.empty(home)


def rows_of(a: list[int], b: list[int]) -> tuple[dict, dict]:
    """(contests, contests by precinct) of Governor and Council, (votes ..., ballots) of each precinct."""
    apart = {
        precinct: {"GOV": row(*votes, ballots=n), "COUNCIL": row(*votes, 1, ballots=n, n=2)}
        for precinct, (*votes, n) in (("PA", a), ("PB", b))
    }
    whole = {c: [x + y for x, y in zip(apart["PA"][c], apart["PB"][c], strict=True)] for c in ("GOV", "COUNCIL")}
    return whole, apart


def packet(office: SmallOffice, a, b, number=1, amends=None, apart=True) -> bytes:
    whole, mine = rows_of(a, b)
    core = office.core("W3", whole) | {"number": number, "amends": amends}
    core["tabulators"][0]["tape"] = [{"precinct": "PA", "n": a[-1]}, {"precinct": "PB", "n": b[-1]}]
    return office.seal("W3", core | ({PRECINCTS: mine} if apart else {}))


def results(office: SmallOffice, number: int) -> list[dict[str, str]]:
    data = (office.folder / "editions" / str(number) / "results.csv").read_text(encoding="utf-8")
    return list(csv.DictReader(io.StringIO(data)))


def cells(office: SmallOffice, number: int) -> dict[str, int]:
    """Votes of the first choice for Governor by cell."""
    title = next(c.title for c in office.roster.places["W3"].contests if c.id == "GOV")
    label = next(c.choices[0].label for c in office.roster.places["W3"].contests if c.id == "GOV")
    return {
        r["cell"]: int(r["votes"]) for r in results(office, number) if r["contest"] == title and r["choice"] == label
    }


@pytest.fixture(scope="module")
def office(tmp_path_factory):
    """Two editions: W3 by precinct, then the others, a count after the night, and a finding about the whole of W3."""
    made = split_office(tmp_path_factory.mktemp("split") / "home")
    packet(made, [24, 10, 4, 40], [20, 12, 5, 41])
    made.post("W3 is in.")
    made.packet("W5", {"GOV": row(10, 9, 8, ballots=30), "COUNCIL": row(10, 9, 8, 1, ballots=30, n=2)})
    made.packet("HM4", {"GOV": row(2, 1, 1, ballots=6), "COUNCIL": row(2, 1, 1, 1, ballots=6, n=2)})
    made.count("W3", {"GOV": row(5, 4, 1, ballots=12), "COUNCIL": row(5, 4, 1, 1, ballots=12, n=2)})
    made.find("W3", "votes/GOV/" + made.roster.places["W3"].contests[0].choices[0].id, 44, 43)
    made.post("All places are in.")
    made.close()
    return made


def test_each_precinct_is_a_row_and_the_place_has_what_is_not_by_precinct(office):
    assert cells(office, 1) == {"W3:PA/election_day": 24, "W3:PB/election_day": 20}
    found = cells(office, 2)
    assert found["W3:PA/election_day"] == 24 and found["W3:PB/election_day"] == 20
    assert found["W3/election_day+1"] == -1, "the finding is about the whole place: no precinct of it is moved"
    assert found["HM4/election_day W3/provisional"] == 2 + 5, "6 ballots of HM4 are never alone"
    names = {r["cell"]: r["precinct"] for r in results(office, 2)}
    assert names["W3:PA/election_day"] == "Lantern Street School, Ward A"
    assert sum(found.values()) == 24 + 20 + 10 + 2 + 5 - 1


def test_the_standard_s_file_has_the_precincts_as_parts_of_their_place(office, shared):
    report = json.loads((office.folder / "editions/2/results-1500-100.json").read_text(encoding="utf-8"))
    schema = json.loads(shared("standards/nist/NIST_V2_election_results_reporting.json").read_text(encoding="utf-8"))
    assert list(jsonschema.Draft4Validator(schema, format_checker=jsonschema.FormatChecker()).iter_errors(report)) == []

    units = {unit["@id"]: unit for unit in report["GpUnit"]}
    assert units["place-W3"]["Type"] == "polling-place"
    assert units["place-W3"]["ComposingGpUnitIds"] == ["precinct-W3-PA", "precinct-W3-PB"]
    assert units["precinct-W3-PA"]["VotersRegistered"] == 300 and units["place-W5"]["Type"] == "precinct"
    sums, county = defaultdict(int), {}
    for contest in report["Election"][0]["Contest"]:
        for one in contest["ContestSelection"]:
            for count in (c for c in one["VoteCounts"] if c["Type"] == "total"):
                if count["GpUnitId"].startswith("county-"):
                    county[one["@id"]] = count["Count"]
                else:
                    sums[one["@id"]] += count["Count"]
    assert dict(sums) == county


def test_the_reconciliation_has_a_row_for_each_precinct(office):
    data = (office.folder / "editions/2/reconciliation-precincts.csv").read_text(encoding="utf-8")
    assert list(csv.reader(io.StringIO(data)))[1:] == [
        ["W3", "Lantern Street School", "PA", "Ward A", "300", "", "40", ""],
        ["W3", "Lantern Street School", "PB", "Ward B", "", "", "41", ""],
    ]


def test_a_precinct_of_few_ballots_is_held_together_with_the_other(tmp_path):
    made = split_office(tmp_path / "home")
    packet(made, [3, 1, 0, 7], [20, 12, 5, 41])
    made.post("W3 is in.")
    assert cells(made, 1) == {"W3:PA/election_day W3:PB/election_day": 23}


def test_a_packet_without_rows_is_shown_whole_and_stays_whole(tmp_path):
    """A packet made before tapes were typed by precinct is read as ever."""
    made = split_office(tmp_path / "home")
    first = packet(made, [24, 10, 4, 40], [20, 12, 5, 41], apart=False)
    made.post("W3 is in.")
    packet(made, [24, 10, 4, 40], [20, 12, 5, 41], number=2, amends=first)
    made.post("W3 again, by precinct.")
    assert cells(made, 1) == cells(made, 2) == {"W3/election_day": 44}


def test_rows_that_do_not_add_up_are_not_shown_by_precinct(tmp_path):
    made = split_office(tmp_path / "home")
    whole, apart = rows_of([24, 10, 4, 40], [20, 12, 5, 41])
    apart["PA"]["GOV"][0] -= 1
    core = made.core("W3", whole) | {"number": 1, PRECINCTS: apart}
    made.seal("W3", core)
    made.post("W3 is in.")
    place = made.roster.places["W3"]
    governor = next(c for c in place.contests if c.id == "GOV")
    assert cells(made, 1) == {"W3/election_day": 44}
    assert (
        split_returns.by_precinct(core, place, governor)[1]
        == "its rows by precinct do not add up to the figures of the place"
    )


@pytest.mark.parametrize(
    ("rows", "sentence"),
    [
        ({"PX": {}}, "PX is no precinct"),
        ({"PA": {"SEN": [1]}}, "SEN is not on the ballots"),
        ({"PA": {"GOV": [1, 2]}}, "Governor has 2 figures"),
    ],
)
def test_rows_of_another_form_are_refused(office, rows, sentence):
    whole, _ = rows_of([24, 10, 4, 40], [20, 12, 5, 41])
    core = office.core("W3", whole) | {PRECINCTS: rows}
    with pytest.raises(ValueError, match=sentence):
        packet_checks._belongs(core, office.roster.places["W3"])


def test_both_checkers_agree_with_its_archives(office, tmp_path, alone, capsys):
    folder, sealed, public = office.folder, tmp_path / "sealed", tmp_path / "public"
    assert main(["export", str(folder), "--out", str(sealed), "--archive", "sealed"]) == 0
    assert main(["export", str(folder), "--out", str(public), "--archive", "public", "--with-sealed", str(sealed)]) == 0
    for one in (sealed, public):
        assert check.checked(one).named == set()
        capsys.readouterr()
        assert alone.main([str(one)]) == 0, capsys.readouterr().out


def test_the_paper_of_the_place_has_the_same_lines(office):
    whole, apart = rows_of([24, 10, 4, 40], [20, 12, 5, 41])
    place = office.roster.places["W3"]
    core = office.core("W3", whole) | {PRECINCTS: apart}
    core["tabulators"][0]["tape"] = [{"precinct": "PA", "n": 40}, {"precinct": "PB", "n": 41}]
    values = paper_values.values_of(core, place)
    choice = place.contests[0].choices[0].id

    assert values[f"apart.T1.PA.{place.contests[0].id}.{choice}"] == 24
    assert not any(name.startswith("votes.") for name in values)
    keyed = paper_core.whole(paper_core.core_of(values, place), place, 0)
    assert keyed[PRECINCTS] == apart and keyed["contests"] == whole
    assert from_paper.differences(keyed, core, place) == [] and paper_asks.asks(values, place) == {}
    asked = paper_asks.asks(values | {f"apart.T1.PA.GOV.{choice}": 90}, place)
    assert "Ward A, " in "".join(asked.values())


def test_a_finding_about_one_precinct_corrects_its_row_at_once(tmp_path, alone, capsys):
    made = split_office(tmp_path / "home")
    packet(made, [24, 10, 4, 40], [20, 12, 5, 41])
    made.post("W3 is in.")
    first, second = (c.id for c in made.roster.places["W3"].contests[0].choices[:2])
    made.find("W3", f"apart/PA/GOV/{first}", 24, 23)
    made.find("W3", f"apart/PA/GOV/{second}", 10, 11)
    made.find("W3", f"votes/GOV/{first}", 44, 43)  # the same, said of the whole place too
    made.post("One vote was read wrong.")
    made.close()

    assert cells(made, 2) == {"W3:PA/election_day": 23, "W3:PB/election_day": 20}
    assert main(["export", str(made.folder), "--out", str(tmp_path / "sealed"), "--archive", "sealed"]) == 0
    assert check.checked(tmp_path / "sealed").named == set()
    capsys.readouterr()
    assert alone.main([str(tmp_path / "sealed")]) == 0, capsys.readouterr().out


@pytest.mark.parametrize(
    ("figure", "ballots", "seen"),
    [
        ("apart/PA/GOV/A", 40, True),
        ("apart/PA/GOV/A", 7, False),
        ("votes/GOV/A", 7, True),
        ("apart/PB/SEN/A", 40, False),
    ],
)
def test_a_row_beside_a_precinct_of_few_ballots_is_not_offered_for_correction(figure, ballots, seen):
    core = {PRECINCTS: {"PA": {"GOV": [1, 1, 0, 0, 0, ballots]}, "PB": {"GOV": [20, 21, 0, 0, 0, 41]}}}
    assert split_returns.may_be_seen(figure, core, {"GOV"}, 10) is seen
