"""A board's balance as it is read: headings, what to do, what agrees, what waits; every line has words for each."""

import pytest

from board.board_cast import FERRY_2, batch, board, ferry_2
from webapp.board.answer import answer
from webapp.precinct.balance import summary


def read(figures):
    """Heading, what stands under it, what agrees and what waits, as one text a part."""
    found = answer(figures)
    told = [
        f"{one.title}: {one.way}. {one.do} {' '.join(part.short for part in one.within)}".strip()
        for one in summary.open_lines(found)
    ]
    level = [f"{one.title}: {one.says}" for one in summary.level(found)]
    return summary.heading(found), told, level, [summary.lacking(one) for one in found.unchecked]


def test_a_board_that_agrees_is_told_in_a_few_words():
    heading, told, level, _ = read(FERRY_2)
    assert heading == "74 lines agree, 3 not checked yet" and told == []
    for words in (
        "Carriers: 3 received and opened",
        "Absentee list: 477, as the envelopes",
        "Envelopes: 476, as the batches",
        "Envelopes of batches: 19 of 19",
        "Batches: 42 of 42",
        "Batches of each tabulator: 474 by the counter and on the tape",
        "Ballots set aside: 9 settled or waiting",
        "The board as a whole: 476 out of the envelopes and accounted for",
    ):
        assert words in level, words


def test_an_open_batch_says_which_way_and_what_to_do():
    heading, told, _, _ = read(ferry_2(B012__aside=1))
    assert heading == "Two lines are off by 1, not all the same way; 3 lines are not checked yet"
    assert (
        told[0]
        == "Batch B012: 1 more fed or set aside than in the batch. Count this batch again before the next one begins."
    )


def test_a_counter_that_did_not_go_on_is_told_below_its_batch():
    _, told, _, _ = read(board(batch("B1", 25, (0, 25)), batch("B2", 25, (50, 75))))
    assert told[0].endswith("After B1: 50 against 25, 25 more before this batch than after the last.")


def test_what_waits_is_named_in_the_words_of_the_board():
    *_, lacking = read(ferry_2(problems=None))
    assert "The board as a whole: missing what became of the ballots set aside" in lacking
    *_, lacking = read(board(batch("B1", 25), envelopes={"received": [{"precinct": "F2", "n": 25}]}))
    assert "Batch B1: missing its public counter" in lacking


@pytest.mark.parametrize(
    "changes",
    [
        {"carriers": {"received": 3, "opened": 2}},
        {"list": 470},
        {"envelopes__held": 9},
        {"B001__ballots": 26},
        {"B001__counter": [3, 27]},
        {"problems": {"waiting": 9}},
        {"serials": {"first": 1, "next": 3}},
        {"D001__ballots": 6},
        {"G001__ballots": 3},
    ],
    ids=str,
)
def test_no_open_line_of_a_board_is_without_a_heading_or_something_to_do(changes):
    heading, told, _, _ = read(ferry_2(**changes))
    assert heading != "Every line agrees" and told
    assert all(line.count(": ") and line.endswith(".") and "  " not in line for line in told)
