"""A hand count made again by another pair: the first is kept, two equal in a row settle it.

UK Electoral Commission, count model (two consecutive equal counts); Prince William County, release of November 2022: tape 531, first hand
count of the bin 504, a second one by other people closed the gap of 27.
"""

from day.cast import TWO
from day.story import HARROW
from webapp.precinct.balance.line import Line
from webapp.precinct.checklist import checklist, second_counts

COUNTED = """
    20:20 unused unused.4A 966 by Calloway, Renn
    20:21 aside-counts spoiled.4A 2 provisional.not-in-book 1 drop_off 0 by Calloway, Renn
    20:22 book-count check_ins.P4 433 by Calloway, Renn
    20:45 tape-typed T1 ballots.P4 432 by Calloway, Renn
"""
AGAIN = "20:50 counted-again of 1 field unused thing 4A n {} by Vance, Pellow\n"
BINS = """
    12:00 bin-emptied X1 bin main counters.T1 270 container C1 ballots 270 by Vance, Renn
    20:45 tape-typed T1 ballots.P4 531 by Calloway, Renn
    20:50 bins-out X1 container.main C1 ballots.main 234 ballots.write-in 0 by Calloway, Renn
"""


def gap(day, name="stock"):
    return next(line.gap for line in day.balance.lines if line.id == name)


def words(line, day, place=HARROW):
    return [(count.where, count.words) for count in second_counts.behind(line, place, day)]


def line(day, name, **scope):
    return next(line for line in day.balance.lines if line.id == name and dict(line.scope or {}) == scope)


def test_the_first_count_stays_with_its_signers_and_the_second_stands_behind_it(day_of):
    day = day_of(COUNTED + AGAIN.format(965))
    kept = day.entry(1)

    assert [966, 965] == kept.body["unused"]["4A"]
    assert ["Calloway", "Renn"] == [s.person for s in kept.signers]
    assert [(965, 5, ["Vance", "Pellow"])] == [
        (again.n, again.number, [s.person for s in again.signers]) for again in kept.again
    ]
    assert gap(day_of(COUNTED)) == -1 and gap(day) == 0


def test_two_equal_counts_in_a_row_settle_it_and_until_then_the_line_says_so(day_of):
    once, twice = day_of(COUNTED + AGAIN.format(965)), day_of(COUNTED + AGAIN.format(965) + AGAIN.format(965))

    assert "966, 965" in line(once, "stock").says and "count again until two in a row agree" in line(once, "stock").says
    assert line(twice, "stock").notes == ()
    assert [False, True] == [second_counts.find(1, "unused", "4A", HARROW, day).settled for day in (once, twice)]


def test_a_bin_counted_twice_closes_a_gap_of_27(day_of):
    assert gap(day_of(BINS), "bins:T1") == -27
    assert (
        gap(day_of(BINS + "21:00 counted-again of 3 field ballots thing main n 261 by Vance, Pellow"), "bins:T1") == 0
    )


def test_behind_the_stock_stand_the_unused_and_the_envelopes_behind_the_book_the_check_ins(day_of):
    day = day_of(COUNTED)

    stock = [where for where, _ in words(line(day, "stock"), day)]
    assert (
        stock[:2] == ["1/unused/4A", "2/spoiled/4A"]
        and "2/provisional/not-in-book" in stock
        and "2/drop_off" not in stock
    )
    assert ["3/check_ins/P4"] == [where for where, _ in words(line(day, "poll-book"), day)]


def test_behind_a_line_of_one_style_stand_the_counts_of_that_style_only(day_of):
    day = day_of(
        """20:20 unused unused.3A 300 unused.4B 200 by Calloway, Renn
                    20:21 aside-counts spoiled.3A 0 spoiled.4B 0 provisional.other 0 drop_off 0 by Calloway, Renn""",
        TWO,
    )
    found = words(Line("stock", 1, 0, "", {"style": "4B"}), day, TWO)

    assert "1/unused/4B" in [where for where, _ in found] and "1/unused/3A" not in [where for where, _ in found]
    assert ("1/unused/4B", "Unused ballots of style 4B") in found


def test_behind_the_bins_stand_the_paper_taken_out_at_noon_and_every_compartment_counted_or_not(day_of):
    day = day_of(BINS.replace(" ballots.main 234 ballots.write-in 0", ""))
    found = second_counts.behind(Line("bins:T1", 0, 1, ""), HARROW, day)

    assert ["3/ballots/main", "3/ballots/write-in", "1/ballots"] == [count.where for count in found]
    assert [(), (), (270,)] == [count.counts for count in found]
    assert (531, 531) == (lambda row: (row.left, row.right))(
        line(
            day_of(
                BINS.replace(" ballots.main 234 ballots.write-in 0", "")
                + """
        21:00 counted-again of 3 field ballots thing main n 249 by Vance, Pellow
        21:01 counted-again of 3 field ballots thing write-in n 12 by Vance, Pellow"""
            ),
            "bins:T1",
        )
    )


def test_only_counts_that_stand_in_the_record_can_be_made_again(day_of):
    day = day_of(COUNTED + "20:46 spoiled style 4A by Renn\n20:47 take back 5")

    assert second_counts.find(99, "unused", "4A", HARROW, day) is None
    assert second_counts.find(1, "unused", "9Z", HARROW, day) is None
    assert second_counts.find(2, "drop_off", "", HARROW, day).counts == (0,)
    assert second_counts.find(4, "ballots", "P4", HARROW, day) is None  # a tape is read, not counted by hand
    assert second_counts.find(5, "ballots", "", HARROW, day) is None


def test_those_who_counted_before_are_known_the_first_pair_and_every_later_one(day_of):
    count = second_counts.find(1, "unused", "4A", HARROW, day_of(COUNTED + AGAIN.format(965)))

    assert count.signers == ("Calloway", "Renn", "Vance", "Pellow")


def test_a_correction_of_the_first_entry_says_the_whole_row_anew(day_of):
    day = day_of(
        COUNTED
        + AGAIN.format(965)
        + '21:00 correct 1 unused.4A [965,965] because "the first pair had written its number wrong" by Calloway, Renn'
    )

    assert [965, 965] == day.entry(1).body["unused"]["4A"] and gap(day) == 0
    assert [966, 965] == day.entry(1).struck[0].body["unused"]["4A"]


def test_what_the_pair_signs_names_the_figure_and_their_count(day_of):
    day = day_of(COUNTED)
    said = checklist.statement("counted-again", {"of": 1, "field": "unused", "thing": "4A", "n": 1965}, HARROW, day)

    assert said == "Counted again by another pair: Unused ballots of style 4A, entry 1: 1,965 counted."


def test_the_count_of_another_pair_travels_in_the_packet_with_the_first(day_of):
    from webapp.packet import contents

    day = day_of(COUNTED + AGAIN.format(965))
    day.head = bytes(32)
    core = contents.core(HARROW, day, 1, None, 0)

    assert {"counts": [966, 965]} == core["stock"]["unused"]
    assert [["inspector", "elm", "pin"], ["inspector", "heron", "pin"]] == next(
        step[3] for step in core["steps"] if step[0] == "counted-again"
    )
