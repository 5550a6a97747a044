"""A corrected contest moves by N for each ballot that was added, and by nothing where the ballots are the same.

Votes + undervotes + overvotes = ballots x N: NIST/EAC logic model of the draft VVSG, as in `tests/balance/test_published_formulas.py`.
"""

import pytest

from tests.canvass.county import GOV
from webapp.canvass.corrected_return import CorrectedFigure, added_in_words, out_of_step
from webapp.precinct.place.place import Choice, Contest

TOWN = Contest("TOWN", "Town council", 2, (Choice("K", "Kay"), Choice("L", "Lee")))
WAS = {"GOV": (101, 98, 4, 8, 1, 212), "TOWN": (200, 190, None, 30, 4, 212)}


def step(after, added=0, contests=(GOV, TOWN), overvotes="votes"):
    return out_of_step(WAS, WAS | after, contests, overvotes, added)


def test_two_votes_that_move_over_the_same_ballots_are_in_step():
    assert step({"GOV": (103, 96, 4, 8, 1, 212)}) == [] and step({}) == []


def test_votes_that_appear_over_the_same_ballots_are_named_with_both_figures():
    (found,) = step({"GOV": (103, 98, 4, 8, 1, 212)})
    assert found == (
        "Governor: votes, undervotes and overvotes together move by +2; its ballots move by +0, which makes +0."
    )


def test_ballots_that_were_added_bring_n_votes_each():
    assert step({"GOV": (103, 98, 4, 8, 1, 214), "TOWN": (202, 191, None, 31, 4, 214)}, 2) == []
    assert step({"GOV": (103, 98, 4, 8, 1, 214), "TOWN": (202, 191, None, 30, 4, 214)}, 2) != []
    assert step({"GOV": (100, 98, 4, 8, 1, 211)}, -1) == []


def test_a_contest_that_the_added_ballots_do_not_carry_stays_as_it_is():
    assert step({"GOV": (103, 98, 4, 8, 1, 214)}, 2) == []


def test_other_ballots_than_were_said_to_be_added_are_named():
    (found,) = step({"GOV": (104, 98, 4, 8, 1, 215)}, 2)
    assert found == "Governor: its ballots move by +3, and you say: 2 ballots more."
    assert "the same ballots" in step({"GOV": (102, 98, 4, 8, 1, 213)})[0]


def test_a_tape_without_ballots_of_the_contest_is_held_against_those_that_were_added():
    was = {"GOV": (101, 98, 4, 8, 1, None)}
    assert out_of_step(was, {"GOV": (103, 98, 4, 8, 1, None)}, [GOV], "votes", 2) == []
    assert out_of_step(was, {"GOV": (103, 98, 4, 8, 1, None)}, [GOV], "votes", 0) != []


def test_overvotes_are_held_by_the_convention_of_the_place():
    after = {"TOWN": (198, 190, None, 30, 5, 212)}
    assert step(after, overvotes="ballots") == [] and step(after) != []


@pytest.mark.parametrize("row", ((103, 98, 4, None, 1, 212), (103, 98, 4, 8, None, 212)))
def test_a_contest_without_undervotes_or_overvotes_cannot_be_held(row):
    assert step({"GOV": row}) == []


def test_how_many_ballots_were_added_is_said_in_words():
    assert [added_in_words(n) for n in (0, 1, -2)] == ["the same ballots", "1 ballot more", "2 ballots fewer"]
    assert CorrectedFigure("votes/GOV/A", "Governor, Ada Marsh", None, 4).apart == 4
