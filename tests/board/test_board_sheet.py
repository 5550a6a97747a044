"""The board kept up with its record: hours in force, an order that moves one, exceptions that lack a figure, small batches."""

from dataclasses import replace
from datetime import timedelta
from types import SimpleNamespace

import pytest

from demo_precinct.count_board import board_place
from webapp.board.board_rules import of_few
from webapp.board.board_sheet import BoardSheet, board_entry, rules_of
from webapp.board.objections import against

PLACE = replace(board_place(), mode="live")
SEVEN = PLACE.at(PLACE.opens)
MINUTE = 60_000


def kept(kind, number=1, time=SEVEN, /, not_so=False, signers=(), **body):
    by = tuple(SimpleNamespace(person=person) for person in signers)
    return SimpleNamespace(kind=kind, number=number, time=time, not_so=not_so, signers=by, body=body)


def sheet(*entries):
    found = BoardSheet(PLACE, lambda kinds: ())
    for entry in entries:
        found.add(entry)
    return found


def said(day, kind, time, /, **body):
    entry = board_entry(PLACE, kind, body, time)
    return " ".join(one.says for one in against(day, entry) if one.refused)


FED = {"at": "A1", "batch": "B001", "before": 0, "after": 25}
MADE = {"batch": "B001", "kind": "first", "ballots": 25, "header_checked": True, "way_round": True}


@pytest.mark.parametrize(
    ("kind", "hour", "body"),
    [
        ("tray-open", -23 * 60, {"tray": "1", "precincts": ["W3"], "envelopes": 5}),
        ("unfold", 0, {"tray": "1", "ballots": 5}),
        ("counting-begins", 0, {}),
        ("batch-fed", 0, FED),
        ("tape-prints", 13 * 60, {"at": "A1"}),
        ("tape-typed", 13 * 60, {"at": "A1"}),
    ],
)
def test_nothing_is_done_before_its_hour_on_a_live_day(kind, hour, body):
    """Hours of the place file: opening the day before at 08:00, unfolding and counting from 07:00, tapes from 20:00."""
    day = sheet(kept("batch-made", **MADE)).day
    early, due = SEVEN + (hour - 1) * MINUTE, SEVEN + hour * MINUTE
    assert "Only an order of a court or the office" in said(day, kind, early, **body)
    assert "Only an order" not in said(day, kind, due, **body)


def test_practice_may_go_ahead_of_time():
    assert rules_of(board_place()).hours.practice and not rules_of(PLACE).hours.practice


def test_an_order_signed_by_two_moves_an_hour():
    order = {"changes": "hours", "hour_moved": "count_from", "hour_to": SEVEN - 60 * MINUTE}
    made = kept("batch-made", **MADE)
    assert "Counting opens" in said(sheet(made).day, "batch-fed", SEVEN - 30 * MINUTE, **FED)
    assert said(sheet(made, kept("instruction", 2, **order)).day, "batch-fed", SEVEN - 30 * MINUTE, **FED) == ""


def test_an_order_that_is_in_doubt_moves_nothing():
    order = {"hour_moved": "count_from", "hour_to": SEVEN - 60 * MINUTE}
    hours = sheet(kept("instruction", not_so=True, **order)).day.rules.hours
    assert hours == rules_of(PLACE).hours


def test_an_exception_without_its_figures_changes_nothing():
    day = sheet(kept("batch-made", **MADE), kept("batch-fed", 2, not_so=True, at="A1", batch="B001", before=0)).day
    assert day.batches["B001"].fed is None


def test_an_exception_with_its_figures_counts_with_them():
    day = sheet(kept("batch-made", **MADE), kept("batch-fed", 2, not_so=True, **FED | {"after": 24})).day
    assert day.batches["B001"].fed.after == 24


def test_the_order_of_feeding_is_that_of_the_record_and_not_of_coarse_times():
    one, two = kept("batch-made", 1, **MADE), kept("batch-made", 2, **MADE | {"batch": "D001", "kind": "duplicates"})
    fed = (
        kept("batch-fed", 3, SEVEN, **FED | {"batch": "D001"}),
        kept("batch-fed", 4, SEVEN, **FED | {"before": 25, "after": 50}),
    )
    assert sheet(one, two, *fed).day.fed_on["A1"] == ["D001", "B001"]


@pytest.mark.parametrize(
    ("kind", "body", "few"),
    [
        ("batch-made", {"ballots": 9}, True),
        ("batch-made", {"ballots": [9, 10]}, False),
        ("batch-made", {"ballots": [10, 9]}, True),
        ("batch-fed", {"before": 40, "after": 48, "aside": {"torn": 1}}, True),
        ("batch-fed", {"before": 40, "after": 48, "aside": {"torn": 2}}, False),
        ("batch-fed", {"before": 40, "after": 65}, False),
        ("tray-open", {"envelopes": 3}, False),
    ],
)
def test_a_batch_of_few_ballots_keeps_its_quarter_hour_only(kind, body, few):
    assert of_few(10, kind, body) is few


def test_hours_are_told_as_people_say_them():
    assert rules_of(PLACE).hours.count_from - rules_of(PLACE).hours.open_from == timedelta(hours=23)


def test_the_rows_of_one_batch_are_those_of_the_whole_balance():
    """A page of one batch draws its neighbors alone; every row of it is named, and is off by, what the whole balance says."""
    from webapp.board.board_account import BoardAccount
    from webapp.precinct.balance.balance import balance

    day = BoardAccount(PLACE)
    counter = 0
    for n in range(1, 31):
        through = 24 if n == 17 else 25
        before = counter + (3 if n == 18 else 0)
        for number, (kind, body) in enumerate(
            (
                ("batch-made", MADE | {"batch": f"B{n:03}", "envelopes": 26 if n == 5 else 25}),
                ("batch-fed", FED | {"batch": f"B{n:03}", "before": before, "after": before + through}),
            )
        ):
            day._board.add(kept(kind, 2 * n + number, **body))
        counter = before + through
    whole = {
        (line.name, line.gap) for line in balance({"board": day.figures["board"]}).lines if line.id.startswith("batch")
    }
    for id in ("B001", "B005", "B017", "B018", "B030"):
        mine = {(line.name, line.gap) for line in day.around(id).lines if line.id.endswith(id)}
        assert mine and mine <= whole, id
    assert {gap for name, gap in whole if gap} == {1, 3}


def test_a_precinct_with_few_envelopes_is_not_counted_alone():
    """W4 has 4 envelopes here, fewer than 10: a batch of it alone is refused, one together with W3 is not."""
    came = kept("carrier-in", 1, carrier="K1", slip_envelopes={"W3": 60, "W4": 4})
    day, late = sheet(came).day, SEVEN + MINUTE
    assert "its ballots are not counted alone" in said(
        day, "batch-made", late, **MADE | {"precincts": {"W4": 4}, "ballots": 4}
    )
    assert said(day, "batch-made", late, **MADE | {"precincts": {"W3": 21, "W4": 4}}) == ""


def test_duplicates_that_nobody_compares_by_the_place_file_are_not_asked_for_at_the_close():
    from webapp.board.left_open import left_open

    made = kept("duplicate-made", serial="D-0001", style="3A")
    assert "D-0001: no other pair has compared it with its original yet." in left_open(sheet(made).day)
    other = BoardSheet(replace(PLACE, board=replace(PLACE.board, duplicates_checked="none")), lambda kinds: ())
    other.add(made)
    assert left_open(other.day) == ()


def test_a_batch_says_the_table_at_which_both_who_signed_it_sat():
    sat = [kept("seat", n, table="3", who=who) for n, who in enumerate(("corvin", "dahl"), 1)]
    pair, others = ("corvin", "dahl"), ("corvin", "grady")
    found = sheet(
        *sat,
        kept("batch-made", 3, signers=pair, **MADE),
        kept("batch-made", 4, signers=others, **{**MADE, "batch": "B002"}),
    )
    assert found.tables == {"B001": "3", "B002": ""}
    found.add(kept("seat", 5, table="up", who="dahl"))
    found.add(kept("batch-made", 6, signers=pair, **{**MADE, "batch": "B003"}))
    assert found.tables["B003"] == "" and found.tables["B001"] == "3"


def test_whoever_made_a_duplicate_does_not_compare_it():
    made = kept("duplicate-made", 1, signers=("corvin", "dahl"), serial="D-0001")
    agree = {"from": "D-0001", "to": "D-0001", "agree": True}
    found = sheet(made, kept("duplicate-checked", 2, signers=("dahl", "grady"), **agree))
    assert not found.day.duplicates["D-0001"].checked and found.made_by("dahl", "D-0001", "D-0009") == ["D-0001"]
    found.add(kept("duplicate-checked", 3, signers=("holm", "grady"), **agree))
    assert found.day.duplicates["D-0001"].checked and found.made_by("grady", "D-0001", "D-0009") == []
