"""The hours ahead: until when the ballots last, by style, and the battery; how many came, and how long they will wait."""

from dataclasses import replace

import pytest

from day.cast import TWO
from day.story import HARROW
from webapp.precinct.place.place import Stations
from webapp.precinct.reports.forecast import Battery, battery, supplies
from webapp.precinct.reports.queue_forecast import about, waits, whole_day
from webapp.precinct.reports.turnout import pace, turnout


def test_180_ballots_at_55_an_hour_with_four_hours_to_go_are_ordered_now(day_of):
    """The trade's notes, section 11: unused 180, 55 an hour, 4 h left: 3.3 h, order now."""
    (supply,) = supplies(
        HARROW,
        day_of("""
        07:00 polls-open time 07:00 by Calloway, Renn
        15:00 hourly hour 15:00 counters.T1 1165 check_ins.P4 1165 in_hand 0 unused.4A 235 by Vance
        16:00 hourly hour 16:00 counters.T1 1220 check_ins.P4 1220 in_hand 0 unused.4A 180 by Vance
    """),
    )

    assert (180, 55.0, True) == (supply.left, supply.per_hour, supply.short)
    assert 3.3 == round((supply.until - supply.time) / 3_600_000, 1)
    assert "180 ballots left at 16:00, 55 an hour since 15:00: they last until 19:16. Order more now." == supply.says


def test_where_nobody_counted_the_pile_the_readings_tell(day_of):
    (supply,) = supplies(HARROW, day_of("08:00 hourly hour 08:00 counters.T1 61 check_ins.P4 64 in_hand 3 by Vance"))

    assert (1400 - 64, False) == (supply.left, supply.short)


def test_resupply_lengthens_it(day_of):
    day = day_of("""
        08:00 hourly hour 08:00 counters.T1 61 check_ins.P4 64 in_hand 3 by Vance
        08:10 resupply style 4A ballots 100 origin paper by Vance, Pellow
        09:00 hourly hour 09:00 counters.T1 121 check_ins.P4 124 in_hand 3 by Vance
    """)

    assert (1400 + 100 - 124, 60.0) == (supplies(HARROW, day)[0].left, supplies(HARROW, day)[0].per_hour)


def test_with_a_reserve_they_are_ordered_sooner(day_of):
    """The trade's notes, section 11: warn if U - reserve < rate x hours to close x 1.25; 10 are kept as masters (Conn. Reg. 9-174a-14)."""
    told = """
        06:10 packs received.4A 1400{} by Calloway, Renn
        07:00 polls-open time 07:00 by Calloway, Renn
        18:00 hourly hour 18:00 counters.T1 1096 check_ins.P4 1096 in_hand 0 unused.4A 304 by Vance
        19:00 hourly hour 19:00 counters.T1 1196 check_ins.P4 1196 in_hand 0 unused.4A {} by Vance
    """
    plain, masters = (supplies(HARROW, day_of(told.format(extra, 204)))[0] for extra in ("", " masters 100"))
    assert (100.0, False, True) == (plain.per_hour, plain.short, masters.short)  # 204 > 125, 204 - 100 < 125
    assert "204 ballots left at 19:00, 100 of them held back as masters, 100 an hour since 18:00" in masters.says


def test_styles_of_one_precinct_each_are_reckoned_by_its_check_ins(day_of):
    told = "08:00 hourly hour 08:00 counters.T1 61 counters.T2 11 check_ins.P3 64 check_ins.P4 12 in_hand 4{} by Vance"
    both, one = supplies(TWO, day_of(told.format(""), TWO)), supplies(TWO, day_of(told.format(" unused.3A 930"), TWO))

    assert [("3A", 936, False), ("4B", 388, False)] == [(s.style, s.left, s.counted) for s in both]
    assert (
        "936 ballots of style 3A left at 08:00 by the check-ins, 64 an hour since 07:00: they last past 20:00, with less than a quarter to spare. Order more now."
        == both[0].says
    )
    assert [("3A", 930, True), ("4B", 388, False)] == [(s.style, s.left, s.counted) for s in one]


def test_styles_that_share_a_precinct_tell_only_where_the_pile_was_counted(day_of):
    shared = replace(TWO, styles=tuple(replace(style, precincts=("P3", "P4")) for style in TWO.styles))
    told = "08:00 hourly hour 08:00 counters.T1 61 counters.T2 0 check_ins.P3 64 check_ins.P4 0 in_hand 3{} by Vance"

    assert () == supplies(shared, day_of(told.format(""), shared))
    assert ["3A"] == [supply.style for supply in supplies(shared, day_of(told.format(" unused.3A 936"), shared))]


def test_one_style_that_runs_short_is_told_though_the_other_lasts(day_of):
    day = day_of(
        """
        07:00 polls-open time 07:00 by Calloway, Renn
        08:00 hourly hour 08:00 counters.T1 60 counters.T2 60 check_ins.P3 60 check_ins.P4 60 in_hand 0 by Vance
    """,
        TWO,
    )

    assert [("3A", False), ("4B", True)] == [(s.style, s.short) for s in supplies(TWO, day)]


def test_the_battery_holds_the_hours_of_the_place_file(day_of):
    lost = "10:00 power-lost time 10:00 runs_on battery office_told yes by Calloway, Renn\n"

    assert Battery(HARROW.at(HARROW.opens) + 9 * 3_600_000, shown=False) == battery(HARROW, day_of(lost))
    assert None is battery(HARROW, day_of(lost + "10:30 power-back time 10:30 clocks_right yes by Calloway, Renn"))
    assert None is battery(HARROW, day_of(lost.replace("battery", "generator")))
    assert None is battery(HARROW, day_of("07:00 polls-open time 07:00 by Calloway, Renn"))


def test_what_the_weakest_battery_showed_comes_before_the_place_files_hours(day_of):
    lost = "10:00 power-lost time 10:00 runs_on battery minutes_left.T1 190 minutes_left.T2 95 office_told yes by Calloway, Renn"

    assert Battery(TWO.at(TWO.opens) + 275 * 60_000, shown=True) == battery(TWO, day_of(lost, TWO))


ROOM = replace(
    HARROW, queue=Stations(check_in_stations=2, check_in_seconds=90, booths=8, booth_minutes=6, tabulator_seconds=45)
)
OPEN = "07:00 polls-open time 07:00 by Calloway, Renn\n"
SIXTY = OPEN + "08:00 hourly hour 08:00 counters.T1 55 check_ins.P4 60 in_hand 5 by Vance\n"


def test_the_lines_ahead_are_told_at_the_rate_of_the_last_hour(day_of):
    """60 an hour: 2 stations of 90 s wait 115.7 s (queueing.md), 1 tabulator of 45 s 2.25 min (trade's notes 11)."""
    check_in, booths, tabulators = waits(ROOM, day_of(SIXTY, ROOM))

    assert (115.714, 135.0) == (round(check_in.queue.mean, 3), round(tabulators.queue.mean, 1))
    assert "Check-in: about 2 minutes to wait at 60 an hour, 2 stations busy 75% of the time." == check_in.says
    assert "Tabulators: about 2 minutes to wait at 60 an hour, 1 station busy 75% of the time." == tabulators.says
    assert (8, False, False) == (booths.queue.stations, booths.usual, booths.long)


def test_more_than_can_be_served_is_told_without_a_number_of_minutes(day_of):
    """2 stations, 80 an hour, 90 s: no steady state (queueing.md): the app must say so, not print a number."""
    busy, even = (
        waits(
            ROOM,
            day_of(OPEN + f"08:00 hourly hour 08:00 counters.T1 {n - 5} check_ins.P4 {n} in_hand 5 by Vance", ROOM),
        )[0]
        for n in (100, 80)
    )

    assert (
        "Check-in: more arrive than can be served, 100 an hour at 2 that serve 80. The line grows until fewer come. 3 would be enough. Open another station if there is one."
        == busy.says
    )
    assert even.says.startswith("Check-in: as many arrive as can be served, 80 an hour at 2 that serve 80.") and (
        True,
        None,
    ) == (even.long, even.queue.mean)


def test_booths_as_set_up_this_morning_come_before_the_place_file(day_of):
    assert 12 == waits(ROOM, day_of("06:00 room-view booths 12 by Vance\n" + SIXTY, ROOM))[1].queue.stations


def test_where_nobody_said_how_many_the_number_that_would_be_enough_is_told(day_of):
    check_in, booths, tabulators = waits(HARROW, day_of(SIXTY))

    assert "Check-in: the place file does not say how many. At 60 an hour 3 are enough." == check_in.says
    assert (None, True, 8) == (booths.queue, booths.usual, booths.enough) and tabulators.usual


def test_a_tabulator_that_is_out_serves_nobody(day_of):
    out = (
        OPEN
        + "07:30 tabulator-out T2 time 07:30 by Calloway, Renn\n08:00 hourly hour 08:00 counters.T1 55 counters.T2 0 check_ins.P3 60 check_ins.P4 0 in_hand 5 by Vance"
    )

    assert [1] == [w.queue.stations for w in waits(TWO, day_of(out, TWO)) if w.where == "Tabulators"]
    assert [2] == [
        w.queue.stations
        for w in waits(TWO, day_of(out.replace("07:30 tabulator-out T2 time 07:30 by Calloway, Renn", ""), TWO))
        if w.where == "Tabulators"
    ]


def test_a_whole_day_without_a_long_line_is_told_by_the_stations_that_serve_fewest(day_of):
    """The queue-stop rule of Edelstein and Edelstein: half the minutes open, by the minutes of one voter; a day of 780 minutes, 5 booths of 6 minutes each."""
    room = replace(ROOM, queue=replace(ROOM.queue, booths=5))

    assert "5 booths serve about 325 voters in a day without a long line." == whole_day(room, day_of(SIXTY, room))
    assert "about 345 voters" in whole_day(
        room, day_of(SIXTY + "08:30 instruction from Duty code 4 changes hours closes 20:48 by Calloway, Renn", room)
    )
    assert "" == whole_day(HARROW, day_of(SIXTY))


def test_no_line_is_told_before_anybody_came(day_of):
    assert (
        ()
        == waits(ROOM, day_of(OPEN, ROOM))
        == waits(ROOM, day_of(OPEN + "08:00 hourly hour 08:00 counters.T1 0 check_ins.P4 0 in_hand 0 by Vance", ROOM))
    )


@pytest.mark.parametrize(
    "seconds, words",
    [
        (0, "next to no wait"),
        (29, "next to no wait"),
        (45, "less than a minute's wait"),
        (62, "about 1 minute to wait"),
        (1725, "about 29 minutes to wait"),
    ],
)
def test_a_wait_is_told_in_whole_minutes(seconds, words):
    assert words == about(seconds)


def test_ballots_an_hour_are_those_since_the_reading_before(day_of):
    day = day_of(SIXTY + "09:00 hourly hour 09:00 counters.T1 131 check_ins.P4 138 in_hand 7 by Vance")
    found = turnout(HARROW, day)

    assert (131, 138, 76.0, 65.5, 78.0) == (
        found.ballots,
        found.check_ins,
        found.per_hour,
        found.all_day,
        pace(HARROW, day),
    )
    assert (None, {}) == (found.share, found.shares) and turnout(HARROW, day_of(OPEN)) is None


def test_the_share_of_registered_voters_needs_their_number_from_the_place_file(day_of):
    known = replace(TWO, precincts=tuple(replace(p, registered=n) for p, n in zip(TWO.precincts, (1000, 400))))
    told = (
        OPEN
        + "08:00 hourly hour 08:00 counters.T1 55 counters.T2 20 check_ins.P3 60 check_ins.P4 24 in_hand 9 by Vance"
    )
    found = turnout(known, day_of(told, known))

    assert (1400, 0.06, {"P3": 0.06, "P4": 0.06}) == (found.registered, found.share, dict(found.shares))
    half = replace(TWO, precincts=(replace(TWO.precincts[0], registered=1000), TWO.precincts[1]))
    assert (None, {"P3": 0.06}) == (
        turnout(half, day_of(told, half)).share,
        dict(turnout(half, day_of(told, half)).shares),
    )


def test_two_readings_within_minutes_are_no_rate(day_of):
    day = day_of(SIXTY + "08:05 hourly hour 08:00 counters.T1 60 check_ins.P4 65 in_hand 5 by Vance")

    assert 60.0 == round(pace(HARROW, day))
