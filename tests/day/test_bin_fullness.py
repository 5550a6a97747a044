"""How full a bin is: the counter since it was emptied against what the place file says that it holds (common practice, no source)."""

from dataclasses import replace

import pytest

from day.story import HARROW
from webapp.precinct.reports.bin_fullness import fillings, full_bins

BOX = HARROW.boxes[0]
HOLDS = replace(HARROW, boxes=(replace(BOX, holds=100), *HARROW.boxes[1:]))
OPEN = "07:00 polls-open declared 07:00 by Calloway, Renn\n"


def reading(hour: int, counter: int) -> str:
    return f"{hour:02}:00 hourly hour {hour:02}:00 counters.T1 {counter} check_ins.P4 {counter} in_hand 0 by Vance\n"


def emptied(time: str, counter: int, bin_: str = "main") -> str:
    return f"{time} bin-emptied X1 bin {bin_} counters.T1 {counter} container C1 by Calloway, Renn\n"


@pytest.fixture
def told(day_of):
    return lambda text: day_of(OPEN + text, HOLDS)


def test_a_bin_fills_by_its_counter_and_is_said_from_85_percent_on(told):
    day = told(reading(8, 84))
    assert [(one.box, one.ballots, one.holds) for one in fillings(HOLDS, day)] == [("X1", 84, 100)]
    assert full_bins(HOLDS, day) == ()

    alert = full_bins(HOLDS, told(reading(8, 85)))[0]
    assert alert.says == "The main bin of box X1 is nearly full" and not alert.urgent and alert.figures
    assert alert.more == ("About 85 ballots since the polls opened, by the counter. It holds 100.",)
    assert full_bins(HOLDS, told(reading(8, 100)))[0].urgent


def test_emptying_the_main_bin_begins_anew_and_the_write_in_bin_does_not(told):
    day = told(reading(8, 90) + emptied("08:10", 93) + reading(9, 130))
    assert [one.ballots for one in fillings(HOLDS, day)] == [37]
    assert full_bins(HOLDS, day) == ()
    assert full_bins(HOLDS, told(reading(8, 90) + emptied("08:10", 93, "write-in")))


def test_a_memory_that_began_at_zero_again_leaves_the_ballots_in_the_bin(told):
    day = told(
        reading(8, 60)
        + "08:20 tabulator-out T1 time 08:20 public 70 by Calloway, Renn\n"
        + "08:40 tabulator-in T1 how fresh-start public 0 lifetime 0 by Calloway, Renn\n"
        + reading(9, 20)
    )
    assert [one.ballots for one in fillings(HOLDS, day)] == [90]


def test_a_mistyped_reading_does_not_fill_a_bin_for_good(told):
    assert [one.ballots for one in fillings(HOLDS, told(reading(8, 900) + reading(9, 95)))] == [95]


def test_nothing_is_said_where_nobody_says_what_a_bin_holds_nor_after_the_close(told, day_of):
    assert full_bins(HARROW, day_of(OPEN + reading(8, 9000))) == ()
    assert full_bins(HOLDS, told(reading(8, 99) + "20:04 polls-closed by Calloway, Renn\n")) == ()
