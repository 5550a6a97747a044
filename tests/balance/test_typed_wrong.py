"""Figures typed wrong: R. B. Kester's clues (Accounting Theory and Practice vol. 1, chapter on the trial balance; `trade.md` 6) and slips of one key."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.balance.cast import because, mistake
from webapp.precinct.explain.explain import explained
from webapp.precinct.explain.mistake_sizes import slips

SWAPS = (
    (6394, 3694, 2700, 9),
    (514, 415, 99, 99),
    (735, 537, 198, 99),
    (981, 189, 792, 99),
    (512, 215, 297, 99),
    (5174, 4175, 999, 999),
    (6392, 2396, 3996, 999),
    (7081, 1087, 5994, 999),
)


def slipped(written: int, true: int) -> bool:
    """The same question asked digit by digit: two swapped, one misread, one dropped, or all slid by one place."""
    w, t = str(written), str(true)
    if len(w) == len(t):
        differs = [i for i, (a, b) in enumerate(zip(w, t)) if a != b]
        return len(differs) == 1 or (
            len(differs) == 2 and w[differs[0]] == t[differs[1]] and w[differs[1]] == t[differs[0]]
        )
    if len(t) == len(w) + 1:
        return any(t[:i] + t[i + 1 :] == w for i in range(len(t)))
    return len(w) == len(t) + 1 and w == t + "0"


@pytest.mark.parametrize(("true", "written", "difference", "divisor"), SWAPS)
def test_kesters_swaps_are_divisible_and_are_found(true, written, difference, divisor):
    assert abs(true - written) == difference and difference % divisor == 0
    assert slipped(written, true) and slipped(true, written)
    assert true in slips(written) and written in slips(true)


@pytest.mark.parametrize(("true", "written"), SWAPS and [(swap[0], swap[1]) for swap in SWAPS])
def test_a_swap_in_the_check_ins_is_among_the_answers(true, written):
    figures = {"poll_book": written, "tabulators": [{"id": "T1", "tape": true}]}

    assert [mistake("miskeyed", figure="poll_book", likely=true)] in because(figures)


def test_a_slide_of_one_place_is_nine_times_the_figure_as_misplaced():
    """Kester: 45 as 450 -> 405 / 9 = 45 (for counts; the book's own case is 736 as 73.60)."""
    assert (450 - 45) // 9 == 45 and slipped(450, 45) and slipped(45, 450)


def test_a_digit_misread_dropped_or_put_behind_is_one_slip_and_two_are_none():
    """Common practice, no source."""
    assert (
        slipped(431, 437)
        and slipped(43, 431)
        and slipped(31, 431)
        and slipped(41, 431)
        and slipped(4310, 431)
        and slipped(43, 430)
    )
    assert not slipped(431, 431) and not slipped(431, 477) and not slipped(4319, 431) and not slipped(431, 43)


def test_no_figure_that_should_stand_has_a_leading_zero():
    assert 42 not in slips(142) and not slipped(42, 1042) and slipped(0, 10) and slipped(5, 0)
    assert all(str(true) == str(int(str(true))) for true in slips(105))


@given(st.integers(0, 99_999), st.integers(0, 99_999))
def test_the_list_of_slips_and_the_question_whether_one_agree(written, true):
    assert slipped(written, true) == (true in slips(written))


@given(st.integers(10, 99_999), st.data())
def test_every_swap_of_two_digits_is_divisible_by_nine(n, data):
    """Kester: a difference not divisible by 9 rules a single swap out."""
    digits = list(str(n))
    i, j = sorted(data.draw(st.lists(st.integers(0, len(digits) - 1), min_size=2, max_size=2, unique=True)))
    digits[i], digits[j] = digits[j], digits[i]
    swapped = int("".join(digits))

    assert (n - swapped) % 9 == 0
    if digits[0] != "0" and swapped != n:
        assert slipped(n, swapped)


def test_a_figure_put_on_the_wrong_side_shows_as_twice_itself():
    """Kester: an even difference, look for an entry of half of it (800 -> 400). Here 4 spoiled ballots added instead of subtracted: off by 8."""
    found = explained(
        {
            "stock": {"received": 500, "unused": 88},
            "set_aside": {"spoiled": 4},
            "tabulators": [{"id": "T1", "tape": 400}],
        }
    )

    assert found.gaps[0].gap == 8 == 2 * 4
