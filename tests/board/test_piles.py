"""The piles of a count board at its close, counted before anybody looked, are held against the record: in the balance, in its words, and in the packet.

That two figures come from two sources (a count and a log) before they are compared is common practice; the piles are those of `board.md` 7, `board-counts`.
"""

from copy import deepcopy

import pytest

from board.board_cast import FERRY_2, lines, said
from webapp.board.answer import answer
from webapp.office.checking.packet_schema import board_part
from webapp.packet import board_core
from webapp.precinct.balance.balance import balance
from webapp.precinct.balance.figure_rows import Unreadable

TRUE = {"empty": 2, "held": 4, "not-counted": 0, "hand-counted": 1, "originals": 5, "tallied": 1}


def ferry(**piles):
    found = deepcopy(FERRY_2)
    found["board"]["piles"] = {**TRUE, **piles}
    return found


def test_piles_as_the_record_says_leave_the_board_balanced():
    found = answer(ferry())
    assert found.balanced and found.complete
    assert {line.id for line in found.lines if line.id.startswith("pile:")} == {
        f"pile:{key}" for key in TRUE if key != "tallied"
    }
    assert lines(ferry())["hand-tally"] == (1, 1, 0)


@pytest.mark.parametrize(
    ("pile", "counted", "line", "gap", "words"),
    [
        ("empty", 3, "pile:empty", -1, "empty envelopes: 2 by the record, 3 in the pile: 1 more in the pile than by the record."),
        ("held", 2, "pile:held", 2, "envelopes held: 4 by the record, 2 in the pile: 2 more by the record than in the pile."),
        ("not-counted", 1, "pile:not-counted", -1, "1 more in the pile"),
        ("hand-counted", 0, "pile:hand-counted", 1, "1 more by the record"),
        ("originals", 4, "pile:originals", 1, "originals of duplicates: 5 by the record, 4 in the pile"),
        ("tallied", 0, "hand-tally", 1, "1 more settled as counted by hand than on the sheets"),
    ],
)  # fmt: skip
def test_a_pile_that_is_another_is_said(pile, counted, line, gap, words):
    figures = ferry(**{pile: counted})
    assert lines(figures)[line][2] == gap and not answer(figures).balanced
    assert words in said(figures)[line]


def test_counts_that_do_not_become_equal_are_told():
    figures = ferry(held={"counts": [5, 4]})
    assert "(5, 4)" in said(figures)["pile:held"] and answer(figures).balanced


def test_a_pile_that_nobody_counted_draws_no_line():
    figures = ferry()
    figures["board"]["piles"] = {"empty": 2}
    assert [line for line in lines(figures) if line.startswith(("pile:", "hand-tally"))] == ["pile:empty"]


def test_another_pile_is_no_key():
    with pytest.raises(Unreadable, match="board.piles.bent"):
        balance(ferry(bent=1))


def test_a_packet_carries_the_piles_and_the_desk_draws_them_again():
    part = board_core.part(ferry(held={"counts": [5, 4]}, empty=3), [])["board"]
    assert part["piles"] == {**TRUE, "empty": 3} and board_part(part)
    again = board_core.figures({"board": part, "tabulators": [{"id": "A1"}]})
    assert lines(again)["pile:empty"] == (2, 3, -1)
    assert not board_part({**part, "piles": 3}) and not board_part({**part, "list": [1]})
