"""The reconciliation formulas that states publish (`trade.md` 4.4, F1 to F15) are the lines of the table with other flags.

Each test solves the published equation for one figure with invented numbers, and asks that the lines stand at 0; then it moves one figure
by one and asks for the gap of one.
"""

import pytest

from tests.balance.cast import open_lines
from webapp.precinct.balance.balance import balance
from webapp.precinct.explain.explain import explained

NOTHING_OPEN: dict[str, int] = {}
IN_BOOK = [{"id": "provisional", "in_poll_book": True}]


def tape(n, **more):
    return [{"id": "T1", "tape": n, **more}]


def test_f1_the_remainder_is_what_lies_in_the_emergency_box():
    """NY Election Law 9-106: R = D - (U + S before issue + S returned + P + sum T), R = ballots in the emergency box."""
    d, u, before, returned, p, tapes, r = 1000, 520, 3, 9, 7, (300, 154), 7
    assert r == d - (u + before + returned + p + sum(tapes))
    dispositions = [
        {"id": "spoiled-before-issue", "from_stock": True, "in_poll_book": False, "counted": False, "in_bin": False}
    ]
    figures = {
        "stock": {"received": d, "unused": u},
        "dispositions": dispositions,
        "set_aside": {"spoiled-before-issue": before, "spoiled": returned, "provisional": p, "emergency": r},
        "tabulators": [{"id": "T1", "tape": tapes[0]}, {"id": "T2", "tape": tapes[1]}],
    }

    assert open_lines(figures) == NOTHING_OPEN
    assert open_lines({**figures, "set_aside": {**figures["set_aside"], "emergency": r - 1}}) == {"stock": 1}


def test_f2_per_style_printed_is_issued_and_not_issued():
    """9 NYCRR 6210.10(a): per style, printed = issued + not issued; test and sample ballots are among the not issued."""
    figures = {
        "stock": {
            "received": [{"style": "A", "n": 500}, {"style": "B", "n": 300}],
            "unused": [{"style": "A", "n": 104}, {"style": "B", "n": 61}],
        },
        "set_aside": {"spoiled": [{"style": "A", "n": 6}, {"style": "B", "n": 4}]},
        "tabulators": tape([{"style": "A", "n": 390}, {"style": "B", "n": 235}]),
    }

    assert open_lines(figures) == NOTHING_OPEN
    moved = {**figures, "tabulators": tape([{"style": "A", "n": 389}, {"style": "B", "n": 236}])}
    assert open_lines(moved) == {"stock@A": 1, "stock@B": -1}


def test_f3_provided_is_voted_spoiled_provisional_and_unvoted_and_voted_is_voters():
    """8 CCR 1505-1 Rule 10.1.2-3, each day; and signature cards = cast."""
    figures = {
        "stock": {"received": 800, "unused": 250},
        "poll_book": 530,
        "voters": [{"id": "cards", "n": 530}],
        "set_aside": {"spoiled": 12, "provisional": 8},
        "tabulators": tape(530),
    }

    assert open_lines(figures) == NOTHING_OPEN
    assert open_lines({**figures, "voters": [{"id": "cards", "n": 531}]}) == {"voters:cards": 1}


def test_f4_given_is_cast_spoiled_cancelled_and_returned():
    """Cal. Elections Code 14405 and 15302(b): roster signatures = ballots on the statement."""
    dispositions = [{"id": "cancelled", "from_stock": True, "in_poll_book": False, "counted": False, "in_bin": False}]
    figures = {
        "stock": {"received": 600, "unused": 187},
        "dispositions": dispositions,
        "set_aside": {"spoiled": 9, "cancelled": 4},
        "voters": [{"id": "poll_book", "n": 400}],
        "tabulators": tape(400),
    }

    assert open_lines(figures) == NOTHING_OPEN
    assert open_lines({**figures, "tabulators": tape(399)}) == {"stock": 1, "poll-book": 1}


def test_f5_printed_ballots_counted_are_counted_less_device_cards():
    """Fairfax statement part D: received = start + resupply; counted = scanned + hand; printed counted = counted - cards."""
    figures = {
        "stock": {"received": 900, "resupply": [{"at": "14:00", "n": 100}], "unused": 467},
        "poll_book": 570,
        "cast_from": {"card": 40},
        "set_aside": {"spoiled": 2, "taken": 1, "hand-counted": 20},
        "tabulators": tape(550),
    }
    printed_counted = 550 + 20 - 40
    assert 900 + 100 - 467 == printed_counted + 2 + 1

    assert open_lines(figures) == {"poll-book": -1}, "the fled voter's ballot is in the book here"
    assert open_lines({**figures, "poll_book": 571}) == NOTHING_OPEN


def test_f6_and_f7_electors_spoiled_and_unused_are_ballots_given():
    """Elections Canada advance-poll log: first day, and later days with entries added to the list."""
    figures = {"stock": {"received": 500, "unused": 394}, "poll_book": 105, "set_aside": {"spoiled": 1}}

    assert open_lines(figures) == NOTHING_OPEN
    assert open_lines({**figures, "poll_book": 104}) == {"paper-to-book": 1}


def test_f8_the_box_register_less_failures_and_with_absentees_is_the_voters():
    """950 CMR 54.06(5), 53.04(7): V = box register; lever form V = sum T - failures + A, absentees marked in the book when processed."""
    assert open_lines({"poll_book": 412, "tabulators": tape(412)}) == NOTHING_OPEN
    lever = {
        "poll_book": 440,
        "dispositions": [{"id": "absentee", "in_poll_book": True}],
        "cast_from": {"absentee": 30},
        "tabulators": [
            {"id": "T1", "tape": 413, "subtract": {"n": 3, "why": "a jam counted again"}},
            {"id": "T2", "tape": 30},
        ],
    }

    assert open_lines(lever) == NOTHING_OPEN
    assert open_lines({**lever, "poll_book": 441}) == {"poll-book": 1}


def test_f9_check_ins_scanned_cards_spoiled_and_unscanned_emergency_ballots_agree():
    """Ga. Comp. R. & Regs. 183-1-12-.12(a)2: all ballots printed by the device, no paper stock at hand."""
    figures = {
        "poll_book": 700,
        "cast_from": {"card": 690},
        "other_stock": {"card": {"received": 1000, "unused": 297}},
        "set_aside": {
            "spoiled": [{"origin": "card", "n": 5}],
            "emergency": [{"origin": "card", "n": 8}],
            "taken": [{"origin": "card", "n": 0}],
        },
        "tabulators": tape(690),
    }

    assert open_lines(figures) == {"poll-book": 2}
    assert open_lines({**figures, "poll_book": 698}) == NOTHING_OPEN


def test_f10_signed_slips_are_tabulated_and_provisional():
    """Eleanor WV code 105: slips = tabulated + provisional; provisional + spoiled + unused + voted = total."""
    figures = {
        "stock": {"received": 500, "unused": 290},
        "voters": [{"id": "slips", "n": 206, "includes": ["provisional"]}],
        "set_aside": {"spoiled": 4, "provisional": 6},
        "tabulators": tape(200),
    }

    assert open_lines(figures) == NOTHING_OPEN
    assert open_lines({**figures, "voters": [{"id": "slips", "n": 206}]}) == {"voters:slips": 6}


def test_f11_and_f14_names_in_the_book_are_voted_ballots():
    """OH 3501.26; WAC 434-262-013: counted = voters credited."""
    assert open_lines({"poll_book": 321, "tabulators": tape(321)}) == NOTHING_OPEN
    assert open_lines({"poll_book": 320, "tabulators": tape(321)}) == {"poll-book": -1}


def test_f12_a_box_is_counted_until_two_counts_agree():
    """UK Electoral Commission count model: box = issued and not replaced, or recounted until two consecutive counts agree."""
    box = {
        "poll_book": 600,
        "set_aside": {"hand-counted": {"counts": [599, 600, 600]}},
        "stock": {"received": 1000, "unused": 400},
    }

    assert open_lines(box) == NOTHING_OPEN
    unsettled = explained({**box, "set_aside": {"hand-counted": {"counts": [600, 599]}}})
    assert [(line.id, line.gap) for line in unsettled.gaps] == [("stock", 1), ("poll-book", 1)]
    assert "the last, 599, counts" in unsettled.gaps[0].says


def test_f13_on_hand_is_start_and_resupply_less_sent():
    """ACE, reconciling ballots: on hand = counted (spoilt among them) + unused."""
    figures = {
        "stock": {"received": 500, "resupply": [{"at": "11:00", "n": 50}], "sent": [{"n": 25}], "unused": 100},
        "set_aside": {"spoiled": 5},
        "tabulators": tape(420),
    }

    assert open_lines(figures) == NOTHING_OPEN
    assert open_lines({**figures, "set_aside": {"spoiled": 4}}) == {"stock": 1}


def test_f15_used_unused_and_spoiled_are_received():
    """950 CMR 54.05(5)."""
    figures = {"stock": {"received": 750, "unused": 300}, "set_aside": {"spoiled": 10}, "tabulators": tape(440)}

    assert open_lines(figures) == NOTHING_OPEN
    assert open_lines({**figures, "set_aside": {"spoiled": 11}}) == {"stock": -1}


@pytest.mark.parametrize(("in_book", "gap"), [(True, 0), (False, 5)])
def test_a_place_states_whether_provisional_voters_are_in_the_book(in_book, gap):
    """Terms that change sides between states: `trade.md` 4.4, after the table."""
    figures = {
        "poll_book": 105,
        "dispositions": [{"id": "provisional", "in_poll_book": in_book}],
        "set_aside": {"provisional": 5},
        "tabulators": tape(100),
    }

    assert balance(figures).lines[0].gap == gap
