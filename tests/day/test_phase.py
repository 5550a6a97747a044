"""Where the day stands, and what is folded away until the blind figures are signed (commit before you look: N.Y. Election Law 9-106)."""

from dataclasses import replace

import pytest

from day.story import HARROW
from webapp.precinct.place.place import Rules

TOLD = (
    ("before-dawn", "04:50 record-opened place HM4"),
    ("opening", "05:00 arrivals present.Calloway 05:00"),
    ("voting", "07:00 polls-open time 07:00 by Calloway, Renn"),
    ("voting", "20:00 line-end by Calloway, Renn"),
    ("closing", "20:05 polls-closed time 20:04 last_ballot 20:03 by Calloway, Renn"),
    ("hand-over", "21:30 statement by Calloway, Renn"),
    ("done", "22:30 depart by Calloway, Renn"),
)
CLOSED = "20:05 polls-closed time 20:04 last_ballot 20:03 by Calloway, Renn\n"
BLIND = (
    "20:20 unused by Calloway, Renn",
    "20:25 aside-counts by Calloway, Renn",
    "20:30 book-count by Calloway, Renn",
    "20:31 emergency-opened X1 found 0 by Calloway, Renn",
    "20:35 counter-read T1 public 431 by Calloway, Renn",
)


@pytest.mark.parametrize("count", range(1, len(TOLD) + 1))
def test_the_phase_follows_the_steps(day_of, count):
    assert TOLD[count - 1][0] == day_of("\n".join(line for _, line in TOLD[:count])).phase


def test_the_times_are_those_stated_not_those_of_the_tap(day_of):
    day = day_of(CLOSED)

    assert HARROW.at(HARROW.closes) + 4 * 60_000 == day.closed
    assert HARROW.at(HARROW.closes) + 3 * 60_000 == day.last_ballot


def test_nothing_is_folded_away_while_the_polls_are_open(day_of):
    assert not day_of("07:00 polls-open time 07:00 by Calloway, Renn").folded_away


@pytest.mark.parametrize("missing", range(len(BLIND)))
def test_count_is_folded_away_until_the_last_blind_figure_is_signed(day_of, missing):
    signed = [line for index, line in enumerate(BLIND) if index != missing]
    day = day_of(CLOSED + "\n".join(signed))

    assert day.folded_away
    assert BLIND[missing].split()[1] == day.blind_wanted()[0].partition(":")[0]


def test_count_opens_with_the_last_blind_figure(day_of):
    day = day_of(CLOSED + "\n".join(BLIND))

    assert day.blind_done
    assert not day.folded_away


def test_a_place_that_reads_results_first_folds_nothing_away(day_of):
    assert not day_of(CLOSED, replace(HARROW, rules=Rules(first="results"))).folded_away


def test_a_blind_figure_that_the_place_file_drops_is_not_waited_for(day_of):
    place = replace(HARROW, steps=({"id": "emergency-opened", "drop": True},))

    assert not day_of(CLOSED + "\n".join(line for line in BLIND if "emergency" not in line), place).folded_away


def test_a_blind_figure_taken_back_folds_count_away_again(day_of):
    assert day_of(CLOSED + "\n".join(BLIND) + "\n20:36 take back 6").folded_away
