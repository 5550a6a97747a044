"""Nights that are hard to write down: each balances, or shows exactly the gap it has. `trade.md` 3 and 14 tell where they come from."""

from tests.balance.cast import gaps, night, open_lines
from webapp.precinct.explain.explain import explained


def test_two_precincts_off_by_one_each_way_never_cancel():
    figures = {
        "poll_book": [{"precinct": "P1", "n": 211}, {"precinct": "P2", "n": 199}],
        "tabulators": [{"id": "T1", "tape": [{"precinct": "P1", "n": 210}, {"precinct": "P2", "n": 200}]}],
    }

    assert not explained(figures).balanced and open_lines(figures) == {"poll-book@P1": 1, "poll-book@P2": -1}


def test_a_memory_moved_to_a_spare_at_noon_balances_run_by_run():
    """Replacement design (a): the memory moves, the public counter goes on, each unit has its own protective counter."""
    runs = [
        {"unit": "A", "counter": [0, 212], "lifetime": [9000, 9212]},
        {"unit": "B", "counter": [212, 431], "lifetime": [4000, 4219]},
    ]
    figures = night(tabulators=[{"id": "M1", "tape": 431, "runs": runs, "bins": {"main": 431}}])

    assert open_lines(figures) == {} and explained(figures).complete
    runs[1]["lifetime"][1] += 1
    assert open_lines(night(tabulators=[{"id": "M1", "tape": 431, "runs": runs, "bins": {"main": 431}}])) == {
        "lifetime:M1@B": 1
    }


def test_a_spare_that_starts_at_zero_adds_its_own_tape():
    """Replacement design (b): two tapes, T is their sum, one box under both."""
    figures = night(
        tabulators=[
            {"id": "M0", "box": "X", "tape": 212, "counter_at_zero": 0, "counter_at_close": 212},
            {"id": "M1", "box": "X", "tape": 219, "counter_at_zero": 0, "counter_at_close": 219},
        ],
        boxes=[{"id": "X", "bins": {"main": 431}}],
    )

    assert open_lines(figures) == {} and explained(figures).complete


def test_a_morning_fed_again_on_the_spare_counts_once():
    """Replacement design (c)."""
    tabulators = [
        {
            "id": "M0",
            "box": "X",
            "tape": 212,
            "counter_at_zero": 0,
            "counter_at_close": 212,
            "fed_again": {"on": "M1", "n": 212},
        },
        {"id": "M1", "box": "X", "tape": 431, "counter_at_zero": 0, "counter_at_close": 431},
    ]

    assert open_lines(night(tabulators=tabulators, boxes=[{"id": "X", "bins": {"main": 431}}])) == {}
    tabulators[0]["fed_again"]["n"] = 211
    assert open_lines(night(tabulators=tabulators, boxes=[{"id": "X", "bins": {"main": 431}}])) == {
        "stock": -1,
        "poll-book": -1,
        "bins:X": -1,
    }


def test_a_bin_emptied_uncounted_is_the_counters_number():
    """OH 3505.25: a midday collection into sealed containers, contents not examined."""
    figures = night(
        tabulators=[{"id": "T1", "box": "X", "tape": 431, "counter_at_zero": 0, "counter_at_close": 431}],
        boxes=[
            {
                "id": "X",
                "bins": {"main": 200, "write-in": 19},
                "emptied": [{"at": "12:10", "counter": 212, "n": None, "container": "C1"}],
            }
        ],
        containers=[{"id": "C1", "seal": "0412", "ballots": None}, {"id": "C2", "seal": "0413", "ballots": 219}],
    )

    assert open_lines(figures) == {} and gaps(figures)["bins:T1"] == 0 and gaps(figures)["containers"] == 0


def test_fifty_four_photocopies_counted_by_hand_raise_the_book_and_not_the_stock():
    """Bridgeport 2010 (CT-174a-18): copies need a line of their own."""
    figures = night(
        poll_book=486,
        other_stock={"copy": {"received": 60, "unused": 6}},
        set_aside={"spoiled": 2, "provisional": 5, "taken": 1, "hand-counted": [{"origin": "copy", "n": 54}]},
        containers=[{"id": "C1", "ballots": 485}],
    )

    assert open_lines(figures) == {}
    assert open_lines({**figures, "other_stock": {"copy": {"received": 60, "unused": 5}}}) == {"stock@copy": 1}


def test_two_absentees_counted_by_hand_are_neither_in_the_stock_nor_in_the_book():
    assert (
        open_lines(
            night(
                set_aside__spoiled=2,
                set_aside={
                    "spoiled": 2,
                    "provisional": 5,
                    "taken": 1,
                    "hand-counted": [{"origin": "absentee", "n": 2}],
                },
            )
        )
        == {}
    )


def test_two_absentees_counted_by_hand_are_in_the_book_where_the_place_marks_them():
    aside = {"spoiled": 2, "provisional": 5, "taken": 1, "hand-counted": [{"origin": "absentee", "n": 2}]}

    assert (
        open_lines(night(poll_book=434, set_aside=aside, dispositions=[{"id": "absentee", "in_poll_book": True}])) == {}
    )


def test_two_spoiled_cards_draw_nothing_from_the_paper_stock():
    aside = {"spoiled": [{"n": 2}, {"origin": "card", "n": 2}], "provisional": 5, "taken": 1}

    assert open_lines(night(set_aside=aside)) == {}
    assert (
        open_lines(
            night(
                set_aside=aside,
                cast_from={"card": 40},
                other_stock={"card": {"received": 50, "unused": 8}},
                stock__unused=1001,
                stubs__next=400,
            )
        )
        == {}
    )


def test_three_second_sheets_kept_by_voters_are_a_note():
    figures = night(rules={"sheets": 2}, T1__tape=[{"sheet": 1, "n": 431}, {"sheet": 2, "n": 428}])

    assert explained(figures).balanced and any(
        "3 second sheets not returned" in line.says for line in explained(figures).lines
    )


def test_ballots_lent_to_another_place_come_off_what_was_received():
    assert open_lines(night(stock__sent=[{"at": "15:30", "to": "P9", "n": 25}], stock__unused=936)) == {}
    assert open_lines(night(stock__unused=936)) == {"stock": 25, "stubs": -25}


def test_ballots_borrowed_come_on_top():
    assert open_lines(night(stock__resupply=[{"at": "15:10", "n": 100}], stock__unused=1061)) == {}


def test_the_write_in_bin_is_part_of_the_tape_and_feeding_it_again_shows_its_size():
    """First theory in Minneapolis 2008 (observer notes): re-feeding adds the bin's size to the tape."""
    figures = night(T1__tape=460, T1__counter_at_close=460, T1__lifetime_at_close=9460)

    assert open_lines(figures) == {"stock": -29, "poll-book": -29, "bins:T1": -29}
    assert explained(figures).explanations[0].as_json()["because"] == [
        {"code": "bin-fed-again", "tabulator": "T1", "ballots": 29}
    ]


def test_a_place_may_void_fled_voters_ballots_without_taking_them_out_of_the_book():
    """VA: voided, in the envelope of the spoiled (FFX-50); TX: never deposited, an accounting term (TX-2020-09)."""
    voided = [{"id": "voided", "from_stock": True, "in_poll_book": True, "counted": False, "in_bin": False}]

    assert open_lines(night(dispositions=voided, set_aside={"spoiled": 2, "provisional": 5, "voided": 1})) == {}


def test_a_challenged_ballot_that_is_cast_changes_no_line():
    """MI: numbered, covered, then cast normally (R 168.771ff)."""
    challenged = [{"id": "challenged", "from_stock": True, "in_poll_book": True, "counted": True, "in_bin": True}]

    assert (
        open_lines(
            night(dispositions=challenged, set_aside={"spoiled": 2, "provisional": 5, "taken": 1, "challenged": 3})
        )
        == {}
    )
