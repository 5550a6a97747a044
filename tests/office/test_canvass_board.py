"""How places stand at the canvass. Michigan's audit of the worst 136 precincts of Detroit in 2016: over 128, under 88, net 40, gross 216 (MI-2017,
Detroit News 2017); the amended recount rule, Mich. Comp. Laws 168.871 and R 168.910: any one of book, tape and canvass."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.matrix import examples
from webapp.office.questions.canvass_board import (
    LINES,
    CanvassBoard,
    LineGap,
    OverUnder,
    Pair,
    PlaceComparison,
    agree,
    pairs,
    three,
)
from webapp.office.received.place_states import NO_FIGURES, SHOWN, States
from webapp.precinct.balance.balance import balance


def place(id, poll=0, stock=0, room="", parts=()):
    gaps = [LineGap(line, n, True) for line, n in (("stock", stock), ("poll-book", poll), *parts) if n]
    return PlaceComparison(id, id, room, "1", 300, 0, 300 + poll, 300, None, tuple(gaps))


def test_over_and_under_are_reported_net_and_gross():
    board = OverUnder("poll-book", 128, 88, 136)
    assert (board.net, board.gross) == (40, 216)
    assert round(board.gross / 250_000 * 100, 4) == 0.0864  # published as 0.08 %


@pytest.mark.parametrize(
    ("three_numbers", "words"),
    [
        ((300, 300, 300), "book, tape and paper agree"),
        (
            (307, 307, 52),
            "book and tape agree; the paper has 255 fewer",
        ),  # Detroit precinct 152 in 2016 (Free Press): 307 in the book, 52 in the container
        (
            (531, 531, 504),
            "book and tape agree; the paper has 27 fewer",
        ),  # Prince William, precinct 612, 2022, before the second hand count
        ((301, 300, 300), "tape and paper agree; the book has 1 more"),
        ((300, 299, 300), "book and paper agree; the tape has 1 fewer"),
        ((301, 300, 298), "no two of them agree: the book 3 more than the paper; the tape 2 more than the paper"),
        ((300, 300, None), "book and tape agree; the paper was not counted"),
        ((301, 300, None), "the book 1 more than the tape; the paper was not counted"),
        ((None, None, None), "book, tape and paper cannot be compared yet"),
    ],
)
def test_which_of_book_tape_and_paper_agree_is_said_and_how_the_third_differs(three_numbers, words):
    assert agree(*three_numbers) == words


def test_the_three_numbers_are_the_tapes_and_what_its_lines_are_off_by():
    """Voters who left stand in the book and on no tape, so the book is held against what should be on the tape."""
    figures = {
        "poll_book": 310,
        "set_aside": {"left": 2},
        "tabulators": [{"id": "T1", "tape": 307}],
        "containers": [{"id": "C1", "ballots": 52}],
    }
    assert three(balance(figures), 307) == (308, 307, 52)


def test_paper_is_counted_out_of_every_bin_or_not_at_all():
    figures = {
        "poll_book": 200,
        "tabulators": [
            {"id": "T1", "counter_at_zero": 0, "counter_at_close": 100, "tape": 100, "bins": {"main": 99}},
            {"id": "T2", "counter_at_zero": 0, "counter_at_close": 100, "tape": 100},
        ],
    }
    assert three(balance(figures), 200) == (200, 200, None)
    figures["tabulators"][1]["bins"] = {"main": 100}
    assert three(balance(figures), 200) == (200, 200, 199)


def test_opposite_gaps_of_one_room_are_a_pair_and_those_of_two_rooms_are_none():
    """Example 21 of the trade's notes, from a Michigan clerk's statement (Detroit News 2020): one precinct -1, the other +1, one room."""
    found = pairs(
        [
            place("A", 1, room="Lantern Street 12"),
            place("B", -1, room="Lantern Street 12"),
            place("C", -1, room="Mill Lane 3"),
            place("D", 1),
        ]
    )
    assert [(pair.room, pair.line, pair.more, pair.less, pair.n) for pair in found] == [
        ("Lantern Street 12", "poll-book", "A", "B", 1)
    ]
    assert (
        found[0].says == "A has 1 more check-in than ballots, B as many fewer: look for ballots of A among those of B"
    )


def test_two_places_of_one_name_in_one_room_are_told_apart_by_their_ids():
    one, other = (
        replace(place(id, n, room="Harrow Mill school"), name="Harrow Mill school")
        for id, n in (("HM4", 1), ("HM5", -1))
    )
    assert (
        [(pair.more, pair.less) for pair in pairs([one, other])]
        == [("Harrow Mill school (HM4)", "Harrow Mill school (HM5)")]
        == [(pair.more, pair.less) for pair in CanvassBoard([one, other]).opposite()]
    )


def test_two_precincts_of_one_place_off_by_one_each_way_are_a_pair_though_the_place_balances():
    found = pairs([place("A", parts=(("poll-book@P3", 1), ("poll-book@P4", -1)))])
    assert [(pair.more, pair.less, pair.n) for pair in found] == [("A, P3", "A, P4", 1)]


def test_each_gap_stands_in_one_pair_at_most():
    found = pairs(
        [
            place("A", 2, room="X"),
            place("B", -2, room="X"),
            place("C", -2, room="X"),
            place("D", 0, 3, room="X"),
            place("E", 0, -3, room="X"),
        ]
    )
    assert [(pair.line, pair.more, pair.less) for pair in found] == [("poll-book", "A", "B"), ("stock", "D", "E")]


def test_a_pair_says_its_number_and_which_way():
    assert Pair("X", "stock", "A", "B", 2).says.startswith(
        "A has 2 more ballots drawn than accounted for, B as many fewer"
    )


@settings(max_examples=examples(200), deadline=None)
@given(
    st.lists(
        st.tuples(
            st.sampled_from("ABCDEF"),
            st.integers(-3, 3),
            st.integers(-2, 2),
            st.sampled_from(("", "X", "Y")),
            st.booleans(),
        ),
        max_size=25,
    )
)
def test_a_board_kept_up_place_by_place_is_the_board_of_all_at_once(moves):
    kept, now = CanvassBoard(), {}
    for name, poll, stock, room, goes in moves:
        if goes:
            kept.take(name)
            now.pop(name, None)
        else:
            now[name] = place(name, poll, stock, room)
            kept.put(now[name])
    off = [one for one in now.values() if one.gaps]
    assert {one.place for one in kept.off()} == {one.place for one in off} and kept.count_off == len(off)
    for line in LINES:
        gaps = [one.gap(line) for one in now.values() if one.gap(line)]
        assert kept.over_under(line) == OverUnder(
            line, sum(-n for n in gaps if n < 0), sum(n for n in gaps if n > 0), len(gaps)
        )
    assert sorted(map(repr, kept.opposite())) == sorted(
        map(repr, pairs(sorted(now.values(), key=lambda one: one.place)))
    )


def test_places_without_a_remark_stand_first_then_those_with_the_most_lines_off():
    bare = PlaceComparison("Z", "Z", "", "1", 300, 0, 301, 300, None, (LineGap("poll-book", 1, False),))
    board = CanvassBoard([place("A", 1), place("B", 1, 1), bare])
    assert [one.place for one in board.off()] == ["Z", "B", "A"] and board.silent == 1


MARKS = {"expected": "awaited", "gap": "gaps", "look": "look", "done": "in", "half": "in"}


@settings(max_examples=examples(100), deadline=None)
@given(st.lists(st.tuples(st.sampled_from("ABCDE"), st.sampled_from((*MARKS, "goods")), st.booleans()), max_size=20))
def test_states_are_counted_and_listed_as_they_change(moves):
    """A place whose ballots and voters are off also stands among those with a gap, whatever else is open there."""
    states, now = States("ABCDE"), {}
    for name, mark, off in moves:
        states.put(name, ("expected", NO_FIGURES) if mark == "goods" else (mark, ""), off)
        now[name] = {"goods" if mark == "goods" else MARKS[mark], *(("gaps",) if off else ())}
    for key in SHOWN:
        listed = [name for name in "ABCDE" if key in now.get(name, ())]
        assert states.some(key, 0, 9) == listed and states.counts()[key] == len(listed)
    assert states.stale == set("ABCDE") - now.keys()
