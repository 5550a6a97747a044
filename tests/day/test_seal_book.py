"""Every seal's life: found = last applied, issued = applied + returned + damaged (Texas audit findings; Conn. Reg. 9-242a-22, keys of the trade's notes)."""

from day.whole_day import DAY
from webapp.precinct.account import figures_of_day
from webapp.precinct.day import seal_log
from webapp.precinct.place.step import NoDay


def test_what_came_sealed_is_expected_there(day_of):
    day = day_of("05:00 arrivals present.Calloway 05:00")

    assert "40116" == seal_log.expected(day.place, day, "T1-memory")
    assert None is seal_log.expected(day.place, day, "X1-main")


def test_a_seal_that_is_cut_is_off_and_the_new_one_on(day_of):
    day = day_of("05:25 seals-cut old.case #40112 old.T1-memory #40116 new.T1-memory #40220 by Calloway, Renn")

    assert {"T1-memory": "40220"} == seal_log.on_now(day.place, day)


def test_the_next_seal_comes_from_the_issued_list_in_order(day_of):
    day = day_of("05:29 bins-locked X1 seals.main #40220 seals.write-in #40222 by Calloway, Renn")

    assert "40221" == seal_log.next_unused(day.place, day)
    assert {"issued": 30, "applied": 2} == seal_log.counts(day.place, day)


def test_the_whole_life_of_a_bin_door(day_of):
    day = day_of(DAY)

    door = [(touch.what, touch.number) for touch in seal_log.touches(day.place, day) if touch.point == "X1-main"]
    assert [("applied", "40220"), ("cut", "40220"), ("applied", "40223"), ("read", "40223")] == door


def test_the_life_of_a_number_is_told_in_order(day_of):
    day = day_of(DAY)

    assert [("bin-emptied", "applied"), ("containers-sealed", "read")] == [
        (t.kind, t.what) for t in seal_log.life(day.place, day, "40222")
    ]
    assert () == seal_log.life(day.place, day, "40249")


def test_a_whole_good_day_has_nothing_amiss(day_of):
    day = day_of(DAY)

    assert () == seal_log.amiss(day.place, day)


def test_a_number_that_differs_is_said_with_both_numbers(day_of):
    day = day_of("20:15 closing-seals seals.T1-memory #40161 by Calloway, Renn")

    assert (
        "Seal 40161 was read at memory door of T1, entry 1; 40116 was last applied there. Say in a remark which of them is right."
        in seal_log.amiss(day.place, day)
    )
    assert [1] == [line.gap for line in day.balance.lines if line.id == "seals:T1-memory"]


def test_a_seal_found_wrong_at_dawn_stays_a_gap_when_the_evening_agrees(day_of):
    day = day_of(
        "05:22 tabulator-seals T1 seals.T1-memory #99999 by Calloway, Renn\n20:15 closing-seals seals.T1-memory #40116 by Calloway, Renn"
    )

    assert [("T1-memory", "40116", "99999")] == seal_log.found_and_applied(day.place, day)


def test_a_cut_reads_the_number_too(day_of):
    day = day_of("05:25 seals-cut old.case #40113 by Calloway, Renn")

    assert [("case", "40112", "40113")] == seal_log.found_and_applied(day.place, day)


def test_a_number_that_was_never_issued_is_said(day_of):
    day = day_of("05:29 bins-locked X1 seals.main #77777 by Calloway, Renn")

    assert (
        "Seal 77777 at main bin of box X1, entry 1, was not issued to this place" in seal_log.amiss(day.place, day)[0]
    )
    assert seal_log.why_not_spare(day.place, day, "77777").startswith("Seal 77777 was not issued")


def test_one_number_on_two_doors_is_said(day_of):
    day = day_of("05:29 bins-locked X1 seals.main #40220 seals.write-in #40220 by Calloway, Renn")

    assert "had been applied before" in seal_log.amiss(day.place, day)[0]
    assert "applied already, at write-in bin of box X1" in seal_log.why_not_spare(day.place, day, "40220")


def test_a_container_sealed_at_noon_and_written_again_at_night_is_one_seal(day_of):
    day = day_of(DAY)

    assert "C1" == seal_log.used(day.place, day)["40222"]
    assert [
        {"id": "C1", "seal": "40222", "ballots": 403},
        {"id": "C2", "seal": "40224", "ballots": 29},
    ] == figures_of_day.checked(day.place, day).figures["containers"]


def test_a_corrected_number_rewrites_the_book(day_of):
    day = day_of(
        '05:29 bins-locked X1 seals.main #40230 by Calloway, Renn\n05:40 correct 1 seals.main #40220 because "misread" by Calloway, Renn'
    )

    assert {"40220": "X1-main"} == seal_log.used(day.place, day)


def test_a_day_without_entries_still_knows_what_came_sealed(day_of):
    assert {"T1-memory": "40116", "case": "40112"} == seal_log.on_now(day_of("").place, NoDay())


def test_a_seal_read_where_none_was_known_is_unchecked(day_of):
    day = day_of("20:15 closing-seals seals.X1-main #40223 by Calloway, Renn")

    assert [{"at": "X1-main", "found": "40223"}] == figures_of_day.checked(day.place, day).figures["seals"]
    assert ["seals:X1-main"] == [lack.id for lack in day.balance.unchecked if lack.id.startswith("seals:")]
    assert () == seal_log.amiss(day.place, day)
