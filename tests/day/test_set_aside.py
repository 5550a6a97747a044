"""Notes of ballots against envelopes at the close: what was noted and what was counted stand side by side, and the envelope counts."""

from day.cast import CHALLENGED, IN_BOOK, TWO
from day.story import HARROW
from webapp.precinct.account import figures_of_day


def aside(day):
    return figures_of_day.checked(day.place, day).figures["set_aside"]


def test_during_the_day_the_notes_are_all_there_is(day_of):
    day = day_of("""
        08:20 spoiled ballots 1 style 4A reissued yes by Pellow
        08:30 spoiled ballots 1 style 4A reissued no by Pellow
        09:00 taken ballots 1 style 4A book P4 by Pellow
        09:10 found ballots 1 style 4A where booth by Vance, Renn
    """)

    assert {"spoiled": 1, "spoiled-not-reissued": 2, "provisional": 0, "left": 0, "taken": 1, "emergency": 0} == aside(
        day
    )


def test_a_found_ballot_becomes_what_the_place_file_says(day_of):
    day = day_of("09:10 found ballots 1 style 4A where booth by Vance, Renn", IN_BOOK)

    assert (1, 0) == (aside(day)["emergency"], aside(day)["spoiled-not-reissued"])


def test_the_envelope_holds_both_sorts_of_spoiled_and_the_notes_tell_them_apart(day_of):
    day = day_of("""
        08:20 spoiled ballots 1 style 4A reissued yes by Pellow
        08:30 spoiled ballots 1 style 4A reissued no by Pellow
        20:20 aside-counts spoiled.4A 3 provisional.other 0 drop_off 0 by Calloway, Renn
    """)

    assert {"logged": 1, "counts": [2]} == aside(day)["spoiled"]
    assert {"logged": 1, "counts": [1]} == aside(day)["spoiled-not-reissued"]


def test_an_envelope_with_less_than_was_noted_loses_nothing(day_of):
    day = day_of("""
        08:30 spoiled ballots 2 style 4A reissued no by Pellow
        20:20 aside-counts spoiled.4A 1 provisional.other 0 drop_off 0 by Calloway, Renn
    """)

    assert {"logged": 2, "counts": [1]} == aside(day)["spoiled-not-reissued"]
    assert -1 == next(line.gap for line in day.balance.lines if line.id == "aside:spoiled-not-reissued")


def test_several_counts_of_one_envelope_stay_in_order(day_of):
    day = day_of(
        "20:20 aside-counts spoiled.4A [14,13,13] provisional.other 2 provisional.after-hours 1 drop_off 0 by Calloway, Renn"
    )

    assert {"logged": 0, "counts": [14, 13, 13]} == aside(day)["spoiled"]
    assert {"logged": 0, "counts": [3]} == aside(day)["provisional"]


def test_cards_are_told_from_paper_by_the_notes(day_of):
    day = day_of("""
        08:20 spoiled ballots 1 style 4A origin card reissued yes by Pellow
        08:30 spoiled ballots 1 style 4A origin paper reissued yes by Pellow
        20:20 aside-counts spoiled.4A 2 provisional.other 0 drop_off 0 by Calloway, Renn
    """)

    assert [{"origin": "card", "n": {"logged": 1, "counts": [1]}}, {"n": {"logged": 1, "counts": [1]}}] == aside(day)[
        "spoiled"
    ]


def test_a_place_of_two_styles_keeps_them_apart(day_of):
    day = day_of(
        """
        08:20 spoiled ballots 1 style 3A reissued yes by Pellow
        08:30 provisional ballots 1 style 4B by Pellow
        08:40 left ballots 1 book P4 by Pellow
        20:20 aside-counts spoiled.3A 1 spoiled.4B 0 provisional.other 1 drop_off 0 by Calloway, Renn
    """,
        TWO,
    )

    assert [{"precinct": "P3", "style": "3A", "n": {"logged": 1, "counts": [1]}}] == aside(day)["spoiled"]
    assert [{"precinct": "P4", "style": "4B", "n": {"logged": 1, "counts": [1]}}] == aside(day)["provisional"]
    assert [{"precinct": "P4", "n": 1}] == aside(day)["left"]


def test_an_envelope_that_the_notes_do_not_explain_stands_in_a_row_of_its_own(day_of):
    day = day_of(
        """
        08:30 provisional ballots 1 style 4B by Pellow
        20:20 aside-counts spoiled.3A 0 spoiled.4B 0 provisional.other 3 drop_off 0 by Calloway, Renn
    """,
        TWO,
    )

    assert {"n": {"logged": 0, "counts": [2]}} == aside(day)["provisional"][-1]


def test_a_kind_of_the_place_file_is_counted_at_the_close(day_of):
    day = day_of(
        "20:20 aside-counts spoiled.4A 0 provisional.other 0 drop_off 0 others.challenged 2 by Calloway, Renn",
        CHALLENGED,
    )

    assert 2 == aside(day)["challenged"]
    assert {
        "id": "challenged",
        "from_stock": True,
        "in_poll_book": True,
        "counted": True,
        "in_bin": True,
    } in figures_of_day.checked(CHALLENGED, day).figures["dispositions"]


def test_emergency_bins_give_what_is_left_and_what_was_counted_by_hand(day_of):
    """Bridgeport 2010: copies made on the spot are counted by hand and stand apart (CT-174a-18 in the trade's notes)."""
    day = day_of("""
        15:00 emergency-plus X1 ballots 1 style 4A by Pellow
        20:22 emergency-opened X1 ballots_found 7 fed 2 hand_counted 4 copies_by_hand 3 left 1 by Calloway, Renn
    """)

    assert 1 == aside(day)["emergency"]
    assert [{"n": 1}, {"origin": "copy", "n": 3}] == aside(day)["hand-counted"]


def test_notes_are_counted_by_kind_for_the_tallies(day_of):
    day = day_of(
        "08:20 spoiled ballots 1 style 4A reissued yes by Pellow\n08:20 absentee-handed-in envelopes 2 surrendered 0 by Pellow\n08:30 jam T1 counted no by Vance, Renn"
    )

    assert (1, 2, 1, 0) == tuple(
        figures_of_day.noted(day, kind) for kind in ("spoiled", "absentee-handed-in", "jam", "left")
    )


def test_an_exception_without_figures_is_no_ballot(day_of):
    assert 0 == aside(day_of("08:20 spoiled style 4A not_so.found yes by Pellow"))["spoiled"]


def test_no_note_is_lost_or_doubled_however_the_day_is_told(day_of):
    day = day_of(
        "\n".join(f"08:{minute:02} taken ballots 1 style 4A book P4 by Pellow" for minute in range(60))
        + "\n09:01 take back 60\n09:02 take back 1"
    )

    assert 58 == aside(day)["taken"] == figures_of_day.noted(day, "taken")
    assert HARROW is day.place


def test_a_wrong_ballot_replaced_is_spoiled_and_one_given_back_unmarked_is_spoiled_with_no_other_given(day_of):
    """Common practice, no source: both lie in the envelope for spoiled ballots, and only the second voter is in the book without a ballot."""
    day = day_of("""
        08:20 wrong-style ballots 1 style 4A right_given yes by Pellow
        08:40 unmarked-back ballots 2 style 4A in_envelope yes by Pellow
        09:20 spoiled ballots 1 style 4A reissued yes by Pellow
        20:20 aside-counts spoiled.4A 4 provisional.other 0 drop_off 0 by Calloway, Renn
    """)

    assert {"logged": 2, "counts": [2]} == aside(day)["spoiled"]
    assert {"logged": 2, "counts": [2]} == aside(day)["spoiled-not-reissued"]
    assert 2 == day.set_aside["spoiled-not-reissued"] and "spoiled" not in day.set_aside
