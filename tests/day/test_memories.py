"""Tapes belong to memories: moved to a spare they go on, a fresh start has a tape of its own, ballots fed again count once (950 CMR 53.04; Conn. Reg. 9-242a-16)."""

from day.cast import TWO

ZERO = "05:40 zero-tape T1 all_zero yes public 0 lifetime 9000 prints 2 by Calloway, Renn\n"
OUT = "11:00 tabulator-out T1 public 212 lifetime 9212 by Vance, Renn\n"


def tabulators(day):
    return day.figures["tabulators"]


def lines(day, name):
    return [line.gap for line in day.balance.lines if line.id == name]


def test_before_the_close_the_run_has_no_end(day_of):
    assert [
        {"id": "T1", "box": "X1", "runs": [{"unit": "T1", "counter": [0, None], "lifetime": [9000, None]}]}
    ] == tabulators(day_of(ZERO))


def test_one_run_from_zero_to_close(day_of):
    day = day_of(
        ZERO
        + "20:30 counter-read T1 public 431 lifetime 9431 by Calloway, Renn\n20:45 tape-typed T1 ballots.P4 431 by Calloway, Renn"
    )

    assert [
        {"id": "T1", "box": "X1", "runs": [{"unit": "T1", "counter": [0, 431], "lifetime": [9000, 9431]}], "tape": 431}
    ] == tabulators(day)
    assert [0] == lines(day, "counter:T1") == lines(day, "lifetime:T1")


def test_a_memory_moved_over_is_two_runs_of_one_tape(day_of):
    day = day_of(
        ZERO
        + OUT
        + """
        11:20 tabulator-in T1 serial B-77 how memory-moved public 212 lifetime 4000 by Vance, Renn
        20:30 counter-read T1 public 431 lifetime 4219 by Calloway, Renn
        20:45 tape-typed T1 ballots.P4 431 by Calloway, Renn
    """
    )

    runs = tabulators(day)[0]["runs"]
    assert [
        {"unit": "T1", "counter": [0, 212], "lifetime": [9000, 9212]},
        {"unit": "B-77", "counter": [212, 431], "lifetime": [4000, 4219]},
    ] == runs
    assert [0] == lines(day, "counter:T1")


def test_a_fresh_start_is_a_second_tape(day_of):
    day = day_of(
        ZERO
        + OUT
        + """
        11:20 tabulator-in T1 serial B-77 how fresh-start public 0 lifetime 4000 by Vance, Renn
        20:30 counter-read T1 public 219 lifetime 4219 by Calloway, Renn
        20:45 tape-typed T1 ballots.P4 219 earlier_ballots 212 by Calloway, Renn
    """
    )

    assert [("T1/1", 212), ("T1", 219)] == [(t["id"], t["tape"]) for t in tabulators(day)]
    assert [0] == lines(day, "counter:T1/1") == lines(day, "counter:T1")


def test_ballots_fed_again_are_taken_off_the_first_tape(day_of):
    day = day_of(
        ZERO
        + OUT
        + """
        11:20 tabulator-in T1 serial B-77 how fed-again public 0 lifetime 4000 fed_again 212 by Vance, Renn
        20:22 book-count check_ins.P4 431 by Calloway, Renn
        20:30 counter-read T1 public 431 lifetime 4431 by Calloway, Renn
        20:45 tape-typed T1 ballots.P4 431 earlier_ballots 212 by Calloway, Renn
    """
    )

    assert {"on": "T1", "n": 212} == tabulators(day)[0]["fed_again"]
    assert [0] == lines(day, "poll-book")


def test_a_first_tape_that_nobody_kept_and_that_was_all_fed_again_is_left_away(day_of):
    day = day_of(
        ZERO
        + OUT
        + """
        11:20 tabulator-in T1 serial B-77 how fed-again public 0 lifetime 4000 by Vance, Renn
        20:45 tape-typed T1 ballots.P4 431 by Calloway, Renn
    """
    )

    assert ["T1"] == [t["id"] for t in tabulators(day)]


def test_a_counter_that_could_not_be_read_is_missing_not_zero(day_of):
    day = day_of(
        ZERO
        + OUT.replace("public 212 lifetime 9212 ", "")
        + "11:20 tabulator-in T1 serial B-77 how memory-moved public 212 lifetime 4000 by Vance, Renn"
    )

    assert [0, None] == tabulators(day)[0]["runs"][0]["counter"]


def test_a_tabulator_that_went_out_for_good_ends_where_it_went_out(day_of):
    assert [0, 212] == tabulators(day_of(ZERO + OUT))[0]["runs"][0]["counter"]


def test_a_tabulator_that_stayed_shut_has_no_line(day_of):
    day = day_of("05:40 zero-tape T1 not_so.found yes by Calloway, Renn", TWO)

    assert ["T2"] == [t["id"] for t in tabulators(day)]


def test_nobody_waits_for_the_counter_of_a_tabulator_that_stays_shut(day_of):
    day = day_of("05:40 zero-tape T1 not_so.found yes by Calloway, Renn\n20:04 polls-closed by Calloway, Renn", TWO)

    assert ("unused", "aside-counts", "book-count", "emergency-opened:X1", "counter-read:T2") == day.blind_wanted()


def test_a_tape_of_two_precincts_has_a_row_for_each(day_of):
    day = day_of("20:45 tape-typed T1 ballots.P3 299 ballots.P4 132 by Calloway, Renn", TWO)

    assert [{"precinct": "P3", "style": "3A", "n": 299}, {"precinct": "P4", "style": "4B", "n": 132}] == tabulators(
        day
    )[0]["tape"]


def test_a_tape_that_lacks_a_precinct_is_no_tape_yet(day_of):
    assert "tape" not in tabulators(day_of("20:45 tape-typed T1 ballots.P3 299 by Calloway, Renn", TWO))[0]


def test_what_is_taken_off_for_a_failed_machine_is_taken_off(day_of):
    day = day_of(
        "20:22 book-count check_ins.P4 430 by Calloway, Renn\n20:45 tape-typed T1 ballots.P4 431 subtract 1 by Calloway, Renn"
    )

    assert [0] == lines(day, "poll-book")
    assert () == day.impossible


def test_more_taken_off_than_is_on_the_tape_is_left_out_and_said(day_of):
    day = day_of("20:45 tape-typed T1 ballots.P4 431 subtract 4310 by Calloway, Renn")

    assert "subtract" not in tabulators(day)[0]
    assert day.impossible[0].startswith(
        "4,310 ballots are taken off the tape of T1 for a failed machine, and 431 are on it."
    )


def test_bins_count_once_every_bin_was_counted(day_of):
    told = "20:50 bins-out X1 ballots.main 402 by Calloway, Renn"

    assert "boxes" not in day_of(told).figures
    day = day_of(told.replace("402", "402 ballots.write-in 29"))
    assert [{"id": "X1", "bins": {"main": 402, "write-in": 29}}] == day.figures["boxes"]


def test_ballots_left_in_a_bin_show_against_the_tape(day_of):
    """Detroit, precinct 152, 2016: 307 in the book, 52 in the container, the rest left in the tabulator's bin (FP-16 in the trade's notes)."""
    day = day_of("""
        20:22 book-count check_ins.P4 307 by Calloway, Renn
        20:45 tape-typed T1 ballots.P4 307 by Calloway, Renn
        20:50 bins-out X1 ballots.main 52 ballots.write-in 0 by Calloway, Renn
        21:20 containers-filled ballots.C1 52 by Calloway, Renn
    """)

    assert [52 - 307] == lines(day, "bins:T1") == lines(day, "containers")
    assert [0] == lines(day, "poll-book")
