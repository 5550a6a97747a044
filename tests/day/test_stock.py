"""The paper side: received, added, sent, packs by their true number, stubs, what is unused and what cannot be."""

import json

import pytest

from day.cast import TWO

CLOSE = "20:20 unused unused.4A 960 by Calloway, Renn\n"


def stock(day):
    return day.figures["stock"]


def line(day, name):
    return next(found for found in day.balance.lines if found.id == name and not found.scope)


def test_at_dawn_there_is_what_the_place_file_says(day_of):
    assert {"received": 1400} == stock(day_of("05:00 arrivals present.Calloway 05:00"))


def test_a_number_counted_anew_at_the_opening_stands(day_of):
    day = day_of("06:00 packs received.4A 1399 opened_counted.4A 99 masters 10 by Calloway, Vance")

    assert {"received": 1399, "held_back": 10} == stock(day)


def test_packs_count_by_what_was_in_them(day_of):
    """A precinct official's own worksheets: packs are made up by weight, 99 and 102 occur, the true count is taken when one is opened (worked-balances.json)."""
    day = day_of(
        "06:00 packs opened_counted.4A 99 by Calloway, Vance\n14:00 pack-opened style 4A nominal 100 counted [101,102,102] by Vance, Pellow\n"
        + CLOSE
    )

    assert [{"nominal": 100, "counted": 99}, {"nominal": 100, "counted": 102}] == stock(day)["packs"]


def test_a_short_pack_explains_a_missing_ballot():
    """Precinct card, constructed, with a pack that held 99 (the trade's notes, example 18): 1,199 = 562 + 4 + 8 + 14 + 1 + 610."""
    from dataclasses import replace

    from day.story import HARROW, Story
    from webapp.precinct.account.balanced_day import fold
    from webapp.precinct.place.place import Stock

    place = replace(HARROW, stock=(Stock("4A", 1200, 100),))
    told = """
        06:00 packs opened_counted.4A 99 by Calloway, Vance
        09:00 found ballots 1 style 4A where booth becomes spoiled-not-reissued by Vance, Renn
        20:20 unused unused.4A 610 by Calloway, Renn
        20:21 aside-counts spoiled.4A 15 provisional.other 8 drop_off 0 by Calloway, Renn
        20:22 book-count check_ins.P4 567 by Calloway, Renn
        20:23 emergency-opened X1 ballots_found 4 fed 0 hand_counted 0 left 4 by Calloway, Renn
        20:45 tape-typed T1 ballots.P4 562 by Calloway, Renn
    """
    day = fold(place, Story(place).entries(told))

    assert 0 == line(day, "stock").gap == line(day, "poll-book").gap
    nominal = fold(place, Story(place).entries(told.replace("opened_counted.4A 99", "opened_counted.4A 100")))
    assert 1 == line(nominal, "stock").gap


@pytest.mark.parametrize("case", [0, 1])
def test_the_published_worksheets_balance_as_days(day_of, shared, case):
    from dataclasses import replace

    from day.story import HARROW
    from webapp.precinct.place.place import Stock

    told = json.loads(shared("data/worked-balances.json").read_text())["cases"][case]
    place = replace(HARROW, stock=(Stock("4A", told["delivered"], 100),))
    day = day_of(
        f"""
        20:20 unused unused.4A {told["left"]} by Calloway, Renn
        20:21 aside-counts spoiled.4A {told["spoiled"]} provisional.other {told["provisional"]} drop_off 0 by Calloway, Renn
        20:22 book-count check_ins.P4 {told["voters"]} by Calloway, Renn
        20:23 emergency-opened X1 ballots_found {told["emergency"]} fed 0 hand_counted 0 left {told["emergency"]} by Calloway, Renn
        20:45 tape-typed T1 ballots.P4 {told["tape"]} by Calloway, Renn
    """,
        place,
    )

    assert told["used"] == line(day, "stock").left
    assert 0 == line(day, "stock").gap == line(day, "poll-book").gap


def test_resupply_and_ballots_sent_are_rows_of_their_own(day_of):
    day = day_of(
        "15:10 resupply style 3A ballots 100 origin paper by Vance, Pellow\n16:00 sent style 4B ballots [50,50] by Vance, Pellow",
        TWO,
    )

    assert [{"style": "3A", "n": 100}] == stock(day)["resupply"]
    assert [{"style": "4B", "n": 50}] == stock(day)["sent"]
    assert [{"style": "3A", "n": 1000}, {"style": "4B", "n": 400}] == stock(day)["received"]


def test_copies_are_a_stock_of_their_own(day_of):
    day = day_of(
        "15:10 resupply style 4A ballots 60 origin copy by Vance, Pellow\n20:20 unused unused.4A 960 copies_unused 6 cards_cast 4 absentee_fed 3 by Calloway, Renn"
    )
    figures = day.figures

    assert {"copy": {"received": 60, "unused": 6}} == figures["other_stock"]
    assert {"card": 4, "absentee": 3} == figures["cast_from"]
    assert "resupply" not in figures["stock"]


def test_unused_waits_until_every_style_is_counted(day_of):
    assert "unused" not in stock(day_of("20:20 unused unused.3A 760 by Calloway, Renn", TWO))


def test_more_unused_than_ever_came_is_left_out_and_said(day_of):
    day = day_of("20:20 unused unused.4A 1960 by Calloway, Renn")

    assert "unused" not in stock(day)
    assert (
        "1,960 ballots are unused and 1,400 ballots came, resupply and ballots sent elsewhere reckoned in: 560 more than there ever were. "
        "Count again, and correct entry 1.",
    ) == day.impossible
    assert any("unused" in name for lack in day.balance.unchecked if lack.id == "stock" for name in lack.missing)


def test_a_corrected_count_is_possible_again(day_of):
    day = day_of(
        '20:20 unused unused.4A 1960 by Calloway, Renn\n20:30 correct 1 unused.4A 960 because "a digit too many" by Calloway, Renn'
    )

    assert (960, ()) == (stock(day)["unused"], day.impossible)


@pytest.mark.parametrize(
    "packs, stubs",
    [
        ("", [{"first": 1, "next": 442, "missing": [57]}]),
        (
            "14:00 pack-opened style 4A nominal 100 counted 100 stub 101 by Vance, Pellow\n",
            [{"first": 1, "next": 442, "missing": [57]}],
        ),
        (
            "14:00 pack-opened style 4A nominal 100 counted 100 stub 401 by Vance, Pellow\n",
            [{"first": 1, "next": 101, "missing": [57]}, {"first": 401, "next": 442, "missing": []}],
        ),
    ],
)
def test_stub_numbers_run_on_and_a_jump_between_packs_breaks_the_range(day_of, packs, stubs):
    day = day_of(
        "06:00 packs opened_counted.4A 99 by Calloway, Vance\n06:05 first-stub first.4A 1 missing.4A [57] by Vance\n"
        + packs
        + "20:20 unused unused.4A 960 next.4A 442 by Calloway, Renn"
    )

    assert stubs == day.figures["stubs"]


def test_stubs_that_run_back_draw_no_line(day_of):
    day = day_of("06:05 first-stub first.4A 500 by Vance\n20:20 unused unused.4A 960 next.4A 442 by Calloway, Renn")

    assert "stubs" not in day.figures
