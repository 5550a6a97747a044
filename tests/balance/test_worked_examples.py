"""Nights that were published with their figures: each line gives the published difference. `trade.md` 4.4, 5 and 6 list the sources."""

import json

import pytest

from tests.balance.cast import gaps, open_lines
from webapp.precinct.balance.balance import balance
from webapp.precinct.explain.explain import explained

# J. Knauth, "Ballot Count Reconciliation" worksheets of one precinct, 2012-11-06 and 2015-11-03 (figures only)
WORKSHEETS = (
    {
        "id": "2012-11-06",
        "delivered": 2001,
        "left": 1166,
        "used": 835,
        "emergency": 0,
        "provisional": 31,
        "spoiled": 16,
        "challenged": 0,
        "tape": 788,
        "voters": 788,
    },
    {
        "id": "2015-11-03",
        "delivered": 1401,
        "left": 963,
        "used": 438,
        "emergency": 0,
        "provisional": 5,
        "spoiled": 2,
        "challenged": 0,
        "tape": 431,
        "voters": 431,
    },
)
# on these worksheets a challenged ballot is set aside like a provisional one: from stock, in neither tape nor voters
CHALLENGED = {"id": "challenged", "from_stock": True, "in_poll_book": False, "counted": False, "in_bin": False}


def worksheet(case):
    return {
        "stock": {"received": case["delivered"], "unused": case["left"]},
        "poll_book": case["voters"],
        "dispositions": [CHALLENGED],
        "set_aside": {kind: case[kind] for kind in ("emergency", "provisional", "spoiled", "challenged")},
        "tabulators": [{"id": "T1", "tape": case["tape"]}],
    }


@pytest.mark.parametrize("case", WORKSHEETS, ids=lambda case: case["id"])
def test_both_worksheets_of_a_precinct_official_balance(case):
    found = explained(worksheet(case))

    assert found.balanced
    assert {line.id: line.left for line in found.lines}["stock"] == case["used"]


def test_the_worksheets_restated_here_are_the_ones_on_file(shared):
    cases = json.loads(shared("data/worked-balances.json").read_text(encoding="utf-8"))["cases"]

    assert [{key: value for key, value in case.items() if key != "balanced"} for case in cases] == list(WORKSHEETS)
    assert all(case["balanced"] == explained(worksheet(case)).balanced for case in cases)


def test_a_first_advance_day_of_500_ballots_balances_without_any_tape():
    """Example 1, Elections Canada advance-poll log, fig. 25: recorded 105, spoiled 1, unused 394, given 500 (also F6)."""
    assert gaps({"stock": {"received": 500, "unused": 394}, "poll_book": 105, "set_aside": {"spoiled": 1}}) == {
        "paper-to-book": 0
    }


def test_a_last_advance_day_with_people_added_to_the_list_balances():
    """Example 2, Elections Canada log, fig. 26: list 100, added 5, spoiled 1, unused 394, given 500 (also F7); and a pad nobody touched."""
    people = [{"id": "poll_book", "n": [{"day": "list", "n": 100}, {"day": "added", "n": 5}]}]

    assert gaps({"stock": {"received": 500, "unused": 394}, "voters": people, "set_aside": {"spoiled": 1}}) == {
        "paper-to-book": 0
    }
    assert gaps({"stock": {"received": 100, "unused": 100}, "poll_book": 0}) == {"paper-to-book": 0}


def test_a_bin_counted_twice_closes_a_gap_of_27():
    """Example 5, Prince William County, release of November 2022: tape 531, first hand count 504."""
    tabulator = {"id": "T1", "tape": 531, "bins": {"main": 504}}
    first = explained({"tabulators": [tabulator]})
    again = explained({"tabulators": [{**tabulator, "bins": {"main": {"counts": [504, 531]}}}]})

    assert [line.gap for line in first.lines if line.id == "bins:T1"] == [-27]
    assert [line.gap for line in again.lines if line.id == "bins:T1"] == [0]
    assert "504, 531" in again.lines[0].says and "count again" in again.lines[0].says


def test_fifty_two_ballots_in_the_container_of_307_leave_255_to_be_found():
    """Example 6, Detroit precinct 152 in 2016 (Free Press): book 307, container 52, the rest still in the tabulator's bin."""
    figures = {"poll_book": 307, "tabulators": [{"id": "T1", "tape": 307}], "containers": [{"id": "C1", "ballots": 52}]}

    assert open_lines(figures) == {"containers": -255}


def test_a_county_shows_net_and_gross_because_gaps_cancel():
    """Example 7, Michigan audit of Detroit's worst 136 precincts: 128 over, 88 under: net +40, gross 216. Here as one file each way."""
    over = explained({"poll_book": 1000, "tabulators": [{"id": "T1", "tape": 1128}]}).gaps[0].gap
    under = explained({"poll_book": 1088, "tabulators": [{"id": "T1", "tape": 1000}]}).gaps[0].gap

    assert (-over - under, abs(over) + abs(under)) == (40, 216)


def test_ninety_four_more_check_ins_than_ballots_are_said_in_words():
    """Example 8, Tarrant County, election day 2020 (Secretary of State's audit): check-ins 101,369, tabulated 101,275."""
    line = explained({"poll_book": 101369, "tabulators": [{"id": "T1", "tape": 101275}]}).gaps[0]

    assert (line.id, line.gap) == ("poll-book", 94)
    assert "101369" in line.says and "101275" in line.says and "94 more check-ins than ballots" in line.says


def test_a_memory_that_was_full_at_3005_lost_4438_ballots():
    """Example 10, Carteret County 2004: 7,536 early voters, 3,005 stored, 93 curbside on paper, 4,438 lost."""
    figures = {"poll_book": 7536, "set_aside": {"hand-counted": 93}, "tabulators": [{"id": "T1", "tape": 3005}]}

    assert open_lines(figures) == {"poll-book": 4438}


def test_three_carriers_received_and_one_opened_stay_open():
    """Example 11, Madison 2024 (Votebeat, Jan 2025): three carrier envelopes with 125, 67 and 1 ballots unopened, 193 in all."""
    board = {"carriers": {"received": 3, "opened": 0}, "envelopes": {"received": 193}, "batches": []}

    assert open_lines({"board": board}) == {"carriers": 3}
    assert open_lines({"board": {**board, "carriers": {"received": 3, "opened": 3}}}) == {}


def test_161_forgotten_emergency_ballots_keep_stock_and_book_open():
    """Example 13, Suffolk County NY 2010 (27east): 161 ballots in the emergency box never fed; total here constructed."""
    figures = {
        "stock": {"received": 1000, "unused": 400},
        "poll_book": 600,
        "tabulators": [{"id": "T1", "tape": 439}],
        "boxes": [{"id": "X", "emergency": {"found": 161, "fed": 0, "hand_counted": 0, "left": 0}}],
    }

    assert open_lines(figures) == {"stock": 161, "poll-book": 161, "emergency": 161}


def test_a_recount_lower_by_2040_is_told():
    """Example 16, Broward 2018 (Miami Herald): first 714,859, second 712,819."""
    line = explained({"recounts": [{"of": "county", "first": 714859, "second": 712819}]}).gaps[0]

    assert (line.id, line.gap) == ("recount:county", -2040)


CARD = {
    "stock": {"received": 1200, "unused": 610},
    "poll_book": 575,
    "set_aside": {"spoiled": 14, "provisional": 8, "taken": 1, "emergency": 4, "hand-counted": 0},
    "tabulators": [{"id": "T1", "tape": 562}],
    "dispositions": [{"id": "provisional", "in_poll_book": True}],
}


def test_a_precinct_card_with_a_short_pack_balances_once_the_pack_is_counted():
    """Example 18, constructed in `trade.md`: 12 packs, one opened pack held 99; people 575 - 8 - 1 = 562 + 4."""
    assert open_lines(CARD) == {"stock": 1}
    assert open_lines({**CARD, "stock": {**CARD["stock"], "packs": [{"nominal": 100, "counted": 99}]}}) == {}


def test_a_precinct_card_with_a_short_pack_is_consistent_with_a_short_pack():
    found = [explanation.as_json()["because"] for explanation in explained(CARD).explanations]

    assert [{"code": "short-pack", "ballots": 1}] in found


def test_two_places_of_one_room_off_by_one_each_way_do_not_balance():
    """Example 21, from a Michigan clerk's statement (Detroit News 2020): -1 at A, +1 at B, 0 in the room."""
    figures = {
        "poll_book": [{"precinct": "A", "n": 300}, {"precinct": "B", "n": 200}],
        "tabulators": [{"id": "T1", "tape": [{"precinct": "A", "n": 299}, {"precinct": "B", "n": 201}]}],
    }

    assert gaps(figures) == {"poll-book": 0, "poll-book@A": 1, "poll-book@B": -1}
    assert explained(figures).explanations[0].as_json()["because"] == [
        {"code": "wrong-precinct", "from": "A", "to": "B", "ballots": 1}
    ]


def test_a_board_that_leaves_16_of_623_units_unexplained_counts_them():
    """Example 12, Detroit August 2021 (Free Press): 623 units, 594 balanced, 29 out. Units here are one-line files."""
    units = [balance({"poll_book": 1, "tabulators": [{"id": "T1", "tape": 1 + (n < 29)}]}) for n in range(623)]

    assert sum(unit.balanced for unit in units) == 594


def test_a_county_of_places_of_which_two_thirds_are_exact_is_told_place_by_place():
    """Example 8, the same audit of Tarrant County: 225 of 331 places at 0, 105 at 1 to 10, 1 at 11 to 50; 68.0 % exact (computed). Here as one-line files."""
    off = [0] * 225 + [n % 10 + 1 for n in range(105)] + [30]
    found = [balance({"poll_book": 300 + n, "tabulators": [{"id": "T1", "tape": 300}]}) for n in off]

    assert sum(one.balanced for one in found) == 225 and round(225 / len(found) * 100, 1) == 68.0
    assert max(line.gap for one in found for line in one.gaps) == 30


def test_of_177_precincts_that_are_off_three_quarters_are_off_by_one():
    """Example 9, Cuyahoga County, March 2012 (Pew): over 1,000 precincts, about 83 % exact, 177 not, nearly three quarters of those by 1, the worst by 6.
    The number of precincts is put at 1,041 here, which is the 83 % of the page."""
    sizes = [0] * 864 + [1] * 131 + [2] * 30 + [3] * 15 + [6]
    gaps = [
        line.gap
        for n in sizes
        for line in balance({"poll_book": 200 + n, "tabulators": [{"id": "T1", "tape": 200}]}).lines
    ]

    assert (sum(gap == 0 for gap in gaps), sum(gap != 0 for gap in gaps), max(gaps)) == (864, 177, 6)
    assert round(864 / len(gaps) * 100) == 83 and round(gaps.count(1) / 177, 2) == 0.74


def test_names_listed_twice_are_taken_off_the_check_ins():
    """Example 14, King County 2004 (Seattle Times): 1,003 names stood twice in the list of credited voters, which hid as many ballots without a voter.
    The page gives 3,539, then 1,217, then about 1,800; only the rule can be held: what is cancelled comes off the check-ins."""
    ballots, listed = 5000, 5000 - 1217
    figures = {
        "voters": [{"id": "poll_book", "n": listed, "cancelled": 0}],
        "tabulators": [{"id": "T1", "tape": ballots}],
    }
    figures["voters"][0]["cancelled"] = 1003

    assert open_lines({**figures, "voters": [{"id": "poll_book", "n": listed}]}) == {"poll-book": -1217}
    assert open_lines(figures) == {"poll-book": -1217 - 1003}


def test_blanks_left_out_of_a_count_show_as_ballots_the_contest_does_not_account_for():
    """Example 15, a Vermont primary of 2012: 993 ballots, 371 + 354 + 28 votes = 753, so 240 blanks by inference."""
    tape = {"ballots": 993, "votes": {"A": 371, "B": 354, "C": 28}, "under": 0, "over": 0}
    line = explained({"contests": [{"id": "GOV", "n": 1, "tapes": {"T1": tape}}]}).lines[0]

    assert (line.left, line.right, line.gap) == (753, 993, -240)
    assert open_lines({"contests": [{"id": "GOV", "n": 1, "tapes": {"T1": {**tape, "under": 240}}}]}) == {}


def test_a_hand_count_of_377_votes_more_is_told_as_a_recount():
    """Example 17, Windham NH 2020 (Union Leader): 4,329 on election night, 4,706 by hand, a gap of 377."""
    line = explained({"recounts": [{"of": "Windham", "first": 4329, "second": 4706}]}).gaps[0]

    assert line.gap == 377 and "377 more in the second count than in the first" in line.says
