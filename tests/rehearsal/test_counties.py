"""Places made from two counties' published results: one of the first, and one of an invented file; five of each county with `python3 tests --all`, all with `--county`.

Source: OpenElections project, official counts of Ottawa County, Michigan (general election of 2024-11-05) and Pinal County, Arizona (primary of
2024-07-30), as restated in ../shared/data/open-precinct-results.
"""

import contextlib
import io
import json
import os
from pathlib import Path
from types import SimpleNamespace

import pytest

from demo_precinct import rehearsal, results_file
from tests.matrix import ALL, nightly, some
from tests.rehearsal import side_by_side
from webapp.commands import main

COUNTIES = {"ottawa-mi-2024-general.csv": (1, 126), "pinal-az-2024-primary.csv": (1, 109)}  # places daily, places


def rehearsed(path, *words: str):
    """(exit code, stdout, stderr) of the command in this process, where a hash costs what the tests make it cost."""
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        code = main(["rehearse", "--results", str(path), "--json", *words])
    return code, out.getvalue(), err.getvalue()


COUNTY = bool(os.environ.get("TAPESEAL_COUNTY"))


@pytest.fixture
def one_process_daily(request):
    if not (ALL or COUNTY):
        request.getfixturevalue("one_process")
        request.getfixturevalue("short_day")


@pytest.mark.parametrize("name", some(["ottawa-mi-2024-general.csv"], list(COUNTIES)) if not COUNTY else list(COUNTIES))
def test_the_offices_totals_are_the_files(shared, one_process_daily, name):
    few, every = COUNTIES[name]
    count = every if COUNTY else 5 if ALL else few
    code, out, err = rehearsed(shared(f"data/open-precinct-results/{name}"), "--places", str(count))
    report = json.loads(out)
    assert (code, report["ok"], report["places"]) == (0, True, count), err
    assert report["packets"] == {"built": count, "read": count, "accepted": count}
    assert report["totals"]["equal"] == report["totals"]["contests"] > 0


HEAD = "precinct,contest,vote_for,choice,kind,votes,ballot_group\n"
GOOD = "A,,,,ballots_cast,20,\nA,MAYOR,1,X,choice,11,\nA,MAYOR,1,Y,choice,7,\nA,MAYOR,1,,undervote,2,\nA,MAYOR,1,,overvote,0,\n"


@nightly(held_by="tests/rehearsal/test_counties.py::test_a_total_that_the_file_lacks_is_missing_and_no_0")
def test_any_other_file_of_that_form_works(tmp_path):
    path = tmp_path / "small.csv"
    path.write_text(HEAD + GOOD)
    code, out, _ = rehearsed(path)
    report = json.loads(out)
    assert (code, report["ok"], report["totals"], report["findings"]) == (0, True, {"contests": 1, "equal": 1}, [])


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (HEAD + "A,MAYOR,1,X,choice,eleven,\n", "Row 2 of the results file: votes is 'eleven'"),
        (HEAD + GOOD + "A,MAYOR,1,Z,vote,3,\n", "Row 7 of the results file: kind is 'vote'"),
        (HEAD + GOOD + "A,MAYOR,0,Z,choice,3,\n", "Row 7 of the results file: vote_for is '0'"),
        (HEAD + GOOD + "A,MAYOR,2,Z,choice,3,\n", "Row 7 of the results file says vote_for 2 for MAYOR"),
        (HEAD + GOOD + "A,MAYOR,1,X,choice,3,\n", "Row 7 of the results file lists X of MAYOR in A twice, 11 and 3"),
        (HEAD + GOOD + "A,,,,ballots_cast,21,\n", "Row 7 of the results file gives ballots_cast of A twice"),
        (HEAD + GOOD + "A,MAYOR\n", "Row 7 of the results file has another number of columns"),
        (HEAD + GOOD + f"A,MAYOR,1,{'Z' * 121},choice,3,\n", "Row 7 of the results file: choice has 121 letters"),
        (HEAD + GOOD + f"A,{'M' * 500},1,Z,choice,3,\n", "Row 7 of the results file: contest has 500 letters"),
        (
            HEAD + GOOD + "A,MAYOR,1,Z\a,choice,3,\n",
            "Row 7 of the results file: choice holds a character that cannot be read",
        ),
        (HEAD + GOOD + "A,CLERK,1,X,choice,99999999,\n", "Row 7 of the results file: votes is 99999999"),
        (HEAD + GOOD + "A,MAYOR,1,write_in,choice,3,\n", "Row 7 of the results file names a choice 'write_in'"),
        (HEAD + GOOD + "B,,,,ballots_cast,9,\n", "has no contest of B"),
        (HEAD + GOOD + 'A,"MAYOR,1,X,choice,3,\n', "Row 7 of the results file cannot be read"),
        ("", "Row 1 of the results file lacks the column precinct"),
        (HEAD, "has a header and no rows"),
        ("precinct,votes\nA,3\n", "Row 1 of the results file lacks the column contest"),
    ],
)
def test_a_file_that_breaks_the_form_is_refused_with_the_row_and_the_reason(tmp_path, capsys, text, said):
    path = tmp_path / "broken.csv"
    path.write_text(text)
    code = main(["rehearse", "--results", str(path), "--json", "--keep", str(tmp_path / "kept")])
    out, err = capsys.readouterr()
    assert code == 2 and out == "" and said in err
    assert not (tmp_path / "kept").exists()


def test_a_file_that_is_no_utf8_text_is_refused_with_the_byte(tmp_path):
    path = tmp_path / "broken.csv"
    path.write_bytes((HEAD + GOOD).encode() + b"A,MAYOR,1,Caf\xe9,choice,3,\n")
    code, out, err = rehearsed(path)
    assert (code, out) == (2, "") and "is not UTF-8 text" in err


def test_a_total_that_the_file_lacks_is_missing_and_no_0(tmp_path, one_process_daily):
    """CLERK and BOARD have no undervote and overvote rows, B has no ballots_cast: neither is 0, nothing is checked against them, and the totals agree.
    B, which lacks both, is played; with --all A too."""
    b = "B,MAYOR,1,X,choice,3,\nB,MAYOR,1,,undervote,1,\nB,MAYOR,1,,overvote,0,\nB,BOARD,2,Y,choice,5,\n"
    data = (HEAD + b + GOOD + "A,CLERK,1,X,choice,12,\n").encode()
    file = results_file.read(data)
    assert [p.ballots for p in file.precincts] == [None, 20]
    assert [results_file.needed(file, i) for i in (0, 1)] == [4, 20]  # B: the greatest ceil((S + U + O) / N), 4 and 3
    place = results_file.place(file, 1)
    rows = results_file.truth(file, 1, place, 1).contests["T1"]
    clerk = next(c for c in place.contests if c.title.startswith("CLERK"))
    assert "under" not in rows[clerk.id] and "over" not in rows[clerk.id]
    assert (
        "ballots" in rows[clerk.id],
        all(
            "ballots" not in row
            for row in results_file.truth(file, 0, results_file.place(file, 0), 1).contests["T1"].values()
        ),
    ) == (True, True)
    path = tmp_path / "small.csv"
    path.write_bytes(data)
    code, out, err = rehearsed(path, "--places", "2" if ALL else "1")
    assert (code, json.loads(out)["ok"]) == (0, True), err
    contests = 3 if ALL else 2
    assert json.loads(out)["totals"] == {"contests": contests, "equal": contests}


def test_several_places_are_played_in_processes_of_their_own(monkeypatch):
    """Their days are a stand-in here: with whole days they are played by `python3 tests --all`."""
    monkeypatch.setattr(rehearsal, "play_place", side_by_side.played)
    monkeypatch.setattr(rehearsal, "cores", lambda: 2)
    places = [SimpleNamespace(id=name) for name in ("P001", "P002", "P003")]
    slips = {place.id: {} for place in places}
    found = list(rehearsal._played(Path("kept"), places, [None] * 3, slips, False))
    assert sorted((name, place.id) for name, place, _ in found) == [(place.id, place.id) for place in places]
    assert os.getpid() not in {process for *_, process in found}


def test_more_places_than_the_file_has_are_refused(tmp_path):
    path = tmp_path / "small.csv"
    path.write_text(HEAD + GOOD)
    code, _, err = rehearsed(path, "--places", "2")
    assert code == 2 and "the file holds 1 precincts" in err
