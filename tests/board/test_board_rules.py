"""Rules of the place file, held where ballots are set aside and settled: two in one envelope, overvotes, read as blank, header cards.

Two ballots in one envelope are rejected in Montana (Mont. Code Ann. 13-15-201(1)); header cards, two alike, go first in Michigan, or the count must not
start (Mich. Admin. Code R 168.773(2)). The others are settings that differ from state to state (`board.md` 10).
"""

from datetime import datetime

import pytest

from board.test_board_day import CHECKED
from demo_precinct.count_board import board_place
from webapp.board.board_day import BoardEntry
from webapp.board.board_entries import board_day
from webapp.board.board_rules import BoardRules
from webapp.board.objections import against
from webapp.precinct.account.balanced_day import BalancedDay
from webapp.precinct.checklist import checklist, statement
from webapp.precinct.place import place_file

NOON = datetime(2026, 11, 3, 12)


def entry(kind, /, **body):
    return BoardEntry(kind, body, NOON)


def made(extra=0):
    envelopes = 25 - extra
    return entry("batch-made", batch="B001", kind="first", precincts={"F2": 25}, ballots=[25, 25], envelopes=envelopes, extra=extra, **CHECKED)  # fmt: skip


def fed(aside, **body):
    return entry("batch-fed", at="A1", batch="B001", before=0, after=25 - sum(aside.values()), aside=aside, **body)


def said(one, before=(), **rules):
    found = against(board_day(BoardRules(tabulators=("A1",), **rules), before), one)
    assert not any(objection.refused for objection in found)
    return " ".join(objection.says for objection in found)


SET_ASIDE = entry("problem", batch="B001", position=4, cause="two-in-one")


def settled(outcome, **body):
    return entry("settled", batch="B001", position=4, outcome=outcome, **body)


def test_where_none_counts_both_ballots_of_an_envelope_are_set_aside():
    told = said(fed({}), [made(1)], two_in_one="count-none")
    assert "1 extra ballot, and 0 set aside as two in one envelope: none of an envelope with two counts" in told
    assert "2 at least" in told
    assert "2 at least" in said(fed({"two-in-one": 1}), [made(1)], two_in_one="count-none")
    assert said(fed({"two-in-one": 2}), [made(1)], two_in_one="count-none") == ""


def test_where_the_board_decides_they_are_set_aside_and_wait():
    assert "they wait until the board has decided" in said(fed({}), [made(1)])
    assert said(fed({"two-in-one": 2}), [made(1)]) == ""
    assert [said(settled(one), [made(1), SET_ASIDE]) for one in ("waiting", "fed-after-all", "not-counted")] == [""] * 3


def test_where_all_count_they_are_fed_and_nothing_is_set_aside_for_it():
    assert said(fed({}), [made(1)], two_in_one="count-all") == ""
    assert "all count here: feed them" in said(fed({"two-in-one": 2}), [made(1)], two_in_one="count-all")
    assert "all count here" in said(SET_ASIDE, [made(1)], two_in_one="count-all")


@pytest.mark.parametrize("outcome", ["duplicated", "fed-after-all", "hand-counted"])
def test_where_none_counts_no_other_outcome_is_taken_unsaid(outcome):
    more = {"serial": "D-0001"} if outcome == "duplicated" else {}
    told = said(settled(outcome, **more), [made(1), SET_ASIDE], two_in_one="count-none")
    assert "none of them counts" in told and "“Not counted, by law”" in told
    assert said(settled("not-counted"), [made(1), SET_ASIDE], two_in_one="count-none") == ""


def test_an_overvote_is_set_aside_only_where_two_look_at_it():
    one = entry("problem", batch="B001", position=4, cause="overvote")
    assert "fed here as it is" in said(one, [made()]) and "fed here as it is" in said(fed({"overvote": 1}), [made()])
    assert said(one, [made()], overvote="look") == said(fed({"overvote": 1}), [made()], overvote="look") == ""


def test_a_ballot_read_as_blank_is_fed_as_it_is_or_counted_by_hand():
    one = entry("problem", batch="B001", position=4, cause="blank-read")
    assert said(one, [made()]) == ""
    assert [said(settled(outcome), [made(), one]) for outcome in ("fed-after-all", "hand-counted", "waiting")] == [
        ""
    ] * 3
    assert "truly blank, it is fed after all" in said(settled("not-counted"), [made(), one])
    assert "fed here as it is" in said(one, [made()], blank_read="as-is")


def test_two_header_cards_go_first_where_the_place_file_says_so():
    assert said(fed({}), [made()]) == ""
    assert "the count does not start without them" in said(fed({}), [made()], header="fed-2")
    assert "the count does not start" in said(fed({}, header_cards={"1": True}), [made()], header="fed-2")
    assert said(fed({}, header_cards={"1": True, "2": True}), [made()], header="fed-2") == ""


def test_the_form_asks_for_header_cards_only_there_and_no_counter_counts_them():
    ours = board_place()
    cards = place_file.read(place_file.write(ours).replace('header = "ours"', 'header = "fed-2"').encode())
    form = {"batch": "B001", "before": "0", "after": "25", "header_back": "yes", "end_reached": "yes"}
    for place, more, mistakes in (
        (ours, {}, set()),
        (cards, {}, {"header_cards.1", "header_cards.2"}),
        (cards, {"header_cards.1": "yes", "header_cards.2": "yes"}, set()),
    ):
        step = next(step for step in checklist.steps(place) if step.id == "batch-fed")
        read = checklist.read_form(checklist.fill(step, place, "A1"), "A1", place, BalancedDay(place), {**form, **more}, place.at(place.opens))  # fmt: skip
        assert set(read.mistakes) == mistakes
    assert read.body["header_cards"] == {"1": True, "2": True}
    told = statement.statement("batch-fed", read.body, cards)
    assert "The first header card" in told or "the first header card" in told
