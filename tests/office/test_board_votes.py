"""Absentee votes of a count board by precinct at the desk: the file that its packet holds, and what comes of it in editions, Totals and Canvass.

N.Y. Comp. Codes R. & Regs. 9 6210.9(a)(2), (4): absentee ballots are canvassed by election district, small numbers together, so that nobody's vote is seen.
"""

import hashlib
from dataclasses import replace

import pytest

from demo_precinct import rehearsed_county
from demo_precinct.count_board import board_place
from webapp.board import votes_file
from webapp.board.board_day import BoardEntry
from webapp.board.board_entries import board_day
from webapp.board.board_sheet import rules_of, wall_time
from webapp.board.objections import against
from webapp.board.precinct_votes import lacking, parts
from webapp.canvass.atoms import Atom
from webapp.canvass.counts import Count
from webapp.office.canvassing import absentee, board_votes, edition_figures
from webapp.office.canvassing.added_ballots import AddedBallots
from webapp.office.setup import office_file
from webapp.office.setup.roster import Roster
from webapp.office.totals.totals import PacketFigures
from webapp.packet.envelope import PacketRefused
from webapp.precinct.place import place_file

POLLS = place_file.read((rehearsed_county.HERE / "place.toml").read_bytes())
BOARD = board_place()
BOARD = place_file.read(place_file.write(replace(BOARD, board=replace(BOARD.board, votes="by-precinct"))).encode())
NIGHT = wall_time(BOARD, BOARD.at(BOARD.closes) + 3_600_000)
GOV = next(contest for contest in BOARD.contests if contest.id == "GOV")


def row(a, b, c, under=0, over=0, write_in=0):
    return {"votes": {"A": a, "B": b, "C": c}, "under": under, "over": over, "write_in": write_in, "ballots": a + b + c + under + over + write_in}  # fmt: skip


def entry(kind, /, **body):
    return BoardEntry(kind, body, NIGHT)


def tape(at, w3, w4):
    both = [{**one, "votes": one["votes"]} for one in (w3, w4)]
    whole = row(*(sum(one["votes"][choice] for one in both) for choice in "ABC"), *(sum(one[k] for one in both) for k in ("under", "over", "write_in")))  # fmt: skip
    return entry("tape-typed", at=at, ballots={"W3": w3["ballots"], "W4": w4["ballots"]}, contests={"GOV": whole})


def typed(at, precincts, one):
    return entry("tape-precinct", at=at, precincts=list(precincts), ballots=one["ballots"], contests={"GOV": one})


A1 = row(30, 20, 8, under=2), row(11, 14, 3)
A2 = row(25, 21, 9, over=1), row(16, 12, 5, write_in=1)
WHOLE = [
    tape("A1", *A1), tape("A2", *A2), typed("A1", ["W3"], A1[0]), typed("A1", ["W4"], A1[1]), typed("A2", ["W3"], A2[0]), typed("A2", ["W4"], A2[1]),
]  # fmt: skip


def day(entries, place=BOARD):
    return board_day(rules_of(place), entries)


def said(entries, one, place=BOARD):
    return " ".join(each.says for each in against(day(entries, place), one))


# --- at the board


def test_precincts_are_typed_after_their_tape_each_once_and_are_the_tape():
    assert "Key the tape of A1 first" in said([], WHOLE[2])
    assert said(WHOLE[:2], WHOLE[2]) == said(WHOLE[:3], WHOLE[3]) == ""
    assert "was typed already" in said(WHOLE[:4], typed("A1", ["W3", "W4"], A1[0]))
    assert "The tape of A1 has 60 ballots of W3, 61 are typed" in said(WHOLE[:2], typed("A1", ["W3"], row(31, 20, 8, under=2)))  # fmt: skip
    wrong = said(WHOLE[:3], typed("A1", ["W4"], row(12, 13, 3)))
    assert "Governor, Agnes Bellweather: the tape of A1 has 41, the precincts typed have 42 together" in wrong
    assert "Tobias Quill: the tape of A1 has 34, the precincts typed have 33" in wrong


def test_no_precinct_of_few_ballots_is_typed_alone():
    few = row(40, 30, 10), row(2, 1, 1)
    told = said([tape("A1", *few)], typed("A1", ["W4"], few[1]))
    assert "W4 has 4 ballots on the tape of A1, fewer than 10: its votes are not typed alone" in told
    both = row(42, 31, 11)
    assert said([tape("A1", *few)], typed("A1", ["W3", "W4"], both)) == ""
    (one,) = parts(day([tape("A1", *few), typed("A1", ["W3", "W4"], both)]))
    assert one.precincts == ("W3", "W4") and one.ballots == 84


def test_a_precinct_that_stays_small_is_joined_in_the_file():
    small = row(30, 20, 8, under=2), row(11, 0, 0)
    rules = replace(rules_of(BOARD), small=12)
    told = board_day(rules, [tape("A1", *small), typed("A1", ["W3"], small[0]), typed("A1", ["W4"], small[1])])
    (one,) = parts(told)
    assert one.precincts == ("W3", "W4") and one.contests["GOV"] == [41, 20, 8, 0, 2, 0, 71]


def test_there_is_no_file_while_something_lacks_or_nothing_is_asked():
    assert lacking(day(WHOLE)) == () and len(parts(day(WHOLE))) == 2
    assert (
        lacking(day(WHOLE[:5])) == ("Tape of A2: the votes of W4 are not typed yet.",) and parts(day(WHOLE[:5])) == ()
    )
    assert lacking(day([])) == ("No tape is typed yet.",)
    sums = replace(BOARD, board=replace(BOARD.board, votes="sum"))
    assert lacking(day(WHOLE, sums)) == () and parts(day(WHOLE, sums)) == ()
    assert "typed as one sum" in said(WHOLE[:2], WHOLE[2], sums)


def test_no_votes_by_precinct_before_the_hour_of_the_tapes():
    live = replace(BOARD, mode="live")
    early = BoardEntry("tape-precinct", WHOLE[2].body, wall_time(BOARD, BOARD.at(BOARD.opens)))
    assert "Tapes are printed Tuesday 3 November, 20:00" in " ".join(one.says for one in against(day(WHOLE[:2], live), early))  # fmt: skip


# --- the file


FILE = votes_file.written(BOARD.typed_contests(), parts(day(WHOLE)))


def test_the_file_is_as_its_page_says_and_comes_back_as_it_was():
    assert FILE.splitlines()[:5] == [
        "precinct,contest,vote_for,choice,kind,votes",
        "W3,,,,ballots_cast,116",
        "W3,GOV,1,A,choice,55",
        "W3,GOV,1,B,choice,41",
        "W3,GOV,1,C,choice,17",
    ]
    assert votes_file.read(FILE, {"GOV": GOV}) == parts(day(WHOLE))


def core(votes=FILE):
    rows = [one.contests["GOV"] for one in parts(day(WHOLE))]
    tapes = [{"id": at, "tape": [{"precinct": "W3", "n": a["ballots"]}, {"precinct": "W4", "n": b["ballots"]}]} for at, a, b in (("A1", *A1), ("A2", *A2))]  # fmt: skip
    sums = [sum(column) for column in zip(*rows, strict=True)]
    return {"board": {"votes": hashlib.sha256(votes.encode()).digest(), "batches": [], "envelopes": dict.fromkeys(("received", "rejected", "held", "empty", "extra"), {}), "problems": dict.fromkeys(("hand-counted", "not-counted", "waiting"), {})}, "contests": {"GOV": sums}, "tabulators": tapes, "people": []}  # fmt: skip


BAD = {
    "another file": ("x" + FILE, "not the votes by precinct that were signed"),
    "another form": ("a,b\n1,2\n", "its first row names other columns"),
    "no figure": (FILE.replace("choice,55", "choice,many"), "Row 3 of the votes by precinct holds something else"),
    "another contest": (FILE.replace("W3,GOV,1,A", "W3,GOD,1,A"), "Row 3 of the votes by precinct names a contest or a line"),
    "votes moved to another line": (FILE.replace("A,choice,55", "A,choice,54"), "Governor: the votes by precinct do not add up"),
    "a precinct twice": (FILE.replace("W4,", "W3,").replace("ballots_cast,62", "ballots_cast,63"), "do not add up"),
    "a precinct of another board": (FILE.replace("W4,", "X9,"), "one that this board does not have"),
}  # fmt: skip


@pytest.mark.parametrize(("text", "sentence"), BAD.values(), ids=BAD)
def test_a_file_that_is_not_the_boards_is_refused_by_one_sentence(tmp_path, text, sentence):
    (tmp_path / "in").mkdir()
    signed = core(FILE if text.startswith("x") else text)
    with pytest.raises(PacketRefused, match=sentence):
        board_votes.store(tmp_path, signed, BOARD, text.encode())
    assert board_votes.votes_in_force(tmp_path, signed, BOARD) is None


# --- at the office


class Tray:
    """The packets that count: of the board, and of its places that are in."""

    def __init__(self, *packets):
        self.packets = {packet.place.id: (bytes([n]) * 32, packet) for n, packet in enumerate(packets)}

    def current(self):
        return list(self.packets.values())

    def counts(self, place):
        return self.packets.get(place)

    def in_totals(self, place):
        return place in self.packets


def office(tmp_path, votes=True):
    (tmp_path / "in").mkdir()
    if votes:
        board_votes.store(tmp_path, core(), BOARD, FILE.encode())
    roster = Roster(office_file.read(rehearsed_county.board_office()), {"W3": POLLS, "AB": BOARD}, {}, {})
    added, tray = AddedBallots(roster), Tray(PacketFigures(BOARD, core()))
    kept = board_votes.votes_in_force(tmp_path, core(), BOARD)
    added.from_board("AB", board_votes.counts(roster, BOARD, b"\1" * 32, kept) if kept else [])
    return roster, tray, added


def test_without_the_file_a_boards_votes_are_one_sum_of_absentee_ballots(tmp_path):
    roster, tray, added = office(tmp_path, votes=False)
    found = edition_figures.figures_now(roster, tray, added)
    assert set(found.figures["GOV"]) == {Atom("AB", "absentee")} and found.figures["GOV"]["AB", "absentee", 1, 0].votes["A"] == 82  # fmt: skip
    (unit,) = found.units
    assert unit.ballots == {"absentee": 178}


def test_with_the_file_they_stand_with_their_place_and_nothing_counts_twice(tmp_path):
    roster, tray, added = office(tmp_path)
    found = edition_figures.figures_now(roster, tray, added)
    (atom,) = found.figures["GOV"]
    assert atom == Atom("W3", "absentee") and found.figures["GOV"][atom].votes["A"] == 82 == 55 + 27
    assert {unit.id: unit.ballots for unit in found.units} == {"W3": {"absentee": 178}, "AB": {}}
    assert added.all_counted() == 0, "they are in the totals already, with the board's packet"


def test_the_same_ballots_keyed_at_the_desk_as_part_1_are_a_contradiction(tmp_path):
    roster, tray, added = office(tmp_path)
    added._counts.append(Count("W3", "absentee", 1, "tape", "A1", 178, {"GOV": (82, 67, 25, 1, 2, 1, 178)}, (), 5, b"k" * 16, 9))  # fmt: skip
    added._standing = None
    assert added.against() == [Atom("W3", "absentee")]


def test_a_packet_that_counts_no_more_takes_its_counts_with_it(tmp_path):
    roster, tray, added = office(tmp_path)
    added.from_board("AB", [])
    assert added.counts == {}


def test_precincts_of_no_one_place_stay_with_the_board(tmp_path):
    roster, _, _ = office(tmp_path)
    alone = replace(roster, places={"AB": BOARD})
    assert board_votes.counts(alone, BOARD, b"\1" * 32, parts(day(WHOLE))) == []
    assert board_votes.homes(roster, BOARD) == {"W3": "W3", "W4": "W3"}


def test_totals_and_canvass_say_absentee_by_place(tmp_path):
    roster, tray, added = office(tmp_path)
    (board,) = absentee.boards(roster, tray, added)
    assert (board.id, board.ballots, board.by_place) == ("AB", 178, True)
    ((names, votes),) = absentee.of_contest(added, "GOV", 10)
    assert names == POLLS.name and votes["A"] == 82 and votes["ballots"] == 178
    assert absentee.of_contest(added, "GOV", 1000) == []
    tray.packets["AB"][1].core["board"]["batches"] = [["A1", "2", "first", "W3", 5, 116, 0, 116], ["A1", "2", "first", "W4", 3, 62, 0, 62]]  # fmt: skip
    ((_, rows),) = absentee.beside_places(roster, tray, added)
    assert [(row.name, row.own, row.ballots) for row in rows] == [(POLLS.name, None, 178)]
