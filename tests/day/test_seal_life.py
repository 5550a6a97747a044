"""Custody thing by thing: each seal from issued to found, boxes, containers, and issued = applied + returned + damaged (Texas audit findings; Conn. Reg. 9-242a-22)."""

from dataclasses import replace

from hypothesis import given, settings

from day.cast import TWO
from day.random_days import days
from day.whole_day import DAY
from tests.matrix import examples
from webapp.precinct.account.balanced_day import fold
from webapp.precinct.day import seal_log
from webapp.precinct.reports import seal_history
from webapp.precinct.reports.seal_history import SealAccount


def told(day, point):
    return [(life.number, life.on, life.says) for life in seal_history.lives(day.place, day).get(point, ())]


def test_a_seal_that_came_on_the_equipment_is_read_morning_and_night(day_of):
    assert [
        (
            "40116",
            False,
            "on it when it came from the office; read, number agreed, entry 8; read, number agreed, entry 29; "
            "off since its door was opened at the close, entry 45",
        )
    ] == told(day_of(DAY), "T1-memory")


def test_a_bin_door_has_the_seal_that_was_cut_and_the_one_that_followed(day_of):
    assert [
        ("40220", False, "applied, entry 11; cut to empty the bin, number agreed, entry 25"),
        (
            "40223",
            False,
            "applied, entry 25; read, number agreed, entry 29; off since its door was opened at the close, entry 39",
        ),
    ] == told(day_of(DAY), "X1-main")
    assert [("40223", True, "applied, entry 25; read, number agreed, entry 29")] == told(
        day_of(DAY.partition("bins-out")[0].rpartition("\n")[0]), "X1-main"
    )[1:], "until it is opened"


def test_another_number_than_the_one_applied_is_told_with_both(day_of):
    day = day_of("20:15 closing-seals seals.T1-memory #40161 by Calloway, Renn")
    (life,) = seal_history.lives(day.place, day)["T1-memory"]

    assert "read as 40161, not the 40116 that was applied, entry 1" in life.says and life.differs


def test_a_seal_that_another_replaced_without_being_cut_says_so(day_of):
    day = day_of("13:00 tabulator-in T1 serial B-77 how memory-moved memory_seal #40230 by Calloway, Renn")

    assert [
        ("40116", False, "on it when it came from the office; 40230 applied in its place, entry 1"),
        ("40230", True, "applied, entry 1"),
    ] == told(day, "T1-memory")


def test_a_memory_that_stays_is_sealed_at_its_door_and_one_that_leaves_in_its_bag(day_of):
    stays, leaves = (day_of(f"21:28 memory T1 seal #40226 goes {goes} by Calloway, Renn") for goes in ("stays", "goes"))

    assert [
        ("40116", False, "on it when it came from the office; 40226 applied in its place, entry 1"),
        ("40226", True, "applied, entry 1"),
    ] == told(stays, "T1-memory") and not told(stays, "T1-bag")
    assert [(True, "40226")] == [(on, number) for number, on, _ in told(leaves, "T1-bag")] and not told(
        leaves, "T1-memory"
    )[0][1], "its door was opened to take it out"
    assert {"T1-memory": "40226"} == {p: n for p, n in seal_log.still_on(stays.place, stays).items() if n == "40226"}


def test_a_seal_that_came_off_is_counted_however_it_came_off(day_of):
    day = day_of(
        "05:25 seals-cut old.X1-main #40117 new.X1-main #40220 by Calloway, Renn\n"
        "13:00 tabulator-in T1 serial B-77 how memory-moved memory_seal #40230 by Calloway, Renn\n"
    )
    assert 2 == seal_log.taken_off(day.place, day), "cut, and replaced with the memory"


def test_a_seal_read_where_none_was_known_has_nothing_to_compare_with(day_of):
    assert (
        "read, nothing known to compare it with, entry 1"
        == told(day_of("20:15 closing-seals seals.X1-main #40223 by Calloway, Renn"), "X1-main")[0][2]
    )


def test_each_point_stands_in_one_group_and_what_never_had_a_seal_is_named(day_of):
    day = day_of(DAY)
    groups = seal_history.groups(day.place, day)

    assert ["Tabulator T1, box X1", "Transfer case and others"] == [group.title for group in groups]
    assert "emergency bin of box X1" in groups[0].bare and "X1" == groups[0].box
    assert [life.point for life in groups[0].lives][-1] == "T1-bag"


def test_a_box_that_two_tabulators_share_stands_by_itself(day_of):
    place = replace(TWO, tabulators=tuple(replace(t, box="X1") for t in TWO.tabulators), boxes=TWO.boxes[:1])
    day = day_of("05:29 bins-locked X1 seals.main #40220 by Calloway, Renn", place)

    assert ["Tabulator T1", "Tabulator T2", "Box X1"] == [g.title for g in seal_history.groups(place, day)][:3]
    assert ["40220"] == [
        life.number for g in seal_history.groups(place, day) if g.title == "Box X1" for life in g.lives
    ]


def test_a_container_says_what_went_in_from_which_bin_and_what_was_counted_in_it(day_of):
    first, second = (
        held for held in seal_history.containers(day_of(DAY).place, day_of(DAY)) if held.id in ("C1", "C2")
    )

    assert (
        "252 ballots out of the main bin of X1 during the day, entry 25",
        "151 ballots out of the main bin of X1 at the close, entry 39",
        "403 ballots counted in it before it was sealed, entry 43",
    ) == first.says
    assert ("40222", "40224") == (first.seal, second.seal) and [
        "29 ballots out of the write-in bin of X1 at the close, entry 39"
    ] == list(second.says[:1])


def test_ballots_that_nobody_counted_are_said_to_be_so_and_none_is_told_while_count_is_folded_away(day_of):
    emptied = "12:00 bin-emptied X1 bin main counters.T1 270 container C1 seal #40222{} by Vance, Renn\n"
    place = day_of("").place
    plain = seal_history.containers(place, day_of(emptied.format("")))[0].says
    folded = seal_history.containers(
        place,
        day_of(
            "07:00 polls-open time 07:00 by Calloway, Renn\n"
            + emptied.format(" ballots 252")
            + "20:04 polls-closed time 20:04 last_ballot 20:03 by Calloway, Renn"
        ),
    )[0].says

    assert ("ballots, not counted, out of the main bin of X1 during the day, entry 1",) == plain and (
        "ballots out of the main bin of X1 during the day, entry 2",
    ) == folded


def test_the_account_of_seals_is_by_the_entries_until_they_are_counted(day_of):
    whole = day_of(DAY)
    before = day_of(
        DAY.replace("21:30 seals-accounted issued 30 applied 7 returned 23 damaged 0 by Calloway, Renn", "")
    )
    short = day_of(DAY.replace("returned 23", "returned 22"))

    assert (
        SealAccount(30, 7, None, None, 7) == seal_history.account(before.place, before)
        and 0 == seal_history.account(before.place, before).gap
    )
    assert (30, 0) == (seal_history.account(whole.place, whole).together, seal_history.account(whole.place, whole).gap)
    assert (
        1
        == seal_history.account(short.place, short).gap
        == next(line.gap for line in short.balance.lines if line.id == "seal-stock")
    )


def test_the_boxes_story_runs_from_empty_to_empty(day_of):
    assert ["bins-empty", "bins-locked", "bin-emptied", "emergency-opened", "bins-out"] == [
        kept.kind for kept in seal_history.boxes(day_of(DAY), "X1")
    ]


def test_keys_are_told_from_the_morning_to_the_night(day_of):
    day = day_of(
        "05:30 key-code T1 key_here yes code_at_hand yes by Calloway, Renn\n21:40 room-left keys yes by Calloway, Renn"
    )

    assert (("Security key of T1", "shown, entry 1; all keys taken along, entry 2"),) == seal_history.security_keys(
        day.place, day
    )
    assert (("Security key of T1", "not shown yet"),) == seal_history.security_keys(day.place, day_of(""))


@given(days())
@settings(max_examples=examples(100), deadline=None)
def test_on_every_day_the_lives_are_all_touches_and_what_is_on_is_what_custody_says(told_day):
    place, entries = told_day
    day = fold(place, entries)
    lives = seal_history.lives(place, day)

    assert {point: number for point, number in seal_log.on_now(place, day).items()} == {
        life.point: life.number for mine in lives.values() for life in mine if life.on
    }
    assert {touch.point for touch in seal_log.touches(place, day)} == set(lives)
    stands = [life.point for group in seal_history.groups(place, day) for life in group.lives] + [
        life.point for held in seal_history.containers(place, day) for life in held.lives
    ]
    assert sorted(stands) == sorted(life.point for mine in lives.values() for life in mine)


FOLD = """
    07:00 polls-open time 07:00 by Calloway, Renn
    08:00 hourly hour 08:00 counters.T1 61 check_ins.P4 64 in_hand 3 by Vance
    12:00 bin-emptied X1 bin main counters.T1 270 container C1 seal #40222 by Vance, Renn
    13:00 power-lost time 13:00 counters.T1 301 runs_on battery office_told yes by Calloway, Renn
    13:10 power-back time 13:10 clocks_right yes by Calloway, Renn
    14:00 relief out Vance in Pellow counters.T1 320 unused.4A 1050 by Calloway, Renn
    15:00 evacuation time 15:00 counters.T1 330 list_out yes all_out yes by Calloway, Renn
    20:04 polls-closed time 20:04 last_ballot 20:03 by Calloway, Renn
"""
BLIND = """
    20:20 unused unused.4A 1000 by Calloway, Renn
    20:21 aside-counts spoiled.4A 0 provisional.not-in-book 0 drop_off 0 by Calloway, Renn
    20:22 book-count check_ins.P4 400 cancelled.P4 0 book_shut yes by Calloway, Renn
    20:23 emergency-opened X1 ballots_found 0 fed 0 hand_counted 0 left 0 by Calloway, Renn
    20:30 counter-read T1 public 400 lifetime 9400 by Calloway, Renn
"""


def test_whatever_a_counter_or_a_pile_showed_in_passing_is_folded_away_from_the_close_until_the_last_blind_count(
    day_of,
):
    """Commit before you look: stock is written before the tape is compared (NY 9-106, OH 3501.26, keys of the trade's notes)."""
    closed, counted = day_of(FOLD), day_of(FOLD + BLIND)

    assert {"hourly"} == {kept.kind for kept in closed.entries if closed.hidden(kept)}
    assert {
        "bin-emptied": {"counters", "ballots"},
        "power-lost": {"counters"},
        "relief": {"counters", "unused"},
        "evacuation": {"counters"},
    } == {kept.kind: set(unseen) for kept in closed.entries if (unseen := closed.unseen(kept))}
    assert [] == [kept.kind for kept in counted.entries if counted.hidden(kept) or counted.unseen(kept)]
