"""An archive of an office with a count board: its votes by precinct stand with their place, and both checkers add them up again."""

import hashlib
from dataclasses import replace

import pytest

from demo_precinct import rehearsed_county
from tests.archive.small_office import SmallOffice, contests
from tests.archive.test_archive import both, changed, signed_again
from tests.office.test_board_votes import BOARD, FILE, core
from webapp.commands import main
from webapp.precinct.place import place_file

POLLS = place_file.read((rehearsed_county.HERE / "place.toml").read_bytes())


@pytest.fixture(scope="module")
def sealed(tmp_path_factory):
    home = tmp_path_factory.mktemp("board")
    rehearsed_county.prepare(home, rehearsed_county.board_office(), [replace(POLLS, host=""), BOARD])
    made = SmallOffice.empty(home)
    made.packet("W3", contests(20, 12, 4, 40))
    told = made.core("AB", {"GOV": core()["contests"]["GOV"]}) | {
        "board": core()["board"],
        "tabulators": core()["tabulators"],
    }
    made.seal("AB", told)
    made.post("The place is in, and the board's ballots are one sum.")
    (made.folder / "in" / f"{hashlib.sha256(FILE.encode()).hexdigest()}-votes.csv").write_bytes(FILE.encode())
    made.post("The board's votes by precinct came.")
    made.close()
    return made


def test_votes_of_a_board_are_added_up_again_by_both(sealed, tmp_path, alone, capsys):
    out = tmp_path / "sealed"
    assert main(["export", str(sealed.folder), "--out", str(out), "--archive", "sealed"]) == 0, capsys.readouterr()
    assert [path.name for path in (out / "data/boards").iterdir()] == [
        f"{hashlib.sha256(FILE.encode()).hexdigest()}-votes.csv"
    ]
    assert both(out, alone, capsys) == (set(), set())
    path = out / "data/editions-sealed/1.json"
    path.write_bytes(changed(path.read_bytes(), b'"absentee", 1, 0, 178, {"A": 82', b'"absentee", 1, 0, 178, {"A": 83'))
    signed_again(out, sealed.folder)
    for named in both(out, alone, capsys):
        assert any("data/editions" in one for one in named), named
