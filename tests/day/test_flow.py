"""Where every ballot went: sources and ends against the balance's lines, published worksheets, and nights that were lived through apart from the product."""

import json

import pytest
from hypothesis import given, settings

from day.cast import CHALLENGED, TWO
from day.random_days import days
from day.whole_day import DAY
from nights.lines import gaps_of
from nights.mistakes import a_night
from tests.matrix import examples, some
from webapp.precinct.account.balanced_day import fold
from webapp.precinct.balance import ballot_flow_words
from webapp.precinct.balance.balance import balance
from webapp.precinct.balance.ballot_flow import BINS_GAP, End, Flow, Source, flow
from webapp.precinct.balance.night_figures import read


def of(figures) -> Flow:
    return flow(read(figures), balance(figures))


def ends(found: Flow) -> dict[str, int]:
    return {ballot_flow_words.end(end): end.n for end in found.ends}


def adds_up(found: Flow) -> bool:
    """All that came in is at an end or in a gap."""
    return found.came == sum(end.n for end in found.ends)


@pytest.mark.parametrize(
    "case, expected", [("2012-11-06", (2001, 1166, 31, 16, 788)), ("2015-11-03", (1401, 963, 5, 2, 431))]
)
def test_a_published_worksheet_is_drawn_without_a_gap(case, expected):
    """J. Knauth, ballot count reconciliation worksheets of one precinct, 2012 and 2015: used = delivered - left = tape + provisional + spoiled."""
    delivered, left, provisional, spoiled, tape = expected
    found = of(
        {
            "stock": {"received": delivered, "unused": left},
            "set_aside": {"provisional": provisional, "spoiled": spoiled, "emergency": 0},
            "tabulators": [{"id": "T1", "tape": tape}],
        }
    )

    assert (delivered, delivered, 0) == (found.came, found.accounted, found.gap) and adds_up(found)
    assert {"Unused": left, "On the tape of T1": tape, "Spoiled": spoiled, "Provisional": provisional} == ends(found)


def test_the_stored_worksheets_say_the_same(shared):
    cases = json.loads(shared("data/worked-balances.json").read_text())["cases"]

    assert {"2012-11-06": (2001, 1166, 31, 16, 788), "2015-11-03": (1401, 963, 5, 2, 431)} == {
        c["id"]: (c["delivered"], c["left"], c["provisional"], c["spoiled"], c["tape"]) for c in cases
    }


def test_on_nights_lived_through_apart_the_gap_is_that_of_the_stock():
    """Figures and gaps are the simulation's (its lines are a second reading of the balance's page and import nothing of the product)."""
    for seed in some(range(60), range(250)):
        night = a_night(seed, seed % 3)
        found, gaps = of(night.figures), gaps_of(night.figures)
        mine = [gap for (line, scope), gap in gaps.items() if line == "stock" and scope in ("", "copy")]
        assert adds_up(found) and (sum(mine) == found.gap if ("stock", "") in gaps else found.open >= 0), seed


@given(days())
@settings(max_examples=examples(150), deadline=None)
def test_on_every_day_the_sums_are_those_of_the_balance(told):
    place, entries = told
    day = fold(place, entries)
    found = flow(read(day.figures), day.balance)
    lines = [line for line in day.balance.lines if line.id == "stock" and (not line.scope or "origin" in line.scope)]

    assert adds_up(found) or found.missing
    if any(line.scope is None for line in lines):
        assert (
            sum(line.gap for line in lines) == found.gap
            and sum(line.left for line in lines) == sum(line.right for line in lines) + found.gap
        )
    if found.missing:
        assert not found.ends and not [line for line in lines if line.scope is None]
    assert all(end.n > 0 or end.gap for end in found.ends) and all(
        words and words[0].isupper() for words in map(ballot_flow_words.end, found.ends)
    )
    assert (
        all(ballot_flow_words.source(source) for source in found.sources)
        and ballot_flow_words.heading(found).endswith(("for.", "so far.", "by pile."))
        or found.missing
    )


def test_a_whole_day_ends_bin_by_bin(day_of):
    found = flow(read(day_of(DAY).figures), day_of(DAY).balance)

    assert {
        "Unused": 965,
        "Emptied out of T1 during the day": 252,
        "Main bin of T1": 151,
        "Write-in bin of T1": 29,
        "Spoiled": 1,
        "Provisional": 1,
        "Not accounted for": 1,
    } == ends(found)
    assert "1,400 ballots came in. 1,399 are accounted for." == ballot_flow_words.heading(found)
    assert "Counted by T1 (emptied into C1 252, main bin 151, write-in bin 29)" == ballot_flow_words.through(
        found, "T1"
    )
    assert ((1, "1 more ballot drawn than accounted for."),) == ballot_flow_words.gaps(found)


def test_more_ballots_at_their_ends_than_came_in_is_a_gap_the_other_way():
    found = of({"stock": {"received": 100, "unused": 61}, "tabulators": [{"id": "T1", "tape": 40}]})

    assert End("gap", -1) == found.ends[-1] and adds_up(found) and (100, 101) == (found.came, found.accounted)
    assert "Accounted for, and never came in" == ballot_flow_words.end(found.ends[-1]) and (
        (-1, "1 more ballot accounted for than drawn."),
    ) == ballot_flow_words.gaps(found)


def test_bins_and_tape_that_differ_have_a_gap_of_their_own_and_hide_nothing():
    figures = {
        "stock": {"received": 100, "unused": 60},
        "tabulators": [{"id": "T1", "tape": 40, "bins": {"main": 35, "write-in": 4}}],
    }
    found, other = (
        of(figures),
        of({**figures, "tabulators": [{"id": "T1", "tape": 40, "bins": {"main": 37, "write-in": 4}}]}),
    )

    assert {
        "Unused": 60,
        "Main bin of T1": 35,
        "Write-in bin of T1": 4,
        "On the tape of T1, not in its bins": 1,
    } == ends(found) and 0 == found.gap
    assert ((-1, "T1: 1 more ballot on the tape than in the bins."),) == ballot_flow_words.gaps(found)
    assert (
        End(BINS_GAP, -1, of="T1") in other.ends
        and ((1, "T1: 1 more ballot in the bins than on the tape."),) == ballot_flow_words.gaps(other)
        and adds_up(other)
    )


def test_opposite_gaps_of_two_styles_are_both_said_though_they_add_up_to_nothing(day_of):
    day = day_of(
        """
        20:20 unused unused.3A 899 unused.4B 301 by Calloway, Renn
        20:45 tape-typed T1 ballots.P3 100 ballots.P4 0 by Calloway, Renn
        20:46 tape-typed T2 ballots.P3 0 ballots.P4 100 by Calloway, Renn
    """,
        TWO,
    )
    found = flow(read(day.figures), day.balance)

    assert (
        0 == found.gap
        and "1,400 ballots came in. As many are accounted for, but not pile by pile."
        == ballot_flow_words.heading(found)
    )
    assert (
        (1, "Style 3A: 1 more ballot drawn than accounted for."),
        (-1, "Style 4B: 1 more ballot accounted for than drawn."),
    ) == ballot_flow_words.gaps(found)


def test_copies_cards_and_absentees_come_in_beside_the_stock():
    """Copies are drawn from a pile of their own and hand-counted (Bridgeport 2010, trade's notes 14); cards come from blank stock (Fairfax statement, part D)."""
    found = of(
        {
            "stock": {"received": 100, "unused": 10},
            "other_stock": {"copy": {"received": 60, "unused": 6}},
            "cast_from": {"card": 7, "absentee": 3},
            "set_aside": {"hand-counted": [{"origin": "copy", "n": 54}]},
            "tabulators": [{"id": "T1", "tape": 100}],
        }
    )

    assert (
        Source("received", 100),
        Source("elsewhere", 60, "copy"),
        Source("elsewhere", 7, "card"),
        Source("elsewhere", 3, "absentee"),
    ) == found.sources
    assert (
        {"Unused": 10, "Unused copies": 6, "On the tape of T1": 100, "Counted by hand": 54} == ends(found)
        and 0 == found.gap
        and 170 == found.came
    )


def test_a_kind_that_is_counted_is_on_the_tape_and_one_that_left_had_no_ballot():
    figures = {
        "stock": {"received": 100, "unused": 60},
        "set_aside": {"challenged": 3, "left": 2, "taken": 1},
        "tabulators": [{"id": "T1", "tape": 39}],
        "dispositions": [
            {"id": "challenged", "from_stock": True, "in_poll_book": True, "counted": True, "in_bin": True}
        ],
    }

    assert {"Unused": 60, "On the tape of T1": 39, "Taken from the room": 1} == ends(of(figures)) and CHALLENGED.kinds[
        0
    ].counted


def test_a_memory_moved_a_fresh_start_and_ballots_sent_elsewhere():
    found = of(
        {
            "stock": {
                "received": 500,
                "resupply": 100,
                "sent": 50,
                "unused": 100,
                "packs": [{"nominal": 100, "counted": 99}],
            },
            "tabulators": [{"id": "T1/1", "tape": 200, "fed_again": {"on": "T1", "n": 50}}, {"id": "T1", "tape": 299}],
        }
    )

    assert {
        "Unused": 100,
        "On the tape of T1, memory 1 taken out": 150,
        "On the tape of T1": 299,
        "Sent elsewhere": 50,
    } == ends(found)
    assert ["Received", "Delivered later", "Fewer in opened packs than printed on them"] == [
        ballot_flow_words.source(s) for s in found.sources
    ] and (599, 0) == (found.came, found.gap)


def test_before_the_tapes_are_typed_what_should_be_on_them_is_no_gap():
    found = of({"stock": {"received": 100, "unused": 60}, "set_aside": {"spoiled": 2}, "tabulators": [{"id": "T1"}]})

    assert (38, 0, "100 ballots came in. 62 are accounted for so far.") == (
        found.open,
        found.gap,
        ballot_flow_words.heading(found),
    ) and () == ballot_flow_words.gaps(found)


@pytest.mark.parametrize(
    "figures, missing", [({}, ("received", "unused")), ({"stock": {"received": 100}}, ("unused",))]
)
def test_without_the_count_of_the_stock_nothing_is_drawn_and_what_is_missing_is_said(figures, missing):
    assert Flow(missing=missing) == of(figures)
