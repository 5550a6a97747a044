"""`tapeseal rehearse --test`: the accuracy test of a place through its pages, the next place file, and the day that begins with its seals and counters.

One small place here. `python3 tests --county` plays every place of both counties of published results (the first two with `--all`).
"""

import json
import os

import pytest

from rehearsal.test_counties import COUNTIES, GOOD, HEAD
from tests.matrix import ALL
from webapp.commands import main
from webapp.gate.signed_place_file import load_place
from webapp.precinct.account.balanced_day import fold
from webapp.precinct.place.ballot_kinds import COARSE_KINDS
from webapp.record.audit import verify
from webapp.record.ledger import Ledger

COUNTY = bool(os.environ.get("TAPESEAL_COUNTY"))


def rehearsed(capsys, *words: object) -> tuple[int, dict]:
    code = main(["rehearse", "--test", "--json", *map(str, words)])
    return code, json.loads(capsys.readouterr().out)


def test_a_fault_is_found_and_mended_and_the_day_begins_with_the_seals_and_counters_of_the_test(
    tmp_path, capsys, short_day
):
    file, kept = tmp_path / "small.csv", tmp_path / "kept"
    file.write_text(HEAD + GOOD)
    code, report = rehearsed(capsys, "--results", file, "--keep", kept)
    test = report["test"]

    assert (code, report["ok"], report["findings"]) == (0, True, [])
    assert test["differing_first"] == 2 and test["differing"] == 0 and test["cells"] == 8
    place = load_place(kept / "places" / "P001")
    record = Ledger.read_only(kept / "places" / "P001" / "record.db")
    day = fold(place, ((entry, record.texts(entry.number)) for entry in record.entries()))
    assert {t.id: t.lifetime for t in place.tabulators} == test["next_place"]["lifetime"]
    assert {one.at: one.number for one in place.applied} == test["next_place"]["seals"]
    assert day.of("zero-tape")[0].body["lifetime"] == test["next_place"]["lifetime"]["T1"]
    read = {(touch.point, touch.number) for touch in day.seals.touches if touch.what != "applied"}
    assert set(test["next_place"]["seals"].items()) <= read, "the seals of the test are read on the morning"
    assert verify(kept / "tests" / "P001" / "record.db", coarse=COARSE_KINDS).ok


@pytest.mark.skipif(not (COUNTY or ALL), reason="every place of a county: python3 tests --county; two with --all")
@pytest.mark.parametrize("name", COUNTIES)
def test_the_places_of_a_county_are_tested_first(shared, capsys, name):
    count = COUNTIES[name][1] if COUNTY else 2
    code, report = rehearsed(capsys, "--results", shared(f"data/open-precinct-results/{name}"), "--places", count)

    assert (code, report["ok"], report["places"]) == (0, True, count)
    assert report["test"]["differing_first"] >= 2 * count and report["test"]["differing"] == 0
