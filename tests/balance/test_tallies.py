"""Contests and write-ins, seals, recounts and the absentee board: lines that stand by themselves."""

from tests.balance.cast import gaps, night, open_lines, unchecked
from webapp.precinct.balance.balance import ContestCount, contest_convention
from webapp.precinct.balance.contests import opposite_gaps
from webapp.precinct.explain.explain import explained


def contest(n, over, under, votes, ballots, **more):
    return {
        "id": "COUNCIL",
        "n": n,
        "tapes": {"T1": {"ballots": ballots, "votes": votes, "under": under, "over": over, **more}},
    }


def test_a_contest_of_two_seats_balances_under_either_way_of_counting_overvotes():
    """`trade.md` 7, example: N = 2, B = 7, votes 1, 2, 3 and 4 write-ins, one blank ballot, one overvoted ballot."""
    votes = {"A": 1, "B": 2, "C": 3}
    lost = {"contests": [contest(2, 2, 2, votes, 7, write_in=4)], "rules": {"overvotes": "votes"}}
    ballots = {"contests": [contest(2, 1, 2, votes, 7, write_in=4)], "rules": {"overvotes": "ballots"}}

    assert open_lines(lost) == {} and open_lines(ballots) == {}
    assert open_lines({**ballots, "rules": {"overvotes": "votes"}}) == {"contest:COUNCIL:T1": -1}


def test_the_way_of_counting_overvotes_is_told_from_the_whole_file_and_said():
    found = explained({"contests": [contest(2, 1, 2, {"A": 10}, 7)]})
    line = found.lines[0]

    assert found.balanced and "Overvotes taken as ballots" in line.says and "0 as votes" not in line.says
    assert "0 contest lines agree as votes, 1 as ballots" in line.says


def test_where_both_ways_agree_equally_often_multiples_decide():
    only_one_seat = [ContestCount(1, 10, 8, 1, 1)]
    no_multiple = [ContestCount(2, 10, 15, 1, 1)]

    assert contest_convention(only_one_seat).overvotes == "votes"
    assert contest_convention(no_multiple).overvotes == "ballots"
    assert contest_convention(only_one_seat, "ballots").overvotes == "ballots"


def test_one_odd_contest_does_not_choose_its_own_way():
    counts = [ContestCount(2, 10, 15, 3, 1), ContestCount(2, 10, 14, 4, 1), ContestCount(2, 10, 16, 2, 2)]
    way = contest_convention(counts)

    assert way.overvotes == "ballots" and (way.agree_as_votes, way.agree_as_ballots) == (1, 2)
    assert [count.gap(way.overvotes) for count in counts] == [0, 0, 2]


def test_a_contest_without_its_undervotes_waits():
    assert unchecked(
        {"contests": [{"id": "SEN", "n": 1, "tapes": {"T1": {"ballots": 10, "votes": {"A": 9}, "over": 0}}}]}
    ) == {
        "stock": ["received", "unused", "tape"],
        "poll-book": ["poll_book", "tape"],
        "paper-to-book": ["received", "unused", "poll_book"],
        "stubs": ["stubs", "received", "unused"],
        "containers": ["containers"],
        "contest:SEN:T1": ["under"],
    }


def test_write_ins_by_machine_are_listed_others_no_name_and_ruled_out():
    """Identity of `trade.md` 4.5; an invalid write-in is a blank in Massachusetts (resident forum, 2013)."""
    tapes = {"M1": {"ballots": 431, "votes": {"A": 201, "B": 190}, "write_in": 12, "under": 26, "over": 2}}
    tally = {"listed": {"W1": 7}, "other": 2, "no_name": 2, "invalid": 1}

    assert gaps({"contests": [{"id": "SEN", "n": 1, "tapes": tapes, "write_in_tally": tally}]}) == {
        "contest:SEN:M1": 0,
        "write-ins:SEN": 0,
    }
    assert open_lines(
        {"contests": [{"id": "SEN", "n": 1, "tapes": tapes, "write_in_tally": {**tally, "other": 3}}]}
    ) == {"write-ins:SEN": -1}
    assert unchecked({"contests": [{"id": "SEN", "n": 1, "tapes": tapes}]})["write-ins:SEN"] == ["write_in_tally"]


def test_a_seal_is_compared_as_written():
    assert open_lines({"seals": [{"at": "case", "applied": "0412", "found": "412"}]}) == {"seals:case": 1}
    assert "0412" in explained({"seals": [{"at": "case", "applied": "0412", "found": "412"}]}).lines[0].says


def test_a_seal_is_compared_with_the_last_one_applied_there():
    looks = [
        {"at": "case", "applied": "A1", "found": "A1"},
        {"at": "case", "applied": "A2"},
        {"at": "case", "found": "A2"},
        {"at": "door", "applied": "D1"},
    ]

    assert gaps({"seals": looks}) == {"seals:case": 0}
    assert unchecked({"seals": looks})["seals:door"] == ["found"]
    assert open_lines({"seals": [*looks, {"at": "case", "found": "A1"}]}) == {"seals:case": 1}


def test_seals_issued_are_applied_returned_or_damaged():
    assert open_lines({"seal_stock": {"issued": 20, "applied": 9, "damaged": 1, "returned": 10}}) == {}
    assert open_lines({"seal_stock": {"issued": 20, "applied": 9, "damaged": 1, "returned": 9}}) == {"seal-stock": 1}


def test_487_envelopes_become_480_ballots_in_batches():
    """Numbers of `trade.md` 9 (computed): received 487, rejected 6, empty 2, one double envelope."""
    sizes = [25] * 19 + [5]
    batches, before = [], 0
    for n, size in enumerate(sizes):
        batches.append(
            {
                "id": f"B{n + 1}",
                "tabulator": "A1",
                "envelopes": size,
                "ballots": size,
                "aside": 1 if n == 3 else 0,
                "counter": [before, before + size - (n == 3)],
            }
        )
        before = batches[-1]["counter"][1]
    board = {
        "carriers": {"received": 3, "opened": 3},
        "envelopes": {"received": 487, "rejected": 6, "empty": 2, "extra": 1, "held": 0},
        "batches": batches,
    }

    assert open_lines({"board": board}) == {} and gaps({"board": board})["envelopes"] == 0
    batches[5]["counter"][0] += 1
    assert open_lines({"board": board}) == {"batch:B6": 1, "batch:B6@B5": 1}


def test_the_counter_of_a_batch_goes_on_from_the_last_batch_of_that_tabulator_and_day():
    batches = [
        {"id": "B1", "tabulator": "A1", "day": "1", "ballots": 5, "counter": [0, 5]},
        {"id": "B2", "tabulator": "A2", "day": "1", "ballots": 5, "counter": [0, 5]},
        {"id": "B3", "tabulator": "A1", "day": "2", "ballots": 5, "counter": [0, 5]},
    ]

    assert not any("@" in id for id in gaps({"board": {"batches": batches}}))


def test_several_boxes_have_each_its_emergency_line():
    emergency = {"found": 7, "fed": 6, "hand_counted": 1, "left": 0}
    figures = {"boxes": [{"id": "X", "emergency": emergency}, {"id": "Y", "emergency": {**emergency, "left": 1}}]}

    assert {id: gap for id, gap in gaps(figures).items() if id.startswith("emergency")} == {
        "emergency@X": 0,
        "emergency@Y": -1,
    }


def test_opposite_gaps_of_one_room_are_paired_once():
    assert opposite_gaps({"P1": 1, "P2": -1, "P3": -1, "P4": 3, "P5": -3, "P6": 0}) == [
        ("P1", "P2", 1),
        ("P4", "P5", 3),
    ]


def test_a_gap_that_stands_by_itself_blocks_no_explanation():
    figures = night(poll_book=431, seals=[{"at": "case", "applied": "1", "found": "2"}])
    found = explained(figures)

    assert {line.id for line in found.gaps} == {"poll-book", "seals:case"}
    assert found.explanations[0].as_json()["because"] == [{"code": "not-checked-in", "ballots": 1}]
