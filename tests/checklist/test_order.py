"""What opens when: the order of the day, tabulators that stay shut, readings that are missed, polls that never wait.

The order is that of the design's table; that voting starts through the emergency bin where a tabulator is not proven is trade.md 2 and 3 (CT-9, CT-16).
"""

from dataclasses import replace

import pytest

from checklist.cast import LINDEN, MINUTE, Day
from webapp.precinct.checklist import checklist
from webapp.precinct.checklist.prerequisites import _runs
from webapp.precinct.day.people import People

ONE = replace(LINDEN, boxes=LINDEN.boxes[:1], tabulators=LINDEN.tabulators[:1])


@pytest.fixture
def day():
    return Day()


@pytest.fixture
def voting(day):
    day.keep_list("opening")
    day.clock("07:01")
    return day


@pytest.fixture
def closed(voting):
    voting.keep_all("line-end", "polls-closed")
    voting.clock("20:10")
    return voting


def states(day, *lists):
    return {t.key: t.state for t in day.tasks(*lists)}


def test_the_day_begins_with_the_arrivals_and_all_else_waits(day):
    found = day.tasks("opening")

    assert [t.key for t in found if t.state == "next"] == ["arrivals"]
    assert {t.state for t in found[1:]} == {"later"}


def test_what_is_later_says_which_steps_it_waits_for_by_their_numbers(day):
    assert day.task("oath").opens == "when step 1 is signed"
    day.keep_list("opening")
    day.clock("20:20")
    day.keep_all("line-end", "polls-closed", "unused")

    numbers = {t.key: t.number for t in day.tasks("closing")}
    assert (
        day.task("counter-read:T1").opens
        == f"when steps {numbers['aside-counts']} to {numbers['emergency-opened:X']} are signed"
    )


def test_a_step_of_another_list_is_named_with_its_list(day):
    assert day.task("hourly:08:00").opens == f"when step {day.task('polls-open').number} of Opening is signed"


@pytest.mark.parametrize(
    ("numbers", "words"),
    [
        ([5], "5"),
        ([5, 6], "5 and 6"),
        ([5, 6, 7, 8], "5 to 8"),
        ([5, 7, 9], "5, 7 and 9"),
        ([1, 2, 3, 9], "1 to 3 and 9"),
    ],
)
def test_numbers_in_a_row_are_said_as_a_run(numbers, words):
    assert _runs(numbers) == words


def test_a_step_waits_for_its_own_tabulator_only(day):
    day.keep_all(
        "arrivals",
        "oath",
        "case-seals",
        "tabulator-seals",
        "seals-cut",
        "bins-empty",
        "bins-locked",
        "aside-empty",
        "key-code",
    )
    day.keep("power", "T2")

    assert day.task("self-check:T2").state != "later"
    assert day.task("self-check:T1").state == "later"


def test_a_box_waits_for_the_tabulators_that_stand_on_it():
    day = Day(
        replace(
            LINDEN, tabulators=(LINDEN.tabulators[0], replace(LINDEN.tabulators[1], box="X")), boxes=LINDEN.boxes[:1]
        )
    )
    day.keep_all("arrivals", "oath")
    day.keep("tabulator-seals", "T1")

    assert day.task("bins-empty:X").state == "later"
    day.keep("tabulator-seals", "T2")
    assert day.task("bins-empty:X").state != "later"


def test_a_page_opens_when_the_last_of_its_steps_can_be_done(day):
    day.keep_all("arrivals", "oath")

    assert [day.task(key).state for key in ("bins-empty:X", "aside-empty")] == ["later", "later"]
    day.keep_all("tabulator-seals")
    assert "later" not in [day.task(key).state for key in ("bins-empty:X", "bins-locked:X", "aside-empty")]


def test_steps_of_one_page_do_not_wait_for_one_another(day):
    day.keep_all("arrivals", "oath", "tabulator-seals", "bins-empty", "bins-locked", "key-code", "power")

    assert [day.task(f"{step}:T1").state for step in ("self-check", "zero-tape", "zero-signed")] == ["open"] * 3


def test_there_is_one_next_step_and_those_beyond_their_time_are_overdue(day):
    day.keep_all("arrivals", "oath")
    day.clock("06:46")

    found = states(day, "opening")
    assert (
        list(found.values()).count("next") + list(found.values()).count("overdue")
        == list(found.values()).count("overdue")
        > 3
    )
    task = day.task("access")
    assert (task.state, task.late) == ("overdue", 16)


def test_within_five_minutes_nothing_nags(day):
    day.keep_all("arrivals", "oath")
    day.clock("06:34")

    assert day.task("access").state == "open"


# --- exceptions


def test_an_exception_counts_as_done(day):
    day.keep_all("arrivals", "oath")
    day.keep("goods", not_so=True)

    assert day.task("goods").state == "done" and day.task("goods").not_so
    assert day.task("ballots-right").state != "later"


@pytest.mark.parametrize("step", ["tabulator-seals", "self-check", "zero-tape"])
def test_a_tabulator_that_is_not_proven_stays_shut_and_holds_up_nobody_else(day, step):
    day.keep_list("opening", "self-check", "zero-tape", "zero-signed", "polls-open")
    for kind in ("self-check", "zero-tape", "zero-signed"):
        day.keep(kind, "T2")
    day.keep(step, "T1", not_so=True)
    day.clock("06:55")

    assert day.task("zero-signed:T1").state == "shut"
    assert day.task(f"{step}:T1").again
    assert day.task("polls-open").state == "next"
    day.keep("polls-open")
    day.clock("20:30")
    day.keep_all("line-end", "polls-closed", "unused", "aside-counts", "book-count", "emergency-opened")
    assert [day.task(f"counter-read:{t}").state for t in ("T1", "T2")] == ["shut", "open"]
    assert day.task("emergency-opened:X").state == "done", "its emergency bin was used"


def test_a_shut_tabulator_opens_when_the_step_is_done_again(day):
    day.keep_list("opening", "zero-signed", "polls-open")
    day.keep("zero-tape", "T1", not_so=True)
    assert day.task("zero-signed:T1").state == "shut"

    day.keep("zero-tape", "T1")

    assert day.task("zero-signed:T1").state != "shut"


def test_a_spare_with_its_own_zero_tape_opens_a_shut_tabulator(voting):
    voting.keep("zero-tape", "T1", not_so=True)
    voting.keep("tabulator-in", "T1", how="fresh-start", all_zero=True, public=0)

    assert voting.task("counter-read:T1").state == "later"


def test_a_spare_that_is_not_proven_either_stays_shut(voting):
    voting.keep("zero-tape", "T1", not_so=True)
    voting.keep("tabulator-in", "T1", not_so=True, how="fresh-start")

    assert voting.task("counter-read:T1").state == "shut"


def test_all_tabulators_shut_and_the_polls_open_all_the_same(day):
    day.keep_list("opening", "polls-open", "key-code", "power", "self-check", "zero-tape", "zero-signed")
    for t in ("T1", "T2"):
        day.keep("tabulator-seals", t, not_so=True)

    assert day.task("polls-open").state == "next"


# --- the hour of opening


def test_the_polls_open_when_all_above_is_signed(day):
    day.keep_list("opening", "polls-open", "notices")
    day.clock("06:50")

    task = day.task("polls-open")
    assert task.state == "later"
    assert task.opens == f"when step {day.task('notices').number} is signed, or at 07:00 with what is missing named"


def test_at_the_hour_the_polls_open_with_what_is_missing_named(day):
    day.keep_list("opening", "polls-open", "notices", "access")
    day.clock("07:00")

    task = day.task("polls-open")
    assert task.state == "next"
    assert task.missing == ("access", "notices")
    assert [t.key for t in day.tasks("opening") if t.state in ("next", "overdue")] == ["polls-open"]


def test_what_was_missing_can_be_kept_after_the_opening(day):
    day.keep_list("opening", "notices")
    day.clock("07:02")

    assert day.task("notices").state == "overdue"


# --- people


class Sworn(Day):
    """A day that knows its people."""

    def __init__(self, *sworn: str):
        super().__init__()
        self.people = People(LINDEN)
        self.keep("arrivals", not_so=False)
        for person in ("calloway", "renn", "vance", "pellow"):
            self.people.present[person] = self.now
        for person in sworn:
            self.people.sworn[person] = 1
            self.keep("oath", person=person)


def test_two_oaths_are_enough_to_begin_and_all_are_wanted():
    assert Sworn("calloway").task("case-seals").state == "later"
    two = Sworn("calloway", "renn")
    assert two.task("case-seals").state != "later"
    assert two.task("oath").state != "done"
    assert Sworn("calloway", "renn", "vance", "pellow").task("oath").state == "done"


def test_one_official_alone_begins_when_the_roll_call_says_so():
    alone = Sworn("calloway")
    alone.people.present = {"calloway": alone.now}
    alone.keep("arrivals", not_so=True)

    assert alone.task("oath").state == "done"
    assert alone.task("case-seals").state != "later"


# --- the day


def test_a_reading_is_due_at_each_full_hour_after_the_opening_and_before_the_close(voting):
    assert [t.at for t in voting.tasks("voting") if t.step.id == "hourly"] == [f"{h:02}:00" for h in range(8, 20)]


def test_places_that_open_at_half_past_read_at_full_hours():
    place = replace(LINDEN, opens=LINDEN.opens.replace(hour=6, minute=30), zone="Asia/Kolkata")

    assert [t.at for t in Day(place).tasks("voting") if t.step.id == "hourly"][:2] == ["07:00", "08:00"]


def test_a_reading_opens_a_quarter_of_an_hour_before_and_is_overdue_after(voting):
    voting.clock("07:44")
    assert (voting.task("hourly:08:00").state, voting.task("hourly:08:00").opens) == ("later", "at 07:45")
    voting.clock("07:45")
    assert voting.task("hourly:08:00").state == "next"
    voting.clock("08:18")
    assert (voting.task("hourly:08:00").state, voting.task("hourly:08:00").late) == ("overdue", 18)


def test_a_later_reading_stands_for_one_that_was_missed(voting):
    voting.clock("10:02")
    assert [states(voting)[f"hourly:{h}"] for h in ("08:00", "09:00", "10:00")] == ["overdue", "overdue", "open"]

    voting.keep("hourly", hour=voting.now - 2 * MINUTE)

    assert [states(voting)[f"hourly:{h}"] for h in ("08:00", "09:00", "10:00")] == ["missed", "missed", "done"]


def test_at_noon_two_look_round_after_the_noon_reading(voting):
    voting.clock("12:01")
    assert voting.task("noon-look").opens == f"when step {voting.task('hourly:12:00').number} is signed"

    voting.keep("hourly", hour=voting.now - MINUTE)

    assert voting.task("noon-look").state == "next"


def test_a_noon_reading_that_was_missed_does_not_hold_up_the_look(voting):
    voting.clock("13:01")
    voting.keep("hourly", hour=voting.now - MINUTE)

    assert voting.task("noon-look").state == "overdue"


def test_nothing_of_the_day_is_asked_once_the_polls_are_closed(closed):
    assert {t.state for t in closed.tasks("voting")} == {"missed"}


def test_an_instruction_moves_the_close_and_adds_readings(voting):
    """Court-extended hours: trade.md 3 (Luzerne 2022)."""
    voting.keep("instruction", changes="hours", closes=LINDEN.at(LINDEN.closes.replace(hour=22)))

    assert [t.at for t in voting.tasks("voting") if t.step.id == "hourly"][-1] == "21:00"
    assert voting.task("line-end").due == LINDEN.at(LINDEN.closes.replace(hour=22))


def test_the_last_instruction_on_the_hours_holds_and_others_do_not_move_them(voting):
    voting.keep("instruction", changes="hours", closes=LINDEN.at(LINDEN.closes.replace(hour=22)))
    voting.keep("instruction", changes="kinds")
    voting.keep("instruction", changes="hours", closes=LINDEN.at(LINDEN.closes.replace(hour=21)))

    assert checklist.closing_hour(LINDEN, voting) == LINDEN.at(LINDEN.closes.replace(hour=21))


# --- the close


def test_the_close_opens_an_hour_before_so_that_a_clock_an_hour_slow_shuts_nobody_out(voting):
    voting.clock("18:59")
    assert (voting.task("line-end").state, voting.task("line-end").opens) == ("later", "at 19:00")
    voting.clock("19:00")
    assert voting.task("line-end").state in ("open", "next")


def test_count_first_then_look(closed):
    """NY-9-106, OH-3501.26, SON: stock and envelopes are counted before the counter is read."""
    closed.keep_all("unused", "aside-counts", "book-count")
    assert closed.task("counter-read:T1").state == "later"

    closed.keep("emergency-opened", "X")

    assert closed.task("counter-read:T1").state != "later"
    assert closed.task("first-look").state == "later"


def test_results_first_reads_the_tape_before_the_counts():
    """FFX-76: the results page comes first there, the account after."""
    place = replace(ONE, rules=replace(ONE.rules, first="results"))
    day = Day(place)
    day.keep_list("opening")
    day.clock("20:10")
    day.keep_all("line-end", "polls-closed", "search", "closing-seals")
    order = [t.step.id for t in day.tasks("closing")]

    assert order.index("tape-signed") < order.index("unused") < order.index("first-look") < order.index("remark")
    day.keep_all("emergency-opened")
    assert day.task("counter-read:T1").state == "next"
    day.keep_all("counter-read")
    assert day.task("tabulator-closed:T1").state == "next"
    day.keep_all("tabulator-closed", "tape-prints", "tape-typed", "tape-signed", "bins-out", "bins-shown-empty")
    assert day.task("remark").state == "later", "no remark before the counts are made"


def test_a_remark_is_done_when_no_line_is_without_one(closed):
    closed.unremarked = ("stock",)
    closed.keep("remark", lines=["poll-book"], gaps=[1])
    assert closed.task("remark").state != "done"

    closed.unremarked = ()
    assert closed.task("remark").state == "done"


def test_a_dissent_is_open_from_the_close_on_and_holds_up_nothing(closed):
    assert closed.task("dissent").state == "open"
    closed.keep_list("closing", "dissent")

    assert closed.task("containers-filled").state == "next"
    assert closed.task("dissent").state == "open"


def test_a_place_without_an_emergency_bin_has_no_step_for_it():
    assert "emergency-opened:Y" not in states(Day())


def test_short_signed_and_its_entries_are_told(day):
    told = day.keep("arrivals")
    day.kept["arrivals"] = [replace(told, short=({"seat": "other", "why": "absent"},))]

    assert (day.task("arrivals").short, day.task("arrivals").entries) == (True, (1,))


def test_tasks_name_their_page_for_each_tabulator(day):
    assert (day.task("zero-tape:T1").page, day.task("zero-tape:T2").page, day.task("unused").page) == (
        "zero:T1",
        "zero:T2",
        "closing-counts",
    )


def test_numbers_run_through_each_list(day):
    for name in ("opening", "voting", "closing", "hand-over"):
        found = [t.number for t in day.tasks(name) if not t.step.optional]
        assert found == list(range(1, len(found) + 1))


# --- what a form may keep now


def test_on_the_page_of_a_tabulator_that_stays_shut_the_rest_falls_away(day):
    day.keep_list("opening", "self-check", "zero-tape", "zero-signed", "polls-open")
    page = [t for t in day.tasks("opening") if t.page == "zero:T1"]

    def kept(form):
        return [t.step.id for t in checklist.standing(page, form, lambda t: f"{t.step.id}/")]

    assert kept({}) == ["self-check", "zero-tape", "zero-signed"]
    assert kept({"self-check/not_so": "yes"}) == ["self-check"]
    assert kept({"zero-tape/not_so": "yes"}) == ["self-check", "zero-tape"]
    assert kept({"zero-signed/not_so": "yes"}) == ["self-check", "zero-tape", "zero-signed"]


def test_a_step_that_is_kept_is_not_kept_twice_and_one_that_repeats_is(voting):
    assert checklist.why_not(voting.task("notices")) == (
        f"“Hang the notices and the specimen ballots” is kept already, as entry {voting.task('notices').entries[-1]}. "
        f"Look at it there; to change it, correct entry {voting.task('notices').entries[-1]}."
    )
    assert checklist.why_not(voting.task("arrivals")) == ""
    assert checklist.why_not(voting.task("counter-read:T1")).startswith("“Read the counters of T1” opens when steps ")


def test_a_step_that_shut_a_tabulator_may_be_kept_again(voting):
    voting.keep("zero-tape", "T1", not_so=True)

    assert checklist.why_not(voting.task("zero-tape:T1")) == ""
    assert (
        checklist.why_not(voting.task("counter-read:T1"))
        == "“Read the counters of T1” is not asked here now: T1 stays shut. It opens when the step that shut it is done again."
    )
