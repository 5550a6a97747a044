"""The numbers of open batches, held on simulated board days that the product has never seen.

Rates are measured on some hundred days (2,000 with `python3 tests --all`), so each is held less three standard deviations of its sample; the whole measure, 2,000 days with every code and
the misses spelled out, is `python tests/board/hit_rates.py`. What may never happen is held at none.
"""

from math import sqrt

import pytest

from board.days import a_day
from board.hit_rates import Tally, clean_days, mistaken_days
from board.judge import adds_up, lines, same_set, verdict, wrong_lines
from tests.matrix import ALL
from webapp.board.answer import answer
from webapp.board.batch_explain import open_batches, sets
from webapp.board.batch_rows import Batches
from webapp.board.possible_batch_mistakes import PossibleMistakes
from webapp.precinct.balance.figure_board import read_board

SEED = 20_000
CLEAN, MISTAKEN = (2000, 2000) if ALL else (80, 60)


def least(rate: float, tally: Tally) -> float:
    """The rate, less what a sample of this size may be short of it by chance."""
    n = tally.asked["all"]
    return rate - 3 * sqrt(rate * (1 - rate) / n)


@pytest.fixture(scope="module")
def one() -> Tally:
    return mistaken_days(MISTAKEN, 1, SEED)


@pytest.fixture(scope="module")
def two() -> Tally:
    return mistaken_days(MISTAKEN, 2, SEED)


def test_a_day_without_mistakes_raises_no_alarm_and_every_line_is_as_worked_out_here():
    assert clean_days(CLEAN, SEED).faults == []


def test_no_answer_fails_to_add_up_no_open_batch_is_left_out_and_no_day_crashes(one, two):
    assert one.faults == []
    assert two.faults == []


def test_one_mistake_has_an_answer_as_good_as_the_truth_among_the_first_three(one):
    assert one.share(one.as_good) >= least(0.97, one)


def test_two_mistakes_have_an_answer_as_good_as_the_truth_among_the_first_three(two):
    assert two.share(two.as_good) >= least(0.90, two)


def test_rare_mistakes_are_explained_as_well_as_common_ones():
    rare = mistaken_days(60 if ALL else 30, 1, SEED, even=True)

    assert rare.faults == []
    assert rare.share(rare.as_good) >= least(0.97, rare)


def test_a_true_single_mistake_is_never_ruled_out():
    """Without the limit of five, the very mistake (or its twin) stands among the sets of its group."""
    missed = []
    for seed in range(SEED, SEED + (100 if ALL else 40)):
        day = a_day(seed, 1, even=True)
        found = answer(day.figures)
        batches = Batches(read_board(day.figures["board"]).batches, found.lines)
        alone = {}
        for group in batches.groups:
            for row, gap in group.gaps.items():
                alone.setdefault(gap, []).append(row.batch)
        for group in batches.groups:
            told = [[m.as_json() for m in found] for found in sets(PossibleMistakes(batches, group, alone), group)]
            if not any(same_set(one, day.truth) for one in told):
                missed.append((seed, day.truth, group.ids))
    assert missed == []


def test_an_answer_without_explanations_gives_the_same_groups():
    day = a_day(SEED + 5, 2)
    found = answer(day.figures)
    plain = open_batches(read_board(day.figures["board"]).batches, found.lines, explain=False)
    assert [group.ids for group in plain] == [group.ids for group in found.batches]
    assert not any(group.explanations for group in plain)


def test_the_judge_finds_an_answer_that_does_not_add_up():
    day = a_day(SEED + 1, 1)
    out = answer(day.figures).as_json()
    group = out["batches"][0]
    wrong = [{"code": "not-fed", "batch": group["ids"][0], "ballots": 977}]
    assert not adds_up(day.figures, group, wrong)
    group["explanations"] = [{"because": wrong, "says": "", "look": "", "tie": 1}]
    assert verdict(day.figures, day.truth, out).faults and verdict(day.figures, day.truth, out).as_good == 0


def test_the_judge_finds_a_line_that_is_wrong_and_an_open_batch_left_out():
    day = a_day(SEED + 1, 1)
    out = answer(day.figures).as_json()
    assert wrong_lines(day.figures, out) == [] and len(lines(day.figures)) > 8
    next(line for line in out["lines"] if line["id"] == "board")["gap"] += 1
    assert len(wrong_lines(day.figures, out)) == 1
    del out["batches"]
    assert "open here" in verdict(day.figures, day.truth, out).faults[0]


def test_twins_stand_for_each_other_but_sizes_do_not():
    left, empty = ({"code": code, "batch": "B1", "ballots": 2} for code in ("left-in-envelope", "empty-unlogged"))
    assert same_set([empty], [left])
    assert not same_set([empty | {"ballots": 1}], [left])
