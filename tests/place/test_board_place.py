"""The place file of a count board: read and written alike, and every mistake in one sentence with what to write."""

import pytest

from demo_precinct.count_board import board_place
from webapp.precinct.place import place_file
from webapp.precinct.place.place_file import Mistakes

TEXT = place_file.write(board_place())
STORED = "[board]\nbatch = 25\njoin = true\n"


def said(text: str) -> str:
    with pytest.raises(Mistakes) as wrong:
        place_file.read(text.encode())
    return str(wrong.value)


def test_a_board_is_written_and_read_back_the_same():
    place = place_file.read(TEXT.encode())
    assert place.kind == "board" and place.board == board_place().board
    assert place_file.write(place) == TEXT and STORED in TEXT


def test_hours_stand_in_their_order():
    assert "count_from is before unfold_from" in said(
        TEXT.replace("count_from = 2026-11-03T07:00:00", "count_from = 2026-11-02T07:00:00")
    )


def test_a_table_that_feeds_names_a_tabulator_that_there_is():
    assert "There is no tabulator A7" in said(TEXT.replace('tabulator = "A1"', 'tabulator = "A7"', 1))
    assert 'Table 5 feeds: write tabulator = "A1"' in said(TEXT.replace('tabulator = "A1"\n', "", 1))


def test_a_precinct_is_counted_together_once_and_is_one_of_this_board():
    more = '\n[[joined]]\nprecincts = ["W3", "W4"]\n\n[[joined]]\nprecincts = ["W4", "W9"]\n'
    found = said(TEXT + more)
    assert "There is no precinct W9" in found and "Precinct W4 is in two [[joined]]" in found


def test_a_board_needs_its_settings_and_a_polling_place_has_none():
    assert "board" in said(TEXT.replace("[board]", "[bored]"))
    assert "board" in said(TEXT.replace('kind = "board"\n', ""))


def test_a_carrier_and_a_table_stand_once():
    assert 'id "K1" is in two [[carriers]]' in said(TEXT + '\n[[carriers]]\nid = "K1"\n')
    assert 'id "1" is in two [[tables]]' in said(TEXT + '\n[[tables]]\nid = "1"\nwork = "open"\n')


def test_a_board_asks_for_no_stock():
    assert "[[stock]]" not in TEXT


def test_the_stored_board_is_read_by_this_version():
    from pathlib import Path

    stored = (Path(__file__).parent / "stored" / "board.toml").read_bytes()
    assert place_file.read(stored).board == board_place().board


def test_a_board_hides_as_few_ballots_as_its_office(tmp_path):
    from demo_precinct.rehearsed_county import board_office
    from webapp.gate.refusals import GateRefused
    from webapp.office.setup import enrolment

    (tmp_path / "office").mkdir()
    (tmp_path / "office" / "office.toml").write_bytes(board_office())
    enrolment.open_office(tmp_path / "office")
    with pytest.raises(GateRefused, match="small in .board. is 5"):
        enrolment.build(TEXT.replace("small = 10", "small = 5").encode(), tmp_path / "office", tmp_path / "place.cose")
    assert enrolment.build(TEXT.encode(), tmp_path / "office", tmp_path / "place.cose").id == "AB"
