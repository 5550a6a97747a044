"""No gap leaves without a remark, and a remark speaks for the gap it was signed for (Mich. Compiled Laws 168.871; Rule 168.910 in the trade's notes)."""

import pytest

from day.cast import TWO

OFF = """
    20:20 unused unused.4A 965 by Calloway, Renn
    20:21 aside-counts spoiled.4A 2 provisional.other 0 drop_off 0 by Calloway, Renn
    20:22 book-count check_ins.P4 433 by Calloway, Renn
    20:45 tape-typed T1 ballots.P4 432 by Calloway, Renn
"""


def test_each_line_that_is_off_wants_a_remark(day_of):
    assert {"stock": 1, "poll-book": 1} == {
        line.name: line.gap for line in day_of(OFF).balance.gaps if line.id in ("stock", "poll-book")
    }
    assert ("stock", "poll-book") == day_of(OFF).unremarked[:2]


def test_a_remark_speaks_for_the_lines_it_names(day_of):
    day = day_of(OFF + '21:00 remark lines [stock] gaps [1] remark "cause unknown" by Calloway, Renn')

    assert "stock" not in day.unremarked
    assert "poll-book" in day.unremarked


def test_a_gap_that_changes_wants_a_new_remark(day_of):
    day = day_of(
        OFF + '21:00 remark lines [stock] gaps [1] remark "cause unknown" by Calloway, Renn\n'
        '21:05 correct 1 unused.4A 964 because "counted again" by Calloway, Renn'
    )

    assert "stock" in day.unremarked


def test_a_gap_that_is_mended_wants_none(day_of):
    day = day_of(OFF + '21:05 correct 3 check_ins.P4 432 because "read again" by Calloway, Renn')

    assert "poll-book" not in day.unremarked


def test_a_line_of_one_precinct_is_named_with_it(day_of):
    day = day_of(
        """
        20:22 book-count check_ins.P3 300 check_ins.P4 131 by Calloway, Renn
        20:45 tape-typed T1 ballots.P3 299 ballots.P4 132 by Calloway, Renn
        20:46 tape-typed T2 ballots.P3 0 ballots.P4 0 by Calloway, Renn
    """,
        TWO,
    )

    assert {"poll-book@P3": 1, "poll-book@P4": -1} == {
        line.name: line.gap for line in day.balance.gaps if line.id == "poll-book"
    }


@pytest.mark.parametrize("explain", [False, True])
def test_the_balance_is_worked_out_once_an_entry(day_of, explain):
    day = day_of(OFF)
    look = (lambda: day.explained) if explain else (lambda: day.balance)

    assert look() is look()


def test_cancelled_check_ins_are_taken_off_and_too_many_are_said(day_of):
    day = day_of(
        "20:22 book-count check_ins.P4 433 cancelled.P4 1 slips 432 by Calloway, Renn\n20:45 tape-typed T1 ballots.P4 432 by Calloway, Renn"
    )

    assert [0, 0] == [line.gap for line in day.balance.lines if line.id in ("poll-book", "voters:slips")]
    assert (
        day_of("20:22 book-count check_ins.P4 3 cancelled.P4 4 by Calloway, Renn")
        .impossible[0]
        .startswith("4 check-ins of P4 are cancelled and the book shows 3: 1 more")
    )
