"""A figure that cannot be does not take the whole balance away: it is left out, said, and comes back when it is corrected."""

import pytest

from webapp.precinct.account.impossible_figures import possible
from webapp.precinct.balance.balance import Unreadable, balance
from webapp.precinct.explain.explain import explained

BOOK = "20:22 book-count check_ins.P4 432 by Calloway, Renn\n20:45 tape-typed T1 ballots.P4 432 by Calloway, Renn\n"


@pytest.mark.parametrize(
    "told, said",
    [
        ("20:20 unused unused.4A 1960 by Calloway, Renn", "1,960 ballots are unused and 1,400 ballots came"),
        (
            "06:00 packs masters 970 by Calloway, Vance\n20:20 unused unused.4A 960 by Calloway, Renn",
            "970 held back is more than the 960 unused",
        ),
        (
            "15:10 resupply style 4A ballots 60 origin copy by Vance, Pellow\n20:20 unused unused.4A 960 copies_unused 66 by Calloway, Renn",
            "66 unused is more than the 60",
        ),
    ],
)
def test_the_other_lines_are_drawn_all_the_same(day_of, told, said):
    day = day_of(told + "\n" + BOOK)

    assert said in day.impossible[0]
    assert [0] == [line.gap for line in day.balance.lines if line.id == "poll-book"]


def test_a_possible_day_has_nothing_to_say(day_of):
    assert () == day_of(BOOK).impossible


def test_what_is_left_out_is_the_smallest_part_that_is_refused():
    figures, said, _ = possible({"stock": {"received": 100, "unused": 90, "held_back": 95}, "poll_book": 10})

    assert {"stock": {"received": 100, "unused": 90}, "poll_book": 10} == figures
    assert 1 == len(said)


def test_a_row_without_its_number_goes_as_a_row():
    figures, _, _ = possible({"stock": {"received": [{"style": "3A", "n": 10}, {"style": "4B"}]}})

    assert {"stock": {"received": [{"style": "3A", "n": 10}]}} == figures


def test_an_unknown_part_goes_as_a_part():
    assert ({"poll_book": 3}, 1) == (lambda found: (found[0], len(found[1])))(
        possible({"poll_book": 3, "weather": "fair"})
    )


def test_figures_that_are_none_at_all_are_refused_for_good():
    with pytest.raises(Unreadable):
        possible([])


def test_the_figures_of_a_day_are_always_readable(day_of):
    day = day_of(
        "20:20 unused unused.4A 1960 by Calloway, Renn\n20:22 book-count check_ins.P4 3 cancelled.P4 4 by Calloway, Renn\n"
        "20:45 tape-typed T1 ballots.P4 1 subtract 2 by Calloway, Renn"
    )

    assert 3 == len(day.impossible)
    explained(day.figures)


def test_the_lines_are_drawn_of_the_figures_as_they_were_read_and_are_those_of_the_figures_given_out(day_of):
    told = BOOK + "\n20:20 unused unused.4A 1960 by Calloway, Renn"
    day = day_of(told)

    assert day.impossible and {**balance(day.figures).as_json(), "ms": 0} == {**day.balance.as_json(), "ms": 0}
