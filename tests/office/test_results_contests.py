"""Results files of four styles: ballots a precinct, ballots a contest, several contests under one heading, totals before the choices."""

import csv
import io
from pathlib import Path

import pytest

from demo_precinct import results_file
from webapp.office.totals import official_results
from webapp.office.totals.official_results import UnusableResults, rows_of
from webapp.office.totals.results_contests import precincts

STORED = Path(__file__).parent / "stored" / "results"
HEAD = "precinct,contest,vote_for,choice,kind,votes,ballot_group\n"


def read(text: str, strict=lambda name: True):
    return precincts(enumerate(rows_of((HEAD + text).encode()), 2), strict)


def test_ballots_once_a_precinct():
    """The style of one county in ../shared/data/open-precinct-results: a row of ballots_cast for the precinct, none for its contests."""
    found = read("A,,,,ballots_cast,20,\nA,MAYOR,1,X,choice,11,\nA,MAYOR,1,,undervote,9,\n")["A"]
    assert (found.ballots, found.ballots_of(("MAYOR", "")), found.lines) == (
        20,
        20,
        {("MAYOR", ""): {"X": 11, "under": 9}},
    )


def test_ballots_once_a_group():
    """The style of the other county there: a primary, ballots by party."""
    found = read("A,,,,ballots_cast,30,\nA,,,,ballots_cast,12,P\nA,MAYOR,1,X,choice,11,P\n")["A"]
    assert (found.ballots, found.ballots_of(("MAYOR", "P"))) == (30, 12)


def test_ballots_once_a_contest():
    """A style made for this test: the county's report has a ballots line in each contest and none for the precinct."""
    found = read(
        "A,MAYOR,1,,ballots_cast,20,\nA,MAYOR,1,X,choice,11,\nA,TOWN,1,,ballots_cast,7,\nA,TOWN,1,Y,choice,7,\n"
    )["A"]
    assert (found.ballots, found.ballots_of(("MAYOR", "")), found.ballots_of(("TOWN", ""))) == (20, 20, 7)
    assert found.lines == {("MAYOR", ""): {"X": 11}, ("TOWN", ""): {"Y": 7}}


MEASURES = (
    "A,PROPOSAL,1,Yes,choice,11,\nA,PROPOSAL,1,No,choice,8,\nA,PROPOSAL,1,,undervote,1,\nA,PROPOSAL,1,,overvote,0,\n"
)
SECOND = (
    "A,PROPOSAL,1,Yes,choice,5,\nA,PROPOSAL,1,No,choice,12,\nA,PROPOSAL,1,,undervote,3,\nA,PROPOSAL,1,,overvote,0,\n"
)


def test_several_contests_under_one_heading_are_kept_apart_by_position():
    """A style made for this test: three measures run together under one heading, each with its own totals."""
    third = SECOND.replace(",5,", ",6,").replace(",12,", ",11,")
    found = read(MEASURES + SECOND + third)["A"]
    assert list(found.lines) == [("PROPOSAL", ""), ("PROPOSAL (2)", ""), ("PROPOSAL (3)", "")]
    assert [lines["Yes"] for lines in found.lines.values()] == [11, 5, 6]


def test_totals_written_before_the_choices_are_kept_apart_too():
    turned = "".join("".join(part.splitlines(True)[2:] + part.splitlines(True)[:2]) for part in (MEASURES, SECOND))
    assert [lines["Yes"] for lines in read(turned)["A"].lines.values()] == [11, 5]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (MEASURES + MEASURES, "give PROPOSAL in A a second time, with the same figures"),
        (
            MEASURES + "A,PROPOSAL,1,,overvote,0,\n",
            "lists overvotes of PROPOSAL in A twice, 0 and 0. If several contests run together",
        ),
        (MEASURES + "A,PROPOSAL,1,,overvote,4,\n", "lists overvotes of PROPOSAL in A twice, 0 and 4"),
        ("A,M,1,X,choice,1,\nA,M,1,X,choice,2,\n", "lists X of M in A twice, 1 and 2"),
        ("A,,,,ballots_cast,1,\nA,,,,ballots_cast,2,\n", "gives ballots_cast of A twice"),
        (
            MEASURES
            + SECOND
            + "B,PROPOSAL,1,For,choice,3,\nB,PROPOSAL,1,,undervote,1,\nB,PROPOSAL,1,Yes,choice,3,\nB,PROPOSAL,1,,undervote,0,\n",
            "in B they are in another order than in A",
        ),
    ],
)
def test_what_cannot_be_told_apart_is_refused_by_name_with_what_to_do(text, said):
    with pytest.raises(UnusableResults, match=said.replace("(", r"\(")):
        read(text)


def test_what_cannot_be_read_of_a_precinct_that_is_not_asked_for_stops_nothing():
    text = "A,M,1,X,choice,1,\nB,M,1,X,choice,1,\nB,M,1,X,choice,2,\nB,T,1,Y,choice,2,\n"
    found = read(text, lambda name: name == "A")
    assert list(found["A"].lines) == [("M", "")] and list(found["B"].lines) == [("T", "")]


def test_a_stray_row_behind_the_totals_is_no_contest_of_its_own():
    with pytest.raises(UnusableResults, match="lists Yes of PROPOSAL in A twice, 11 and 3"):
        read(MEASURES + "A,PROPOSAL,1,Yes,choice,3,\n")


@pytest.mark.parametrize("name", ["ottawa-mi-2024-general", "pinal-az-2024-primary"])
def test_both_counties_sum_to_their_files_line_by_line(shared, name):
    """Against a sum of this test's own over the rows. Source: see ../shared/data/open-precinct-results/README.md (OpenElections project, two counties' official counts)."""
    data = shared(f"data/open-precinct-results/{name}.csv").read_bytes()
    own: dict = {}
    for row in csv.DictReader(io.StringIO(data.decode())):
        if row["kind"] in ("choice", "undervote", "overvote", "writein"):
            key = row["contest"], row["ballot_group"], row["choice"] if row["kind"] == "choice" else row["kind"]
            own[key] = own.get(key, 0) + int(row["votes"])
    words, ours = {"under": "undervote", "over": "overvote", "write_in": "writein"}, {}
    for precinct in precincts(enumerate(rows_of(data), 2)).values():
        for (contest, group), lines in precinct.lines.items():
            for line, votes in lines.items():
                key = contest, group, words.get(line, line)
                ours[key] = ours.get(key, 0) + votes
    assert ours == own


@pytest.mark.parametrize(
    ("name", "contests"),
    [
        ("ballots-in-each-contest", {"MAYOR": [141, 140], "TOWN COUNCIL": [120, 90, 51]}),
        ("several-under-one-heading", {"PROPOSAL": [27, 20], "PROPOSAL (2)": [14, 32]}),
    ],
)
def test_two_styles_made_here_are_read_by_the_rehearsal_and_by_the_comparison(name, contests):
    """The third and fourth style; the first two are the published files below. Sums worked out by hand."""
    data = (STORED / f"{name}.csv").read_bytes()
    file = results_file.read(data)
    titles = {contest.id: contest for contest in file.contests.values()}
    sums, ours = file.sums(len(file.precincts)), {}
    for id, contest in titles.items():
        ours[contest.title] = [sums[id, choice.id] for choice in contest.choices]
    assert ours == contests
    found = official_results.compare([], data, ["Fern Bridge", "Mill Lane"])
    assert found.out == ("Fern Bridge", "Mill Lane") and found.rows == len(data.splitlines()) - 1


@pytest.mark.parametrize("read_by", [results_file.read, lambda data: official_results.compare([], data)])
def test_a_sheet_with_a_column_for_each_choice_is_refused_with_what_to_do(read_by):
    """A style made for this test: one row a precinct and contest, a column a choice."""
    with pytest.raises(UnusableResults, match="a column for each choice: write a row for each precinct and choice"):
        read_by((STORED / "a-column-a-choice.csv").read_bytes())


def test_a_line_longer_than_any_reader_takes_is_one_sentence_for_the_rehearsal_too():
    with pytest.raises(UnusableResults, match="Row 1 of the results file cannot be read"):
        results_file.read(b"p" * 140_000 + b",contest\n")
