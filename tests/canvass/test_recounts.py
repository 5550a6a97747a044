"""Recounts: which rows stand whatever the order they came in, what is asked before one, before and after line by line.

Whether ballots may be recounted: Mich. Comp. Laws 168.871 (as amended 2024 and 2025), as `trade.md` 8 has it: the seal and its number, then the number
of ballots against the poll book or the tabulator, or out by no more than was certified.
"""

import random

from tests.canvass.county import GOV
from webapp.canvass import recounts
from webapp.canvass.atoms import Atom
from webapp.canvass.recounts import Opening, Recounted, compared, conditions, in_force, rows_of

W3 = Atom("W3", "election-day")
WAS = (101, 98, 4, 8, 1, 212)
NOW = (102, 97, 4, 8, 1, 212)


def recounted(id: int, row=NOW, amends=(), contest="GOV", part=1) -> Recounted:
    ids = tuple(bytes([n]) for n in amends)
    return Recounted("W3", "election-day", part, {contest: row}, row[-1], b"\0" * 32, {}, ids, id, bytes([id]), id)


def test_a_recount_stands_for_its_own_contests_and_no_other():
    standing = in_force([recounted(1), recounted(2, contest="PROP", row=(90, 80, None, 2, 0, 172))])
    assert rows_of(standing, W3) == {"GOV": NOW, "PROP": (90, 80, None, 2, 0, 172)}
    assert rows_of(standing, Atom("W3", "absentee")) == {}


def test_two_recounts_of_one_contest_count_for_nothing_until_one_takes_the_place_of_both():
    two = [recounted(1), recounted(2, WAS)]
    assert rows_of(in_force(two), W3) == {}
    assert rows_of(in_force([*two, recounted(3, NOW, (1, 2))]), W3) == {"GOV": NOW}


def test_a_recount_of_another_contest_leaves_the_first_ones_row_as_it_is():
    standing = in_force([recounted(1), recounted(2, (9, 8, None, 0, 0, 17), (1,), "PROP")])
    assert rows_of(standing, W3)["GOV"] == NOW


def test_what_stands_is_a_function_of_the_set():
    rows = [
        recounted(1),
        recounted(2, WAS, (1,)),
        recounted(3, NOW, (1,)),
        recounted(4, NOW, (2,)),
        recounted(5, part=2),
    ]
    told = in_force(rows)
    for seed in range(20):
        random.Random(seed).shuffle(rows)
        assert in_force(rows) == told


def opening(ballots=(212, 212), right=True, papers=("book", "certificate")) -> Opening:
    return Opening("W3", "C1", "0412", right, papers, ballots)


def asked(one, frozen=None, now=None, **known):
    return [c.holds for c in conditions(one, known, frozen, now)]


def test_a_whole_seal_with_its_number_on_paper_and_ballots_that_agree_with_one_figure():
    assert asked(opening(), book=212, tape=211, canvass=211) == [True, True, True]
    assert asked(opening(papers=(), right=False), book=212) == [False, False, True]


def test_ballots_that_agree_with_nothing_are_held_against_what_was_certified():
    assert asked(opening((211, 211)), 1, -1, book=212, tape=212)[-1] is True
    assert asked(opening((210, 210)), 1, -2, book=212, tape=212)[-1] is False
    assert asked(opening((211, 211)), None, None, book=212)[-1] is False
    said = list(conditions(opening((210, 210)), {"book": 212}, 1, -2))[-1].says
    assert "Out by 2, more than the 1 that were certified" in said


def test_what_nobody_knows_is_not_decided():
    assert asked(None) == [None] and asked(opening((212, 211)), book=212)[-1] is None
    assert asked(opening())[-1] is None


def test_before_and_after_stand_line_by_line_with_the_difference():
    rows = compared(WAS, NOW, GOV)
    assert [(r.words, r.before, r.after, r.apart) for r in rows][:2] == [
        ("Ada Marsh", 101, 102, 1),
        ("Ben Orrin", 98, 97, -1),
    ]
    assert [r.words for r in compared(None, NOW, GOV)][-1] == "Ballots" and len(compared((None,) * 6, NOW, GOV)) == 6


def test_a_recounted_row_has_its_own_ballots_for_the_editions():
    assert recounts.figures((103, 97, 4, 8, 1, 213), GOV, 212).carried == 213
    assert recounts.figures((103, 97, 4, 8, 1, None), GOV, 213).carried == 213
