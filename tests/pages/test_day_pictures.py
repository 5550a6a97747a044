"""The day's line and the two charts of Count: facts in per cent against a day told as text; the same figures stand in a table."""

import re
from datetime import time

import pytest

from day.story import HARROW, Story
from day.whole_day import DAY
from tests.pages.test_flow_picture import words
from webapp.pages.place import count_charts
from webapp.pages.place.count import due_reading
from webapp.pages.place.day_timeline import day_line
from webapp.precinct.account.balanced_day import fold
from webapp.precinct.checklist import checklist

HOUR = 3_600_000
CLOSES = HARROW.at(HARROW.closes)
OPEN = "07:00 polls-open time 07:00 by Calloway, Renn\n"
THREE = (
    OPEN
    + """
    08:00 hourly hour 08:00 counters.T1 64 check_ins.P4 71 in_hand 7 by Vance
    08:20 left ballots 1 book P4 by Pellow
    09:00 hourly hour 09:00 counters.T1 131 check_ins.P4 138 in_hand 6 by Vance
    10:00 hourly hour 10:00 counters.T1 184 check_ins.P4 187 in_hand 2 by Vance
"""
)


def day_of(text):
    return fold(HARROW, Story(HARROW).entries(text))


def line_at(text, clock):
    day, now = day_of(text), HARROW.at(time.fromisoformat(clock))
    return day_line(HARROW, day, checklist.tasks(HARROW, day, now), now)


def test_the_chart_has_check_ins_above_the_counter_and_a_bracket_for_the_newest_gap():
    drawn = count_charts.chart(HARROW, day_of(THREE).readings, CLOSES)

    assert all(point.check_ins < point.counter for point in drawn.points)  # y runs down
    assert [round(8 + 90 * n / 13, 2) for n in (1, 2, 3)] == [point.x for point in drawn.points]  # 07:00 to 20:00
    assert (
        (187, 184, 3) == (drawn.check_ins, drawn.counter, drawn.gap)
        and 92 == drawn.ticks[0][0]
        and drawn.ticks[-1][1] >= 187
    )
    assert (
        "At 10:00, 3 more check-ins than ballots: 1 set aside and in the book, 2 between by the figures." == drawn.said
    )


@pytest.mark.parametrize(
    "counter, said",
    [(190, "At 10:00, 3 more ballots than check-ins."), (187, "At 10:00, as many ballots as check-ins.")],
)
def test_the_chart_says_which_way_the_newest_gap_goes(counter, said):
    assert said == count_charts.chart(HARROW, day_of(THREE.replace("T1 184", f"T1 {counter}")).readings, CLOSES).said


def test_people_between_are_bars_by_the_figures_with_a_stroke_for_heads_counted():
    drawn = count_charts.between(HARROW, day_of(THREE).readings, CLOSES)

    assert (
        [7, 6, 2] == [bar.n for bar in drawn.bars]
        and all(bar.y == bar.heads for bar in drawn.bars)
        and "All agree." == drawn.said
    )
    assert [bar.y for bar in drawn.bars] == sorted(bar.y for bar in drawn.bars) and drawn.bars[-1].y < drawn.zero < 88


def test_more_ballots_than_check_ins_is_a_bar_into_the_hatched_part():
    drawn = count_charts.between(HARROW, day_of(THREE.replace("T1 184", "T1 190")).readings, CLOSES)

    assert drawn.bars[-1].n == -4 and drawn.zero < drawn.bars[-1].y <= 88 and "1 of 3 readings differs." == drawn.said


def test_the_day_line_is_done_by_steps_in_the_morning_and_by_the_clock_while_people_vote():
    dawn, voting = line_at("05:00 arrivals present.Calloway 05:00 present.Renn 05:02", "05:10"), line_at(THREE, "13:30")

    assert 0 < dawn.spans[0].done < 20 and dawn.here == dawn.spans[0].done and dawn.spans[1].done == 20
    assert (40.0, 40.0, "13:30") == (
        voting.spans[1].done,
        voting.here,
        voting.now,
    )  # half of 07:00 to 20:00 lies half way between 20 and 60


def test_each_hour_has_its_tick_signed_due_or_overdue():
    line = line_at(THREE, "11:20")
    readings = [tick for tick in line.ticks if re.match(r"Take the \d\d:00 reading", tick.title)]

    assert ["done"] * 3 + ["overdue"] + ["due"] * 8 == [tick.kind for tick in readings]
    assert [round(20 + 40 * n / 13, 2) for n in range(1, 13)] == [tick.x for tick in readings]
    assert (
        "Take the 11:00 reading" in [tick.title for tick in line.looks]
        and "Overdue: " in line.said
        and "3 readings signed" in line.said
    )


def test_a_reading_that_a_later_one_stands_for_is_neither_due_nor_overdue():
    line = line_at(THREE.replace("hour 09:00", "hour 08:30"), "10:10")

    assert "missed" == next(tick.kind for tick in line.ticks if "09:00 reading" in tick.title)
    assert not any("09:00 reading" in tick.title for tick in line.looks)


def test_an_exception_is_a_diamond_that_leads_to_its_entry():
    exception = '05:20 case-seals not_so.found yes not_so.done yes found "0378 on the case" done "Rang the office" by Calloway, Renn'
    looks = line_at(exception, "05:30").looks

    assert [("exception", "signed exception", "/record/1")] == [
        (tick.kind, tick.words, tick.href) for tick in looks if tick.kind == "exception"
    ]
    assert 1 == line_at(exception, "05:30").spans[0].exceptions


def test_the_counts_of_the_table_are_those_of_the_tasks():
    day, now = day_of(DAY), HARROW.at(time(21, 40))
    tasks = [t for t in checklist.tasks(HARROW, day, now) if not t.step.optional]
    line = day_line(HARROW, day, checklist.tasks(HARROW, day, now), now)

    assert sum(t.state == "done" for t in tasks) == sum(span.signed for span in line.spans)
    assert len(tasks) == sum(span.signed + span.overdue + span.to_come for span in line.spans) + sum(
        t.state in ("missed", "shut") for t in tasks
    )


def test_the_newest_reading_stands_for_those_that_nobody_took():
    day, now = day_of(OPEN), HARROW.at(time(9, 30))
    due, over = due_reading(checklist.tasks(HARROW, day, now))

    assert ("09:00", ["08:00"]) == (due.at, [task.at for task in over]) and 30 == due.late
    assert (None, ()) == due_reading(checklist.tasks(HARROW, day, HARROW.at(time(7, 5))))


def test_now_offers_the_newest_overdue_reading_and_names_those_it_stands_for(scene):
    here = scene("voting")
    here.pass_time(85)  # from the 10:00 reading past 11:00 and 12:00
    here.pass_time(60)
    now, count = here.window.get("/now"), here.window.get("/count")

    assert "Nobody took the 11:00 reading. This one counts for it too." in words(
        now
    ) and "Take the 12:00 reading" in words(now)
    assert "Overdue by" in words(count) and "Nobody took the 11:00 reading." in words(count)


def test_count_shows_both_charts_the_lines_ahead_and_how_many_came(scene):
    here = scene("voting")
    page = here.window.get("/count")
    last = here.room.day.readings[-1]

    assert 2 == page.text.count('role="img"') and "style=" not in page.text
    for heading in (
        "Counter against poll book",
        "People between check-in and tabulator",
        "Ballots left",
        "Lines to expect",
        "How many came",
    ):
        assert heading in words(page)
    assert f"{last.counter:,} on the counters, {last.check_ins:,} checked in" in words(page)
    assert (
        f"of {sum(p.registered for p in here.place.precincts):,} registered {100 * last.check_ins / sum(p.registered for p in here.place.precincts):.1f} %"
        in words(page)
    )


def test_a_corrected_reading_stays_legible_below_the_right_one(scene):
    here = scene("voting")
    here.hold("tanaka")
    kept = here.room.day.of("hourly")[-1]
    form = here.form(f"/record/{kept.number}/correct")
    name = next(n for n in form.controls if n.startswith("in_hand"))
    page = here.window.send(form, here.signed({name: "9", "reason": "two were in the curb bay"}, "tanaka"))
    assert page.status == 200, page.said()
    said = here.window.get("/count")

    assert f"<del>{kept.body['in_hand']}</del>" in said.text and "two were in the curb bay" in words(said)


@pytest.mark.parametrize("moment", ["unused", "first-look"])
def test_count_folds_away_after_the_close_and_opens_again_with_the_last_blind_count(scene, moment):
    page = scene(moment).window.get("/count")

    assert ("They open when these are signed:" in words(page)) == (moment == "unused") and (
        "People between" in words(page)
    ) == (moment != "unused")


def test_the_day_in_a_table_stands_behind_the_line(scene):
    page = scene("voting").window.get("/now")

    assert (
        "The day in a table" in words(page)
        and "Together" in words(page)
        and re.search(r'aria-label="The day\. Now \d\d:\d\d\.', page.text)
    )
