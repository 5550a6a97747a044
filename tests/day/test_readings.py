"""The rule of the readings: 0 <= check-ins - counters - (in the book, on no counter) <= people between (interim rule: common practice, no source)."""

import pytest

from day.cast import IN_BOOK
from day.story import HARROW
from webapp.precinct.day.notes import book_weight, dispositions
from webapp.precinct.place.place import Kind

NINE = "09:00 hourly hour 09:00 counters.T1 131 check_ins.P4 138 in_hand 7 by Vance\n"


def test_people_between_by_the_figures_are_those_counted(day_of):
    (reading,) = day_of(NINE).readings

    assert (7, 7, "") == (reading.between, reading.in_hand, reading.alarm)


def test_below_zero_is_the_alarm_and_says_both_figures_and_which_way(day_of):
    (reading,) = day_of("09:00 hourly hour 09:00 counters.T1 141 check_ins.P4 138 in_hand 0 by Vance").readings

    assert -3 == reading.between
    assert reading.alarm.startswith(
        "141 ballots on the counters, 138 check-ins: 3 more ballots than people behind them."
    )


@pytest.mark.parametrize(
    "note, explained",
    [
        ("left ballots 1 book P4", 1),
        ("taken ballots 1 style 4A book P4", 1),
        ("emergency-plus X1 ballots 1 style 4A", 1),
        ("found ballots 1 where booth style 4A becomes set-apart", 1),
        ("spoiled ballots 1 style 4A reissued no", 1),
        ("spoiled ballots 1 style 4A reissued yes", 0),
        ("provisional ballots 1 style 4A", 0),
        ("jam T1 counted no went voter", 0),
    ],
)
def test_only_ballots_in_the_book_and_on_no_counter_explain_a_check_in(day_of, note, explained):
    (reading,) = day_of(f"08:20 {note} by Pellow\n{NINE}").readings

    assert explained == reading.aside
    assert 7 - explained == reading.between


def test_provisional_voters_explain_a_check_in_where_they_are_in_the_book(day_of):
    (reading,) = day_of("08:20 provisional ballots 2 style 4A by Pellow\n" + NINE, IN_BOOK).readings

    assert 2 == reading.aside


def test_a_positive_remainder_in_a_lull_is_an_alarm(day_of):
    (reading,) = day_of("09:00 hourly hour 09:00 counters.T1 131 check_ins.P4 133 in_hand 0 by Vance").readings

    assert "In a lull it should be 0" in reading.alarm
    assert "2 people are between check-in and tabulator, 0 were counted" in reading.alarm


def test_more_than_the_heads_counted_asks_to_count_again_and_the_second_hour_to_look(day_of):
    first, second = day_of(
        NINE.replace("in_hand 7", "in_hand 5")
        + "10:00 hourly hour 10:00 counters.T1 180 check_ins.P4 190 in_hand 8 by Vance"
    ).readings

    assert "Count the heads again" in first.alarm
    assert "It has not fallen since the reading before" in second.alarm


def test_a_counter_that_stopped_storing_shows_at_the_next_reading(day_of):
    """Carteret County 2004: 7,536 early voters, 3,005 ballots stored, 93 on paper (VU-3884/3893 in the trade's notes): the remainder grew from then on."""
    day = day_of("""
        09:00 hourly hour 09:00 counters.T1 3005 check_ins.P4 3010 in_hand 5 by Vance
        10:00 hourly hour 10:00 counters.T1 3005 check_ins.P4 7536 in_hand 0 by Vance
    """)

    assert 7536 - 3005 == day.readings[-1].between == 4531
    assert day.readings[-1].alarm


def test_a_counter_that_runs_back_is_to_be_read_again(day_of):
    reading = day_of(NINE + "10:00 hourly hour 10:00 counters.T1 113 check_ins.P4 150 in_hand 37 by Vance").readings[-1]

    assert "The counters read 113 now and 131 at the reading before: 18 fewer" in reading.alarm


def test_a_note_after_the_reading_does_not_count_for_it(day_of):
    assert 0 == day_of(NINE + "09:01 left ballots 1 book P4 by Pellow").readings[0].aside


def test_a_note_held_on_a_tablet_counts_for_readings_after_its_quarter_hour(day_of):
    """The quarter of 08:40 was over by the reading of 08:58, that of 08:50 was not."""
    day = day_of(
        NINE.replace("09:00 hourly", "08:58 hourly")
        + "08:40 left ballots 1 book P4 by Pellow\n08:50 left ballots 1 book P4 by Pellow"
    )

    assert 1 == day.readings[0].aside


def test_correcting_a_note_mends_the_readings_after_it(day_of):
    day = day_of(
        "08:20 left ballots 1 book P4 by Pellow\n"
        + NINE
        + '09:05 correct 1 ballots 0 book P4 because "noted twice" by Pellow'
    )

    assert 0 == day.readings[0].aside


def test_taking_a_note_back_mends_the_readings_after_it(day_of):
    assert 0 == day_of("08:20 left ballots 1 book P4 by Pellow\n" + NINE + "09:05 take back 1").readings[0].aside


def test_a_corrected_reading_is_read_as_corrected(day_of):
    day = day_of(
        NINE
        + '09:05 correct 1 hour 09:00 counters.T1 113 check_ins.P4 138 in_hand 25 because "digits swapped" by Vance'
    )

    assert 113 == day.readings[0].counter


def test_ballots_fed_out_of_the_emergency_bin_wait_no_more(day_of):
    day = day_of("""
        08:20 emergency-plus X1 ballots 1 style 4A by Pellow
        08:25 emergency-plus X1 ballots 1 style 4A by Pellow
        08:50 emergency-off X1 cause jam locked yes fed 2 by Vance, Renn
        09:00 hourly hour 09:00 counters.T1 131 check_ins.P4 138 in_hand 7 by Vance
    """)

    assert 0 == day.readings[0].aside


def test_what_a_memory_had_counted_still_counts_after_a_fresh_start(day_of):
    day = day_of("""
        11:00 tabulator-out T1 public 212 lifetime 9212 by Vance, Renn
        11:20 tabulator-in T1 serial B-77 how fresh-start public 0 lifetime 4000 by Vance, Renn
        12:00 hourly hour 12:00 counters.T1 30 check_ins.P4 245 in_hand 3 by Vance
    """)

    assert (242, "") == (day.readings[0].counter, day.readings[0].alarm)


def test_ballots_fed_again_count_once(day_of):
    day = day_of("""
        11:00 tabulator-out T1 public 212 lifetime 9212 by Vance, Renn
        11:20 tabulator-in T1 serial B-77 how fed-again public 0 lifetime 4000 fed_again 212 by Vance, Renn
        12:00 hourly hour 12:00 counters.T1 242 check_ins.P4 245 in_hand 3 by Vance
    """)

    assert (242, "") == (day.readings[0].counter, day.readings[0].alarm)


def test_a_reading_kept_as_not_so_without_figures_draws_nothing(day_of):
    assert () == day_of("09:00 hourly hour 09:00 not_so.found yes by Vance").readings


def test_unused_ballots_are_read_once_every_style_is_counted(day_of):
    assert 1200 == day_of(NINE.replace(" by", " unused.4A 1200 by")).readings[0].unused
    assert None is day_of(NINE).readings[0].unused


def test_the_day_as_folded_and_the_day_as_grown_read_alike(day_of):
    """The same record, once with a look after each entry and once folded cold."""
    from day.story import Story
    from webapp.precinct.account.balanced_day import fold
    from webapp.precinct.day.day import Day

    told = NINE + (
        "08:40 left ballots 1 book P4 by Pellow\n08:41 taken ballots 1 style 4A book P4 by Pellow\n"
        '10:00 hourly hour 10:00 counters.T1 180 check_ins.P4 190 in_hand 8 by Vance\n10:05 correct 2 ballots 3 book P4 because "three" by Pellow\n10:06 take back 3'
    )
    grown = Day(HARROW)
    for entry, texts in Story().entries(told):
        grown.add(entry, texts)
        grown.readings, grown.notes.lots, grown.seals.on
    cold = fold(HARROW, Story().entries(told))

    assert cold.readings == grown.readings
    assert cold.notes.lots == grown.notes.lots


@pytest.mark.parametrize(
    "fate, origin, weight",
    [
        ("taken", "paper", 1),
        ("left", "card", 1),
        ("taken", "absentee", 0),
        ("provisional", "paper", 0),
        ("spoiled", "paper", 0),
    ],
)
def test_how_far_a_ballot_is_in_the_book_and_on_no_counter(fate, origin, weight):
    assert weight == book_weight(fate, origin, HARROW)


def test_the_place_file_may_say_that_absentee_voters_are_in_the_book():
    from dataclasses import replace

    place = replace(HARROW, kinds=(Kind("absentee", False, True, True, True),))

    assert 1 == book_weight("taken", "absentee", place)
    assert {"id": "absentee", "from_stock": False, "in_poll_book": True} in dispositions(place)
