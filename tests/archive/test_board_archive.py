"""An archive of an office with a count board: its votes by precinct stand with their place, and both checkers add them up again."""

import hashlib
import json
import shutil
from dataclasses import replace

import pytest

import webapp
from demo_precinct import rehearsed_county
from demo_precinct.http_window import Window
from tests.archive.small_office import SmallOffice, contests
from tests.archive.test_archive import both, changed, signed_again
from tests.office.test_board_votes import BOARD, FILE, core
from webapp.commands import main
from webapp.precinct.place import place_file
from webapp.serving.server import serve_in_thread
from webapp.settings import Settings

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


def test_a_boards_packet_is_recounted_while_its_votes_are_one_sum_and_both_add_it_up_again(tmp_path, alone, capsys):
    home = tmp_path / "board"
    rehearsed_county.prepare(home, rehearsed_county.board_office(), [replace(POLLS, host=""), BOARD])
    made = SmallOffice.empty(home)
    made.packet("W3", contests(20, 12, 4, 40))
    was = core()["contests"]["GOV"]
    made.seal("AB", made.core("AB", {"GOV": was}) | {"board": core()["board"], "tabulators": core()["tabulators"]})
    made.post("The place is in, and the board's ballots are one sum.")
    again = [was[0] + 2, was[1] - 2, *was[2:]]
    made.recount("AB", {"GOV": again}, way="absentee")
    made.post("The board's ballots were recounted.")
    made.close()
    for number, votes in ((1, was[0]), (2, again[0])):
        kept = json.loads((made.folder / f"editions-sealed/{number}.json").read_bytes())["contests"]["GOV"]["blocks"]
        assert [row[5]["A"] for block in kept for row in block if row[0] == "AB"] == [votes]
    out = tmp_path / "sealed"
    assert main(["export", str(made.folder), "--out", str(out), "--archive", "sealed"]) == 0, capsys.readouterr()
    assert both(out, alone, capsys) == (set(), set())
    path = out / "data/editions-sealed/2.json"
    path.write_bytes(changed(path.read_bytes(), f'{{"A": {again[0]}'.encode(), f'{{"A": {was[0]}'.encode()))
    signed_again(out, made.folder)
    for named in both(out, alone, capsys):
        assert any("data/editions" in one for one in named), named


def test_the_page_offers_a_boards_recount_until_its_votes_by_precinct_stand_with_the_places(sealed, tmp_path):
    folder = tmp_path / "office"
    shutil.copytree(sealed.folder, folder)
    votes = next((folder / "in").glob("*-votes.csv"))
    for there in (True, False):
        if not there:
            votes.unlink()
        app = webapp.create_app(Settings("office", folder, clock="scripted", start=sealed.now))
        running = serve_in_thread(app)
        try:
            text = Window(running.port).get("/recount/AB").text
        finally:
            running.stop()
            app.extensions["room"].close()
        assert ("order the recount there" in text) == there and ('name="ways" value="absentee"' in text) != there
