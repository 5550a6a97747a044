"""The least number of ballots: a table worked out by hand, and the formula for totals 1 to n."""

from itertools import combinations, product

import pytest

from deck.cast import BOND, MAYOR, contest, deck_of
from webapp.deck.totals import least_totals, least_window, window

TABLE = [
    # choices, lines, n, totals with the lines last, their sum, least ballots
    (2, 0, 1, (1, 2), 3, 3),
    (3, 0, 1, (1, 2, 3), 6, 6),
    (3, 1, 1, (2, 3, 4, 1), 10, 10),
    (4, 2, 2, (3, 4, 5, 6, 1, 1), 20, 10),
    (5, 0, 2, (1, 2, 3, 4, 5), 15, 8),
    (8, 1, 1, (*range(2, 10), 1), 45, 45),
    (8, 3, 3, (2, 4, 5, 6, 7, 8, 9, 10, 1, 1, 1), 54, 18),
    (12, 4, 4, (2, 3, *range(5, 15), 1, 1, 1, 1), 104, 26),
    (12, 1, 1, (*range(2, 14), 1), 91, 91),
]
"""Worked out by hand from the rule: figures of a contest all differ, choices rise, lines are alike and fewest."""


@pytest.mark.parametrize("choices, lines, n, totals, marks, ballots", TABLE)
def test_one_contest_needs_as_many_ballots_as_the_table_says(choices, lines, n, totals, marks, ballots):
    assert least_totals(choices, lines) == totals
    assert sum(totals) == marks
    assert window(totals, n) == ballots
    names = " ".join(f"c{i}" for i in range(choices))
    assert deck_of(contest("C", names, lines, n)).pattern == {"1": ballots}


@pytest.mark.parametrize(
    "n, allowed, marks, ballots, under", [(3, 1, 6, 6, 0), (4, 2, 10, 5, 0), (5, 1, 15, 15, 0), (5, 2, 15, 8, 1)]
)
def test_totals_from_one_to_n_follow_the_formula(n, allowed, marks, ballots, under):
    """M = n(n + 1) / 2 marks, max(n, ceil(M / N)) ballots, N x ballots - M undervotes; with one overvoted and one blank ballot
    the tape's sum is N x ballots again. Worked out for this project."""
    totals = tuple(range(1, n + 1))
    assert sum(totals) == n * (n + 1) // 2 == marks
    assert window(totals, allowed) == max(n, -(-marks // allowed)) == ballots
    assert allowed * ballots - marks == under
    with_two_more = ballots + 2
    assert marks + (under + allowed) + allowed == allowed * with_two_more


def test_contests_of_one_shape_need_unlike_totals():
    """30 rising pairs with sum at most 12: 1+2, 1+3, 1+4, 2+3 ... counted by hand."""
    pairs = sorted((a + b, a, b) for b in range(1, 13) for a in range(1, b))
    assert pairs[29][0] == 12
    assert least_window([contest(f"M{i}", "YES NO") for i in range(30)]) == 12
    assert least_window([contest(f"U{i}", "A") for i in range(20)]) == 20


def test_the_least_of_a_style_adds_the_ballots_that_no_pattern_row_can_be():
    assert deck_of(MAYOR, BOND).as_json()["styles"][0]["minimum"] == 10 + 3
    assert deck_of(MAYOR, BOND, folded=False).as_json()["styles"][0]["minimum"] == 10 + 2
    assert deck_of(contest("COUNCIL", "ABCD", 2, n=2)).as_json()["styles"][0]["minimum"] == 13
    assert deck_of(contest("ONLY", "A")).as_json()["styles"][0]["minimum"] == 1 + 2, "nothing can be overvoted"


def test_the_least_with_straight_party_is_what_trying_every_rising_list_gives():
    """Every list of rising totals of up to four choices is tried: lines alike and fewest, all figures different with and without the
    straight votes (2 for the first party, 3 for the second), and the window worked out by the formula above. None needs fewer ballots."""
    party = {"M": 2, "P": 3}
    for parties, lines, n in product(
        (("M", "P"), ("P", "M"), ("M", "P", ""), ("M", "", "P", ""), ("P", "M", "", ""), ("", "M", "", "P")),
        (0, 1, 2),
        (1, 2),
    ):
        given = [party.get(p, 0) for p in parties]
        if n > 1 and (parties.count("M") > n or parties.count("P") > n):
            continue
        least = min(_ballots(totals, given, lines, n) for totals in combinations(range(1, 14), len(parties)))
        one = contest("C", " ".join(f"c{i}" for i in range(len(parties))) + " ", lines, n, parties)
        assert least_window([one], ("M", "P")) == least, (parties, lines, n)


def _ballots(totals, given, lines, n):
    """Ballots that these totals of the choices need with lines of one vote each; beyond any deck where figures are alike."""
    written = [lines] if lines else []
    for figures in (list(totals), [a + b for a, b in zip(totals, given, strict=True)]):
        if len({*figures, *written}) < len(figures) + len(written) or (lines and min(totals) <= 1):
            return 999
    marks = sum(totals) + lines
    return max(max(totals), lines, -(-marks // n))
