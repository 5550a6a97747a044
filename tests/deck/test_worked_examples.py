"""Decks worked out by hand: the totals, the dealing, the special ballots, the tape, and the format of deck.json."""

import json

from deck.cast import BOND, MAYOR, contest, deck_of, marks, plan, style
from webapp.deck.dealing import deal
from webapp.deck.deck import build


def test_mayor_and_bond_are_dealt_as_worked_by_hand():
    deck = deck_of(MAYOR, BOND)

    assert marks(deck, "pattern") == [
        *[{"MAYOR": ["C"], "BOND": ["NO"]}] * 2,
        {"MAYOR": ["C"], "BOND": ["YES"]},
        {"MAYOR": ["C"]},
        *[{"MAYOR": ["B"]}] * 3,
        *[{"MAYOR": ["A"]}] * 2,
        {"MAYOR": ["+1"]},
    ]
    assert marks(deck, "full") == [{"MAYOR": ["C"], "BOND": ["NO"]}]
    assert marks(deck, "over") == [{"MAYOR": ["A", "B"], "BOND": ["YES", "NO"]}]


def test_the_tape_of_mayor_and_bond_reads_as_worked_by_hand():
    deck = deck_of(MAYOR, BOND)

    assert deck.expected["T1"] == {
        "ballots": 16,
        "precincts": {"P1": 16},
        "contests": {
            "MAYOR": {"ballots": 16, "votes": {"A": 2, "B": 3, "C": 5}, "write_in": 1, "under": 4, "over": 1},
            "BOND": {"ballots": 16, "votes": {"YES": 1, "NO": 3}, "under": 11, "over": 1},
        },
    }
    assert deck.expected["T2"]["ballots"] == 17
    assert deck.expected["together"]["contests"]["MAYOR"]["votes"] == {"A": 4, "B": 6, "C": 10}


def test_deck_json_is_as_its_page_shows_it():
    shown = json.loads(deck_of(MAYOR, BOND).json_bytes)

    assert shown["styles"] == [
        {
            "id": "1",
            "positions": [
                ["MAYOR", "A"],
                ["MAYOR", "B"],
                ["MAYOR", "C"],
                ["MAYOR", "+1"],
                ["BOND", "YES"],
                ["BOND", "NO"],
            ],
            "ballots": 16,
            "minimum": 13,
            "pattern": 10,
        }
    ]
    rows = {row["id"]: row for row in shown["rows"]}
    assert rows["1-001"] == {
        "id": "1-001",
        "style": "1",
        "precinct": "P1",
        "kind": "pattern",
        "marks": {"MAYOR": ["C"], "BOND": ["NO"]},
        "fold": True,
    }
    assert rows["1-010"]["names"] == {"MAYOR": ["+1"]}
    assert rows["1-T"] == {
        "id": "1-T",
        "style": "1",
        "precinct": "P1",
        "kind": "tabulator",
        "marks": {},
        "feeds": {"T1": 1, "T2": 2},
    }
    assert rows["X-001"] == {
        "id": "X-001",
        "kind": "refuse",
        "why": "other-edition",
        "marks": {},
        "feeds": {"T1": 0, "T2": 0},
    }
    assert (shown["ballots"], shown["fed"]) == (19, {"T1": 16, "T2": 17})
    assert list(shown) == ["v", "place", "edition", "place_digest", "styles", "rows", "expected", "ballots", "fed"]


def test_two_measures_get_unlike_totals_and_unlike_columns():
    deck = deck_of(contest("ONE", "YES NO"), contest("TWO", "YES NO"))

    assert marks(deck, "pattern") == [
        {"ONE": ["NO"], "TWO": ["NO"]},
        {"ONE": ["NO"], "TWO": ["NO"]},
        {"ONE": ["YES"], "TWO": ["NO"]},
        {"TWO": ["YES"]},
    ]


def test_a_council_of_two_seats_is_dealt_two_a_ballot():
    deck = deck_of(contest("COUNCIL", "ABCD", 2, n=2))
    pattern = [set(row["COUNCIL"]) for row in marks(deck, "pattern")]

    assert {p: [i for i, row in enumerate(pattern, 1) if p in row] for p in ("D", "C", "B", "A", "+1", "+2")} == {
        "D": [1, 2, 3, 4, 5, 6],
        "C": [1, 7, 8, 9, 10],
        "B": [2, 3, 4, 5],
        "A": [6, 7, 8],
        "+1": [9],
        "+2": [10],
    }
    assert marks(deck, "short") == [{"COUNCIL": ["D"]}]


def test_thirty_measures_take_twelve_ballots_and_twenty_unopposed_twenty():
    assert deck_of(*(contest(f"M{i}", "YES NO") for i in range(30))).pattern == {"1": 12}
    assert deck_of(*(contest(f"U{i}", "A") for i in range(20))).pattern == {"1": 20}


def test_dealing_gives_each_position_its_total_once_a_row_and_rows_alike():
    columns = deal((3, 4, 5, 6, 1, 1), 10, 7)

    assert [column.bit_count() for column in columns] == [3, 4, 5, 6, 1, 1]
    loads = [sum(column >> row & 1 for column in columns) for row in range(10)]
    assert max(loads) - min(loads) <= 1


def test_straight_party_counts_where_the_contest_has_no_mark_of_its_own():
    """Two parties: 2 and 3 straight ballots, one with both (no party counts), one with the last and a mark for another."""
    party = contest("SP", "M P", parties=("M", "P"))
    deck = build(plan(style("1", "P1", party, contest("GOV", "A B", parties=("M", "P"))), straight="SP"))
    rows = deck.as_json()["rows"]

    assert [row["marks"] for row in rows if row["kind"] in ("straight", "two-party", "crossover")] == [
        *[{"SP": ["M"]}] * 2,
        *[{"SP": ["P"]}] * 3,
        {"SP": ["M", "P"]},
        {"SP": ["P"], "GOV": ["A"]},
    ]
    own = {choice: sum(["GOV", [choice]] == [k, v] for row in rows for k, v in row["marks"].items()) for choice in "AB"}
    assert deck.expected["T1"]["contests"]["SP"]["votes"] == {"M": 2, "P": 4}
    assert deck.expected["T1"]["contests"]["SP"]["over"] == 1
    assert deck.expected["T1"]["contests"]["GOV"]["votes"] == {"A": own["A"] + 2, "B": own["B"] + 3}


def test_a_second_sheet_is_left_out_of_one_ballot():
    deck = build(plan(style("1", "P1", MAYOR, BOND, sheet_of=(0, 1)), tabulators="T1"))

    row = next(row for row in deck.as_json()["rows"] if row["kind"] == "one-sheet")
    assert row["sheets"] == 1 and row["marks"] == {}
    tape = deck.expected["T1"]
    assert tape["contests"]["BOND"]["ballots"] == tape["contests"]["MAYOR"]["ballots"] - 1 == tape["ballots"] - 1
    assert tape["sheets"] == 2 * tape["ballots"] - 1


def test_rows_are_numbered_and_precincts_told_apart():
    deck = build(plan(style("1", "P1 P2", MAYOR), style("2", "P3", MAYOR), style("3", "P4", MAYOR)))
    counts = deck.expected["T1"]["precincts"]

    assert len(set(counts.values())) == 4
    assert [row.id for row in deck.rows if row.kind == "precinct" and row.precinct == "P2"] == ["1-016"]


def test_each_precinct_may_have_a_pattern_of_its_own():
    deck = build(plan(style("1", "P1 P2", MAYOR, BOND), by_precinct=True))

    assert [row.id for row in deck.rows if row.kind == "full"] == ["1.P1-011", "1.P2-011"]
    assert [row.id for row in deck.rows if row.kind == "precinct"] == ["1-901"]


def test_rotation_changes_the_paper_and_never_the_figures():
    plain = deck_of(MAYOR, BOND)
    turned = build(plan(style("1", "P1", MAYOR, BOND, order={"MAYOR": ("B", "C", "A")})))

    assert turned.expected == plain.expected and marks(turned) == marks(plain)
    assert turned.as_json()["styles"][0]["positions"][:4] == [
        ["MAYOR", "B"],
        ["MAYOR", "C"],
        ["MAYOR", "A"],
        ["MAYOR", "+1"],
    ]


def test_the_same_place_gives_the_same_bytes():
    again = [deck_of(MAYOR, BOND, contest("COUNCIL", "ABCD", 2, n=2)) for _ in range(2)]

    assert again[0].json_bytes == again[1].json_bytes and again[0].csv_bytes == again[1].csv_bytes
