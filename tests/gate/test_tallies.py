"""Handed-back ballots as taps of an hour: durable, undated, and in the record once."""

import uuid

import pytest

from webapp.gate import GateRefused

from .conftest import DAWN, MINUTE

HOUR = DAWN


def test_taps_count_by_message_and_outcome(gate):
    for message, outcome in (("overvote", "re-issued"), ("overvote", "re-issued"), ("blank", "cast-as-is")):
        gate.tallies.tap(message, outcome, HOUR)

    assert gate.tallies.of(HOUR) == {("overvote", "re-issued"): 2, ("blank", "cast-as-is"): 1}
    assert gate.tallies.of(HOUR + 60 * MINUTE) == {}
    assert gate.tallies.hours() == (HOUR,)


def test_a_tap_is_on_disk_before_it_is_answered(kept):
    kept.gate.tallies.tap("blank", "cast-as-is", HOUR)

    assert kept.again().tallies.of(HOUR) == {("blank", "cast-as-is"): 1}


def test_a_tap_is_taken_back(gate):
    gate.tallies.tap("blank", "cast-as-is", HOUR)
    gate.tallies.untap("blank", "cast-as-is", HOUR)

    assert gate.tallies.of(HOUR) == {} and gate.tallies.hours() == ()


def test_more_than_there_is_cannot_be_taken_back(gate):
    with pytest.raises(GateRefused, match="nothing left to take back"):
        gate.tallies.untap("blank", "cast-as-is", HOUR)


def test_what_is_on_its_way_into_the_record_is_corrected_there(gate):
    gate.tallies.tap("blank", "cast-as-is", HOUR)
    gate.tallies.take([HOUR])

    with pytest.raises(GateRefused, match="Correct that entry"):
        gate.tallies.untap("blank", "cast-as-is", HOUR)


def test_no_moment_within_the_hour_is_taken(gate):
    with pytest.raises(ValueError, match="nothing finer"):
        gate.tallies.tap("blank", "cast-as-is", HOUR + 7 * MINUTE)


def test_the_hours_of_every_zone_begin_on_a_quarter_hour(gate):
    """India +05:30, Nepal +05:45 (IANA time zone database)."""
    gate.tallies.tap("blank", "cast-as-is", HOUR + 30 * MINUTE)
    gate.tallies.tap("blank", "cast-as-is", HOUR + 45 * MINUTE)

    assert len(gate.tallies.hours()) == 2


def test_an_hour_enters_the_record_under_an_id_fixed_beforehand(gate):
    gate.tallies.tap("blank", "cast-as-is", HOUR)
    taken = gate.tallies.take([HOUR, HOUR + 60 * MINUTE])

    assert list(taken) == [HOUR] and taken[HOUR].counts == {("blank", "cast-as-is"): 1}
    assert uuid.UUID(bytes=taken[HOUR].entry_id).version == 4


def test_a_crash_between_the_entry_and_its_clearing_makes_no_second_entry(kept):
    """The retry finds the same id and the same counts, whatever was tapped meanwhile; the record answers with the number it has."""
    kept.gate.tallies.tap("blank", "cast-as-is", HOUR)
    before = kept.gate.tallies.take([HOUR])
    gate = kept.again()
    gate.tallies.tap("blank", "cast-as-is", HOUR)

    assert gate.tallies.take([HOUR]) == before
    assert gate.tallies.of(HOUR) == {("blank", "cast-as-is"): 2}


def test_clearing_drops_what_was_entered_and_keeps_what_came_since(gate):
    gate.tallies.tap("blank", "cast-as-is", HOUR)
    first = gate.tallies.take([HOUR])[HOUR]
    gate.tallies.tap("overvote", "re-issued", HOUR)
    gate.tallies.clear([HOUR])

    assert gate.tallies.of(HOUR) == {("overvote", "re-issued"): 1}
    second = gate.tallies.take([HOUR])[HOUR]
    assert second.entry_id != first.entry_id and second.counts == {("overvote", "re-issued"): 1}


def test_an_hour_without_taps_makes_no_entry(gate):
    assert gate.tallies.take([HOUR]) == {}
