"""The first look: signed public counters stand in for tapes that are still to come, marked so; headings never speak for what is not checked."""

import pytest

from day.story import HARROW, Story
from day.whole_day import DAY
from webapp.packet.print_content import rows
from webapp.precinct.account.balanced_day import fold
from webapp.precinct.balance import summary
from webapp.precinct.balance.balance import balance
from webapp.precinct.reports.first_look import first_look, with_counters
from webapp.precinct.reports.open_questions import questions

BEFORE = DAY[: DAY.index("    20:32 first-look")]


def looked(text: str):
    day = fold(HARROW, Story().entries(text))
    return day, first_look(day, day.balance)


def test_until_a_tape_is_typed_its_signed_counter_stands_in_and_says_so():
    day, look = looked(BEFORE)
    lines = {line.id: line for line in look.balance.lines if not line.scope}
    assert look.stands_in == ("counter:T1",)
    # 435 check-ins, 432 on the counter, 1 voter who left: by hand
    assert (lines["poll-book"].left, lines["poll-book"].right, lines["poll-book"].gap) == (435, 433, 2)
    assert "432 by the public counters, tape to come" in lines["poll-book"].says
    assert (lines["stock"].left, lines["stock"].right) == (435, 434)
    assert "poll-book" not in {line.id for line in day.balance.lines}


def test_what_only_a_tape_can_tell_stays_unchecked():
    _, look = looked(BEFORE)
    assert {lack.id for lack in look.balance.unchecked} >= {"bins:T1", "counter:T1"}
    assert not {"counter:T1", "bins:T1"} & {line.id for line in look.balance.lines}


def test_with_the_tape_in_nothing_stands_in():
    day, look = looked(DAY)
    assert look.stands_in == () and look.balance is day.balance


def test_a_counter_that_nobody_read_stands_in_for_nothing():
    day, look = looked(BEFORE[: BEFORE.index("    20:30 counter-read")])
    assert look.stands_in == () and look.balance is day.balance


def test_what_the_command_answers_for_these_figures_is_not_touched():
    day, _ = looked(BEFORE)
    before = balance(day.figures).as_json() | {"ms": 0}
    with_counters(day.figures)
    assert balance(day.figures).as_json() | {"ms": 0} == before
    assert all("tape" not in row for row in day.figures["tabulators"])


def test_the_heading_of_a_part_counts_what_is_not_checked():
    day, look = looked(BEFORE)
    assert "Every line agrees" not in summary.heading(look.balance)
    assert summary.heading(look.balance).endswith("not checked yet")
    level = balance({"poll_book": 10, "tabulators": [{"id": "T1", "tape": 10}]})
    assert summary.heading(level).startswith("1 line agrees, ") and level.unchecked


@pytest.mark.parametrize(("remarked", "says"), [(False, "is off by 1"), (True, "One gap, with a signed remark")])
def test_after_the_remarks_the_heading_says_so(remarked, says):
    found = balance({"poll_book": 11, "tabulators": [{"id": "T1", "tape": 10}]})
    assert says in summary.heading(found, remarked)


def test_two_precincts_that_are_worse_than_their_sum_are_said_first():
    figures = {
        "poll_book": [{"precinct": "W3", "n": 302}, {"precinct": "W4", "n": 197}],
        "tabulators": [{"id": "T1", "tape": [{"precinct": "W3", "n": 300}, {"precinct": "W4", "n": 200}]}],
    }
    found = balance(figures)
    (told,) = summary.open_lines(found)
    assert told.worse and [part.line.gap for part in told.worst_first] == [-3, 2]
    assert summary.heading(found).startswith("Poll book: Precinct W4 and Precinct W3 are off against each other")


def test_a_seal_is_not_counted_among_lines_of_ballots():
    figures = {
        "poll_book": 11,
        "tabulators": [{"id": "T1", "tape": 10}],
        "seals": [{"at": "case", "applied": "4471", "found": "4417"}],
    }
    assert summary.heading(balance(figures)).startswith("Poll book is off by 1; 1 seal differs")


def test_a_tape_that_nobody_typed_is_in_no_total_and_is_asked_about():
    core = {"stock": {}, "aside": {}, "people": [], "tabulators": [{"id": "T1/1"}, {"id": "T1", "tape": 300}]}
    both = {**core, "tabulators": [{"id": "T1/1", "tape": 89}, {"id": "T1", "tape": 300}]}
    shown, whole = ({row.label: row.figure for row in rows(one, HARROW)} for one in (core, both))

    assert "Ballots counted by the tabulators" not in shown and whole["Ballots counted by the tabulators"] == 389
    assert shown["Ballots on the tapes that were typed, not all of them"] == 300

    day, _ = looked(BEFORE)
    asked = "No tape of T1 was typed: its ballots are in no sum."
    assert asked in [one.says for one in questions(HARROW, day)]
    assert asked not in [one.says for one in questions(HARROW, looked(DAY)[0])]
