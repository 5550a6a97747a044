"""The hours ahead: the M/M/c model against worked numbers, ballots that last, the battery."""

import pytest

from day.cast import TWO
from day.story import HARROW
from webapp.precinct.outlook import battery, queue, supplies


@pytest.mark.parametrize("per_hour, minutes, stations, load, waits, mean, over_ten", [
    (60, 2, 3, .667, .4444, 0.889, .0030), (100, 2, 4, .833, .6577, 1.973, .0235), (90, 6, 10, .900, .6687, 4.012, .1263),
    (60, 10, 11, .909, .6821, 6.821, .2509), (60, 0.75, 1, .750, .7500, 2.250, .0268), (60, 0.75, 2, .375, .2045, 0.123, .0000)])
def test_the_queue_is_that_of_the_worked_table(per_hour, minutes, stations, load, waits, mean, over_ten):
    """The trade's notes, section 11: reckoned apart from this code, the formula held by the published solution below."""
    found = queue(per_hour, minutes, stations)

    assert (load, waits, mean, over_ten) == (round(found.load, 3), round(found.waits, 4), round(found.minutes, 3), round(found.over_ten, 4))


def test_the_queue_is_that_of_a_published_solution():
    """240 voters an hour, 50 an hour for each booth: 5 booths hold 26.44 people, 6 booths take 0.0286 h in all (a textbook-style solution, trade's notes 11)."""
    five, six = queue(240, 60 / 50, 5), queue(240, 60 / 50, 6)

    assert 26.44 == round(240 / 60 * (five.minutes + 60 / 50), 2)
    assert 0.0286 == round((six.minutes + 60 / 50) / 60, 4)


def test_stations_that_are_always_busy_have_no_end_of_waiting():
    assert (1.0, None) == (queue(90, 6, 9).load, queue(90, 6, 9).minutes)


def test_nobody_arriving_waits_for_nothing():
    assert 0 == queue(0, 5, 2).minutes


@pytest.mark.parametrize("wrong", [(-1, 2, 3), (60, 0, 3), (60, 2, 0)])
def test_a_queue_that_cannot_be_is_refused(wrong):
    with pytest.raises(ValueError, match="stations from 1 up"):
        queue(*wrong)


def test_180_ballots_at_55_an_hour_with_four_hours_to_go_are_ordered_now(day_of):
    """The trade's notes, section 11: unused 180, 55 an hour, 4 h left: 3.3 h, order now."""
    supply, = supplies(HARROW, day_of("""
        07:00 polls-open time 07:00 by Calloway, Renn
        15:00 hourly hour 15:00 counters.T1 1165 check_ins.P4 1165 in_hand 0 unused.4A 235 by Vance
        16:00 hourly hour 16:00 counters.T1 1220 check_ins.P4 1220 in_hand 0 unused.4A 180 by Vance
    """))

    assert (180, 55.0, True) == (supply.left, supply.per_hour, supply.short)
    assert 3.3 == round((supply.until - supply.time) / 3_600_000, 1)
    assert "180 ballots left at 16:00, 55 an hour since 15:00: they last until 19:16. Order more now." == supply.says


def test_where_nobody_counted_the_pile_the_readings_tell(day_of):
    supply, = supplies(HARROW, day_of("08:00 hourly hour 08:00 counters.T1 61 check_ins.P4 64 in_hand 3 by Vance"))

    assert (1400 - 64, False) == (supply.left, supply.short)


def test_resupply_lengthens_it(day_of):
    day = day_of("""
        08:00 hourly hour 08:00 counters.T1 61 check_ins.P4 64 in_hand 3 by Vance
        08:10 resupply style 4A ballots 100 origin paper by Vance, Pellow
        09:00 hourly hour 09:00 counters.T1 121 check_ins.P4 124 in_hand 3 by Vance
    """)

    assert (1400 + 100 - 124, 60.0) == (supplies(HARROW, day)[0].left, supplies(HARROW, day)[0].per_hour)


def test_several_styles_tell_only_where_each_pile_was_counted(day_of):
    told = "08:00 hourly hour 08:00 counters.T1 61 counters.T2 0 check_ins.P3 64 check_ins.P4 0 in_hand 3{} by Vance"

    assert () == supplies(TWO, day_of(told.format(""), TWO))
    assert ["3A"] == [supply.style for supply in supplies(TWO, day_of(told.format(" unused.3A 936"), TWO))]


def test_the_battery_holds_the_hours_of_the_place_file(day_of):
    lost = "10:00 power-lost time 10:00 runs_on battery office_told yes by Calloway, Renn\n"

    assert HARROW.at(HARROW.opens) + 9 * 3_600_000 == battery(HARROW, day_of(lost))
    assert None is battery(HARROW, day_of(lost + "10:30 power-back time 10:30 clocks_right yes by Calloway, Renn"))
    assert None is battery(HARROW, day_of(lost.replace("battery", "generator")))
    assert None is battery(HARROW, day_of("07:00 polls-open time 07:00 by Calloway, Renn"))
