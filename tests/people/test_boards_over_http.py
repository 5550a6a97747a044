"""Whole days of boards that the parties do not fill evenly, through the real pages: nothing is a dead end, nobody is signed for, what is missing is said.

Sources: NY-8-102, MA-52.01 (officials of two parties at each table); R 168 of Michigan (boards may be filled from the unaffiliated); that an empty seat
never stops voting and is kept short-signed is design 3.3. Pairs that count as different come from the place file (design 6).
"""

import pytest

from tests.matrix import some
from tests.pages.conftest import playbook, scene  # noqa: F401 - the played day of the demo's place
from tests.people import boards
from webapp.packet.envelope import open_packet, parts_of
from webapp.precinct.checklist import checklist
from webapp.precinct.day import seats
from webapp.precinct.place.ballot_kinds import COARSE_KINDS
from webapp.record.audit import verify


@pytest.fixture(scope="module", params=some(["three seats", "only one official came"], list(boards.BOARDS)))
def board(request, tmp_path_factory):
    played = boards.play(tmp_path_factory.mktemp("board") / "home", request.param)
    played.name = request.param
    yield played
    played.stop()


def entries(played, *kinds):
    return [k for k in played.kept.entries if k.kind in kinds and k.taken_back is None]


def paired(played):
    """What two parties or named seats sign, as it was kept."""
    weights = {s.id: s.signs for s in checklist.steps(played.day.place)}
    return [
        (k, weights[k.kind])
        for k in played.kept.entries
        if weights.get(k.kind, "T") not in ("T", "1", "each") and k.taken_back is None
    ]


def test_the_day_goes_from_the_roll_call_to_the_carriers_and_the_record_checks(board):
    assert board.kept.phase == "done"
    left = [
        t.key
        for t in checklist.tasks(board.day.place, board.kept, board.day.now)
        if t.state not in ("done", "missed") and not t.step.optional and t.step.id != "oath"
    ]
    assert left == []
    assert verify(board.folder / "record.db", coarse=COARSE_KINDS).ok
    assert open_packet(parts_of(board.day.packet_file()), None, None).core["place"] == board.day.place.id


def test_every_step_has_its_seats_or_says_which_is_empty_and_who_was_told(board):
    place, people = board.day.place, board.kept.people
    for kept, weight in paired(board):
        signers = tuple(people.official(s.person) for s in kept.signers)
        assert signers and len({s.person for s in kept.signers}) == len(signers)
        if weight == "all":
            continue
        lacking = {seat.name for seat in seats.unfilled(weight, signers, place.rules)}
        assert lacking == {row["seat"] for row in kept.short}, kept.kind
        assert all(row["why"] == "none-here" and row["told_at"] for row in kept.short)


def test_nobody_signs_twice_in_one_seat_and_nobody_who_did_not_come_signs_at_all(board):
    signed = {s.person for k in board.kept.entries for s in k.signers}
    assert signed and not signed & board.day.away


def test_an_even_board_is_never_short_and_an_uneven_one_says_so_in_the_record_and_in_the_packet(board):
    short = {k.number for k in board.kept.entries if k.short and k.number < entries(board, "packet-made")[-1].number}
    told = open_packet(parts_of(board.day.packet_file()), None, None).remarks["short"]
    assert {row[0] for row in told} == short and bool(short) == bool(board.day.away) == bool(board.day.crew.tally.short)
    assert all(row[4] == "duty clerk" and row[5] for row in told)
    if board.day.away:
        page = board.day.crew.window.get("/record")
        assert (
            "SHORT-SIGNED: the seat for an official of another party is empty (nobody here may take this seat)"
            in page.text
        )


def test_the_tape_is_typed_although_nobody_of_another_party_can_key_it(board):
    tapes = entries(board, "tape-typed")
    assert len(tapes) == 2 and {k.body["how"] for k in tapes} == (
        {"called"} if board.name == "only one official came" else {"blind"}
    )
    keyed = [
        {s.person for k in entries(board, "keying") if k.body["at"] == tape.at for s in k.signers} for tape in tapes
    ]
    assert all(len(people) == (0 if board.name == "only one official came" else 2) for people in keyed)


def test_a_roll_call_of_one_party_is_kept_only_as_an_exception(board):
    arrivals = entries(board, "arrivals")
    assert [k.not_so for k in arrivals] == [bool(board.day.away)]


def test_three_seats_are_signed_by_three(board):
    if board.name != "three seats":
        pytest.skip("the board with three seats alone")
    for kept in entries(
        board, "zero-tape", "self-check", "zero-signed", "polls-open", "unused", "book-count", "aside-counts"
    ):
        roles, parties = [s.role for s in kept.signers], {s.party for s in kept.signers}
        assert len(roles) == 3 and "chair" in roles and len(parties) > 1, kept.kind


def test_the_roll_call_that_names_one_party_says_what_to_do(scene):  # noqa: F811
    here = scene("dawn")
    form = here.form("/step/arrivals")
    alone = {
        n: "05:15" if n in ("present.lindqvist", "present.tanaka") else ""
        for n in form.controls
        if n.startswith("present.")
    }
    page = here.window.send(form, alone)
    assert (
        page.status == 422
        and "Only people of one party are written down so far." in page.text
        and "call the office" in page.text
    )
    assert here.window.send(form, alone | {"present.okafor": "05:16"}).status == 200
