"""The worked figures of a count board, line by line, and the published cases that concern one, each with its source."""

import json

import pytest

from board.board_cast import FERRY_2, batch, board, ferry_2, groups, lines, missing, named, open_lines, said
from webapp.board.answer import answer
from webapp.precinct.balance.balance import balance
from webapp.precinct.explain.explain import explained


def test_the_stored_board_is_the_worked_board_of_the_design(shared):
    assert json.loads(shared("data/worked-board.json").read_text(encoding="utf-8")) == FERRY_2


def test_every_line_of_the_worked_board_agrees_and_the_board_is_whole():
    found = answer(FERRY_2)
    assert found.balanced and found.complete and not found.batches
    assert len(found.lines) == 74


@pytest.mark.parametrize(
    ("line", "left", "right"),
    [
        ("carriers", 3, 3),
        ("list", 477, 487 - 6 - 4),
        ("envelopes", 487 - 6 - 4 - 2 + 1, 18 * 25 + 26),
        ("envelopes@F2", 476, 476),
        ("batch-envelopes:B001", 26 - 1, 25),
        ("batch-envelopes:B008", 24 + 1, 25),
        ("batch-envelopes:B019", 26, 26),
        ("batch:B001", 25, 24 + 1),
        ("batch:B001@zero", 0, 0),
        ("batch:B002@B001", 24, 24),
        ("batch:G001@D001", 472, 472),
        ("problems", 9, 5 + 2 + 1 + 0 + 1),
        ("duplicates", 5, 5),
        ("again", 2, 2),
        ("duplicate-serials", 7 - 1 - 1, 5),
        ("batches:A1", 467 + 5 + 2, 474),
        ("batches:A1@F2", 474, 474),
        ("board", 476, 474 + 1 + 0 + 1),
        ("board@F2", 476, 476),
        ("counter:A1", 474, 474),
    ],
)
def test_each_line_of_the_worked_board(line, left, right):
    assert lines(FERRY_2)[line] == (left, right, 0)


def test_ballots_unfolded_are_held_against_the_batches_by_precinct():
    """A ballot that leaves its tray and reaches no batch: `batch-envelopes` of each batch agrees, and only this line tells. Common practice: a count each time paper changes hands."""
    assert lines(ferry_2(unfolded=[{"precinct": "F2", "n": 476}]))["unfolded@F2"] == (476, 476, 0)
    lost = ferry_2(unfolded=[{"precinct": "F2", "n": 477}])
    assert open_lines(lost) == {"unfolded": 1, "unfolded@F2": 1} and not answer(lost).balanced
    assert said(lost)["unfolded"] == "477 ballots unfolded, 476 in the batches: 1 more unfolded than in the batches."


def test_two_precincts_that_hide_each_other_are_not_balanced():
    """The worked pair: P1 200 envelopes and 201 ballots, P2 180 and 179; the sum agrees, and neither precinct does."""
    received = [{"precinct": "P1", "n": 200}, {"precinct": "P2", "n": 180}]
    figures = board(batch("B1", 201, precinct="P1"), batch("B2", 179, precinct="P2"), envelopes={"received": received})
    assert lines(figures)["envelopes"] == (380, 380, 0)
    assert open_lines(figures) == {"envelopes@P1": -1, "envelopes@P2": 1}
    assert not answer(figures).balanced


def test_early_days_carry_their_sleeves_over():
    """Saturday 600 opened, 3 empty, 597 sleeves sealed; on Tuesday 597 lie there, and one of them held two ballots."""
    figures = {
        "board": {
            "envelopes": {"received": 600, "empty": 3, "extra": 1},
            "batches": [batch(f"B{k}", 26, day="2") for k in range(1, 24)],
        },
        "days": [{"id": "1", "sleeves_end": 597}, {"id": "2", "sleeves_start": 597}],
    }
    assert lines(figures)["carry:sleeves@2"] == (597, 597, 0)
    assert lines(figures)["envelopes"] == (598, 23 * 26, 0)
    figures["days"][1]["sleeves_start"] = 596
    assert open_lines(figures) == {"carry:sleeves@2": 1}
    assert said(figures)["carry:sleeves@2"].endswith("1 more at the end than at the next start.")


def test_envelopes_left_unopened_over_night_are_carried_by_precinct():
    end, start = (
        [{"precinct": "F2", "n": 40}, {"precinct": "F3", "n": 9}],
        [{"precinct": "F2", "n": 39}, {"precinct": "F3", "n": 10}],
    )
    figures = {"board": {}, "days": [{"id": "1", "envelopes_end": end}, {"id": "2", "envelopes_start": start}]}
    assert open_lines(figures) == {"carry:envelopes@2@F2": 1, "carry:envelopes@2@F3": -1}
    assert lines(figures)["carry:envelopes@2"] == (49, 49, 0)


def test_a_ballot_of_another_precinct_than_its_envelope_moves_and_the_sum_stays():
    received = [{"precinct": "F2", "n": 26}, {"precinct": "F3", "n": 12}]
    mixed = batch("B1", 0, precinct=None) | {"ballots": [{"precinct": "F2", "n": 25}, {"precinct": "F3", "n": 13}]}
    figures = board(mixed, envelopes={"received": received})
    assert open_lines(figures) == {"envelopes@F2": 1, "envelopes@F3": -1}
    figures["board"]["moved"] = [{"from": "F2", "to": "F3", "n": 1}]
    assert open_lines(figures) == {} and lines(figures)["envelopes"] == (38, 38, 0)


def test_a_batch_without_precinct_leaves_the_precincts_unchecked_and_draws_the_sum():
    received = [{"precinct": "F2", "n": 25}, {"precinct": "F3", "n": 25}]
    figures = board(batch("B1", 25, precinct="F2"), batch("B2", 25), envelopes={"received": received})
    assert lines(figures)["envelopes"] == (50, 50, 0)
    assert missing(figures)["envelopes@None"] == ["precinct"]


def test_what_is_set_aside_and_never_settled_is_not_checked_yet():
    figures = ferry_2(problems=None)
    assert missing(figures) == {
        "problems": ["problems"],
        "duplicates": ["problems"],
        "again": ["problems"],
        "duplicate-serials": ["problems"],
        "board": ["problems"],
    }
    assert not answer(figures).complete


def test_a_tape_that_is_not_in_leaves_the_board_unchecked_and_raises_no_alarm():
    """With one of two tapes typed, the board's line would be off by all that the other counted."""
    figures = board(
        batch("B1", 25, (0, 25)), batch("B2", 25, (0, 25), tabulator="A2"), problems={}, envelopes={"received": 50}
    )
    figures["tabulators"] = [
        {"id": "A1", "counter_at_zero": 0, "counter_at_close": 25, "tape": 25},
        {"id": "A2", "counter_at_zero": 0},
    ]
    assert missing(figures) == {"batches:A2": ["tape"], "board": ["tape"]}
    assert answer(figures).balanced and not answer(figures).complete


def test_a_gap_of_the_board_alone_says_that_a_figure_was_filled_in():
    figures = ferry_2()
    figures["tabulators"][0] |= {"tape": [{"precinct": "F2", "n": 473}], "counter_at_close": 473}
    assert open_lines(figures) == {"batches:A1": 1, "batches:A1@F2": 1, "board": 1, "board@F2": 1}


def test_a_batch_not_fed_yet_waits_and_the_counter_runs_past_it():
    figures = board(batch("B1", 25, (0, 25)), batch("B2", 25), batch("B3", 25, (25, 50)))
    assert missing(figures)["batch:B2"] == ["counter"]
    assert lines(figures)["batch:B3@B1"] == (25, 25, 0) and open_lines(figures) == {}


def test_a_later_day_begins_its_own_row_of_counters():
    figures = board(batch("B1", 25, (0, 25)), batch("B2", 25, (40, 65), day="2"))
    assert not any("@" in line for line in lines(figures))


def test_a_file_with_ballot_stock_and_old_keys_is_answered_as_before():
    """A polling place with a few batches of its own keeps to carriers, envelopes and counters."""
    figures = board(batch("B1", 25, (0, 24), envelopes=25, aside=1), envelopes={"received": 25}) | {
        "stock": {"received": 10, "unused": 10}
    }
    found = lines(figures)
    assert "batch-envelopes:B1" not in found and "batch:B1" in found
    assert missing(figures) == {
        "stock": ["tape"],
        "poll-book": ["poll_book", "tape"],
        "paper-to-book": ["poll_book"],
        "stubs": ["stubs"],
    }
    figures["board"]["batches"][0]["kind"] = "first"
    assert "batch-envelopes:B1" in lines(figures)


def test_a_file_without_a_board_is_answered_by_the_balance_alone():
    figures = {"stock": {"received": 1400, "unused": 960}, "poll_book": 437}
    assert answer(figures) == explained(figures) and answer(figures, explain=False) == balance(figures)


def test_every_line_speaks_both_figures_and_which_way():
    found = said(ferry_2(B012__aside=1, serials={"first": 1, "next": 8, "void": 1}))
    assert found["batch:B012"] == (
        "B012: 25 ballots in the batch, 26 fed or set aside (291 after, less 266 before, 1 set aside): "
        "1 more fed or set aside than in the batch."
    )
    assert found["problems"].startswith(
        "10 ballots set aside, 9 ballots settled or waiting (5 duplicated, 2 fed after all, 1 counted by hand"
    )
    assert found["duplicate-serials"].endswith("1 more serial used than ballots duplicated.")
    assert (
        found["batch:B001@zero"] == "B001, after zero: 0 on the counter before this batch, 0 at the start: they agree."
    )


# published cases: the figures as their sources give them; press figures are press figures


def test_envelopes_that_were_never_opened_show_on_their_carriers_and_on_the_count():
    """Madison, Wisconsin 2024: 193 absentee ballots in unopened carriers were found weeks later (Votebeat, January 2025)."""
    figures = {
        "board": {
            "carriers": {"received": 3, "opened": 1},
            "envelopes": {"received": 600},
            "batches": [batch("B1", 407)],
        }
    }
    assert open_lines(figures) == {"carriers": 2, "envelopes": 193}


def test_a_batch_of_mail_ballots_counted_twice_shows_on_its_row():
    """Humboldt County, California 2008: a deck of 57 mail ballots was counted twice (Times-Standard 2009); a batch id is used once."""
    figures = board(batch("B1", 57, (0, 114), envelopes=57))
    (group,) = groups(figures)
    assert group["gaps"] == [{"line": "batch:B1", "gap": -57}]
    assert [{"code": "batch-fed-twice", "batch": "B1", "ballots": 57}] == group["explanations"][0]["because"]


def test_ballots_scanned_twice_later_in_the_day_show_between_two_batches():
    """Fulton County, Georgia 2020: nearly 200 ballots were scanned twice (press). Two batches of 100 that went through again before the fourth."""
    figures = board(
        batch("B1", 100, (0, 100)),
        batch("B2", 100, (100, 200)),
        batch("B3", 100, (300, 400)),
        batch("B4", 100, (500, 600)),
    )
    found = groups(figures)
    assert [(group["ids"], [gap["gap"] for gap in group["gaps"]]) for group in found] == [(["B3", "B4"], [100, 100])]
    first = [m["code"] for m in found[0]["explanations"][0]["because"]]
    assert set(first) <= {"batch-not-listed", "fed-again-later"}


def test_the_first_deck_that_a_report_dropped_shows_on_the_tape():
    """Humboldt County 2008: a first deck of 197 ballots was dropped from the report (Times-Standard 2009): batches against the tape."""
    figures = board(batch("B0", 197, (0, 197)), batch("B1", 57, (197, 254)))
    figures["tabulators"] = [{"id": "A1", "tape": 57}]
    assert open_lines(figures) == {"batches:A1": 197}


def test_a_lost_envelope_of_ballots_shows_as_envelopes_without_ballots():
    """Minneapolis 2008: 133 ballots, one envelope of them, were lost (MPR, December 2008): they were received and are in no batch."""
    figures = board(batch("B1", 2028 - 133), envelopes={"received": 2028})
    assert open_lines(figures) == {"envelopes": 133}


def test_487_envelopes_make_19_full_batches_and_a_rest():
    """`trade` section 9, worked out there: 487 = 19 x 25 + 12."""
    batches = [batch(f"B{k:03}", 25, (25 * k - 25, 25 * k), envelopes=25) for k in range(1, 20)]
    figures = board(*batches, batch("B020", 12, (475, 487), envelopes=12), envelopes={"received": 487})
    assert open_lines(figures) == {} and lines(figures)["envelopes"] == (487, 487, 0)


def test_the_sheet_of_a_batch_in_virginia_is_the_row_of_its_envelopes():
    """Fairfax County, Virginia, preprocessing slides 49-50: ballots of a set against empty inner envelopes; more envelopes, look inside them;
    more ballots, look for a note that several lay in one."""
    more_envelopes, more_ballots = (groups(board(batch("B1", n, envelopes=25)))[0] for n in (24, 26))
    assert "Look into every envelope of the tray of B1, against the light." in looks(more_envelopes)[:2]
    assert (
        "Ask the table of B1 for an envelope with two ballots, and look for a note on an envelope."
        in looks(more_ballots)[:2]
    )


def looks(group):
    return [found["look"] for found in group["explanations"]]


def test_duplicates_in_and_out_cancel_as_the_trade_says():
    """`trade` section 9: originals duplicated = duplicates fed, ballots counted unchanged (Marin County 2023; 8 CCR 1505-1-18.4)."""
    figures = board(
        batch("B1", 25, (0, 20), aside=5, envelopes=25),
        batch("D1", 5, (20, 25), kind="duplicates"),
        problems={"duplicated": 5},
        serials={"first": 1, "next": 6},
        envelopes={"received": 25},
    )
    figures["tabulators"] = [{"id": "A1", "counter_at_zero": 0, "counter_at_close": 25, "tape": 25}]
    assert open_lines(figures) == {} and answer(figures).complete
    assert named({"id": "board"}) in lines(figures)
