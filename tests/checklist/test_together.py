"""Answers of one form held against each other."""

from dataclasses import replace

import pytest

from checklist.cast import LINDEN, Day
from checklist.test_form import read


@pytest.fixture
def day():
    day = Day(clock="20:30")
    day.keep_list("opening")
    return day


NOT_SO = {"not_so": "yes", "found": "x", "done": "y"}


def test_the_emergency_bin_is_told_to_the_last_ballot(day):
    """NY-9-106: nothing is closed over a remainder."""
    values = {"ballots_found": "7", "fed": "5", "hand_counted": "1", "left": "0"}

    assert read(day, "emergency-opened", "X", **values).mistakes == {
        "ballots_found": "Fed, counted by hand and left make 6; 7 were found. Count again; if it stays so, say below what is wrong."
    }
    assert read(day, "emergency-opened", "X", **values, **NOT_SO).mistakes == {}
    assert read(day, "emergency-opened", "X", **values | {"left": "1", "why_left": ""}).mistakes == {
        "why_left": "Enter why ballots are left in the emergency bin."
    }
    assert read(day, "emergency-opened", "X", **values | {"ballots_found": "8 6 6", "why_left": ""}).mistakes == {}


def test_copies_are_among_the_ballots_counted_by_hand(day):
    """Bridgeport 2010 (trade.md 14): copies are a hand count of their own."""
    values = {"ballots_found": "3", "fed": "1", "hand_counted": "2", "left": "0", "copies_by_hand": "3"}

    assert read(day, "emergency-opened", "X", **values).mistakes == {
        "copies_by_hand": "3 copies among 2 counted by hand. Count again; if it stays so, say below what is wrong."
    }


def test_ballots_are_taken_off_a_tape_with_a_reason(day):
    """MA-53.04 keeps "less any subtraction for machine failure"."""
    assert read(day, "tape-typed", "T1", subtract="2", why_subtract="").mistakes == {
        "why_subtract": "Enter why ballots are taken off: what failed, and which law or order allows it."
    }
    assert read(day, "tape-typed", "T1", subtract="", why_subtract="").mistakes == {}


def test_two_of_different_parties_carry(day):
    """OH-3505.31."""
    one_party = {"first_carrier": "calloway", "second_carrier": "vance"}

    assert read(day, "depart", **one_party).mistakes == {
        "second_carrier": "The two carriers are of one party. Choose another second carrier, or say below what is wrong."
    }
    assert (
        "the same person"
        in read(day, "depart", **one_party | {"second_carrier": "calloway"}).mistakes["second_carrier"]
    )
    assert read(day, "depart", **one_party, **NOT_SO).mistakes == {}


def test_the_desk_writes_two_of_different_parties_or_one_alone(day):
    """OH-3505.31, at the other end of the way."""
    assert (
        "the same person"
        in read(day, "carriers-in", first_carrier="calloway", second_carrier="calloway").mistakes["second_carrier"]
    )
    assert (
        "of one party"
        in read(day, "carriers-in", first_carrier="calloway", second_carrier="vance").mistakes["second_carrier"]
    )
    assert read(day, "carriers-in", first_carrier="calloway", second_carrier="", missing="the witness").mistakes == {}
    unsaid = read(day, "carriers-in", first_carrier="calloway", second_carrier=None)
    assert unsaid.mistakes == {"second_carrier": "Select the second carrier, or Nobody."}, "nobody is said, not left"


def test_a_carrier_who_is_not_on_the_roll_is_said_in_words(day):
    """A deputy or a courier brings the goods: common practice."""
    deputy = {"first_carrier": "calloway", "second_carrier": "not-on-roll"}
    assert "who sent them" in read(day, "carriers-in", **deputy).mistakes["not_on_roll"]
    said = read(day, "carriers-in", **deputy, not_on_roll="A deputy of the sheriff, no party, sent by the clerk.")
    assert said.mistakes == {} and said.body["second_carrier"] == "not-on-roll" and "not_on_roll" in said.words
    nobody = read(day, "carriers-in", first_carrier="calloway", not_on_roll="A deputy.")
    assert "Choose “Somebody who is not on the roll”" in nobody.mistakes["not_on_roll"]


def test_pairs_that_the_place_file_calls_different_carry_too():
    place = replace(LINDEN, rules=replace(LINDEN.rules, different=(("E", "E"),)))

    assert read(Day(place, "22:00"), "depart", first_carrier="calloway", second_carrier="vance").mistakes == {}


def test_a_relief_moves_somebody(day):
    assert read(day, "relief", out="", **{"in": ""}).mistakes == {"out": "Select who leaves, who comes in, or both."}
    assert list(read(day, "relief", out="renn", **{"in": "renn"}).mistakes) == ["in"]


def test_late_polls_say_why():
    day = Day(clock="07:12")
    day.keep_list("opening", "polls-open")

    assert read(day, "polls-open", time="07:00").mistakes == {}
    assert read(day, "polls-open", time="07:12").mistakes == {
        "time": "The polls were to open at 07:00; this is 12 minutes later. Say why, and who was told, under “Something is missing or wrong”."
    }
    assert read(day, "polls-open", time="07:12", **NOT_SO).mistakes == {}


def test_polls_that_open_over_missing_steps_say_which():
    day = Day(clock="07:00")
    day.keep_list("opening", "polls-open", "notices", "access")

    assert read(day, "polls-open").mistakes == {
        "not_so": "2 steps above are not kept yet. Open the polls all the same: say which under “Something is missing or wrong”, and keep them after."
    }
    assert read(day, "polls-open", **NOT_SO).mistakes == {}


@pytest.mark.parametrize("how", ["fresh-start", "fed-again"])
def test_a_spare_that_starts_fresh_prints_its_own_zero_tape(day, how):
    assert set(read(day, "tabulator-in", "T1", how=how, all_zero="no", public="4", fed_again="").mistakes) == {
        "all_zero",
        "public",
    } | ({"fed_again"} if how == "fed-again" else set())
    assert read(day, "tabulator-in", "T1", how=how, all_zero="yes", public="0", fed_again="212").mistakes == {}
    assert read(day, "tabulator-in", "T1", how=how, all_zero="no", public="4", **NOT_SO).mistakes == {}


def test_a_memory_that_is_moved_goes_on_where_it_was(day):
    assert read(day, "tabulator-in", "T1", how="memory-moved", all_zero="", public="212", fed_again="").mistakes == {}


def test_an_order_on_the_hours_says_until_when(day):
    assert read(day, "instruction", changes="hours", closes="").mistakes == {
        "closes": "Enter the new closing hour as 21:00."
    }
    assert read(day, "instruction", changes="kinds", closes="").mistakes == {}
    assert read(day, "instruction", changes="hours", closes="22:00").body["closes"] == LINDEN.at(
        LINDEN.closes.replace(hour=22)
    )


def test_the_look_round_at_noon_signs_the_last_reading_along(day):
    day.keep("hourly", hour=day.now)
    last = day.keep("hourly", hour=day.now)

    assert read(day, "noon-look").body["reading"] == last.number


def test_a_tabulator_that_is_out_is_not_read_again_and_its_figure_still_stands(day):
    day.keep("tabulator-out", "T1", public=212, lifetime=9212)
    read_ = read(
        day, "hourly", form={"counters.T2": "190", "check_ins.P3": "300", "check_ins.P4": "110", "in_hand": "5"}
    )

    assert read_.mistakes == {}
    assert read_.body["counters"] == {"T2": 190, "T1": 212}


def test_a_reading_from_before_keeps_its_figure_when_it_is_corrected(day):
    day.keep("tabulator-out", "T1", public=212)

    assert read(
        day,
        "hourly",
        form={"counters.T1": "64", "counters.T2": "71", "check_ins.P3": "90", "check_ins.P4": "50", "in_hand": "5"},
    ).body["counters"] == {"T1": 64, "T2": 71}


def test_a_spare_is_read_again_and_an_unreadable_counter_is_not_made_up(day):
    day.keep("tabulator-out", "T1")
    form = {"counters.T2": "190", "check_ins.P3": "300", "check_ins.P4": "110", "in_hand": "5"}
    assert read(day, "hourly", form=form).body["counters"] == {"T2": 190}

    day.keep("tabulator-in", "T1", how="memory-moved", public=212)
    assert list(read(day, "hourly", form=form).mistakes) == ["counters.T1"]


def test_a_tabulator_that_stays_shut_has_no_counter_to_read(day):
    day.keep("zero-tape", "T1", not_so=True)

    assert (
        read(
            day, "hourly", form={"counters.T2": "190", "check_ins.P3": "300", "check_ins.P4": "110", "in_hand": "5"}
        ).mistakes
        == {}
    )
