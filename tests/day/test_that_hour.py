"""When a gap opened, and what the record holds of that hour. A written hourly comparison is what shows it: Conn. emergency plan 9-174a-17; the
central Virginia place that stopped at the end of each hour (`trade.md` 3). Ballots are told by quarter hours and as counts only."""

from datetime import time

from day.story import HARROW
from webapp.precinct.place.ballot_kinds import BALLOT_KINDS
from webapp.precinct.reports.gap_timing import stretches
from webapp.record.entry import QUARTER

OPEN = "07:00 polls-open time 07:00 by Calloway, Renn\n"
HOURS = """
    08:02 hourly hour 08:00 counters.T1 61 check_ins.P4 64 in_hand 3 by Vance
    08:30 power-lost time 08:30 runs_on battery office_told yes by Vance
    09:03 hourly hour 09:00 counters.T1 131 check_ins.P4 138 in_hand 7 by Vance
    09:07 spoiled ballots 1 style 4A reissued yes by Pellow
    09:20 incident where booths story "A curtain fell." by Pellow
    09:31 spoiled ballots 1 style 4A reissued yes by Pellow
    09:40 spoiled ballots 2 style 4A reissued yes by Pellow
    09:44 jam T1 counted yes went main-bin by Pellow
    10:04 hourly hour 10:00 counters.T1 184 check_ins.P4 {} in_hand 2 by Vance
    10:30 observers came 2 left 0 here 2 by Vance
"""
CLOSE = """
    20:04 polls-closed time 20:04 last_ballot 20:03 by Calloway, Renn
    20:20 unused unused.4A {} by Calloway, Renn
    20:21 aside-counts spoiled.4A 4 provisional.other 0 drop_off 0 by Calloway, Renn
    20:22 book-count check_ins.P4 {} by Calloway, Renn
    20:23 emergency-opened X1 ballots_found 0 fed 0 hand_counted 0 left 0 by Calloway, Renn
    20:30 counter-read T1 public 432 by Calloway, Renn
    20:45 tape-typed T1 public 432 ballots.P4 432 by Calloway, Renn
"""


def at(hour, minute=0):
    return HARROW.at(time(hour, minute))


def opened(day_of, at_ten=187, at_close=433, hours=HOURS, unused=964):
    day = day_of(OPEN + hours.format(at_ten) + CLOSE.format(unused, at_close))
    return stretches(day.explained, day)


def test_a_check_in_too_many_opened_between_the_last_good_reading_and_the_first_bad_one(day_of):
    (found,) = opened(day_of)

    assert (found.since.counter, found.until.counter, found.by_rule) == (131, 184, False)
    assert ["incident"] == [kept.kind for kept in found.kept]


def test_ballots_of_that_hour_are_counts_of_quarter_hours(day_of):
    (found,) = opened(day_of)

    assert [(at(9), "spoiled", 1), (at(9, 30), "jam", 1), (at(9, 30), "spoiled", 3)] == [
        (b.begins, b.kind, b.n) for b in found.ballots
    ]
    assert all(b.begins % QUARTER == 0 for b in found.ballots)
    assert not [kept for kept in found.kept if kept.kind in BALLOT_KINDS]


def test_a_gap_that_opened_after_the_last_reading_is_looked_for_up_to_the_close(day_of):
    (found,) = opened(day_of, at_ten=186)

    assert found.since.counter == 184 and found.until is None and found.ends == at(20, 4)
    assert "observers" in [kept.kind for kept in found.kept]


def test_without_readings_or_without_a_gap_there_is_no_such_hour(day_of):
    assert opened(day_of, hours="") == ()
    assert opened(day_of, at_ten=186, at_close=432) == ()


def test_where_no_explanation_names_an_hour_the_rule_of_the_readings_does(day_of):
    """A spoiled ballot that nobody noted leaves no mark on check-ins and counters; yet at ten the figures said two people more than were counted."""
    hours = HOURS.format(189) + "11:02 hourly hour 11:00 counters.T1 250 check_ins.P4 252 in_hand 2 by Vance\n"
    (found,) = opened(day_of, at_close=432, hours=hours, unused=963)

    assert (
        found.by_rule
        and "3 more by the figures" in found.until.alarm
        and (found.since.counter, found.until.counter) == (131, 184)
    )


def test_a_note_that_was_taken_back_is_not_told(day_of):
    day = day_of(OPEN + HOURS.format(187) + "10:05 take back 6\n" + CLOSE.format(964, 433))

    assert [] == [kept.kind for (found,) in [stretches(day.explained, day)] for kept in found.kept]
