"""Rules that states publish for their test decks, each held on decks made here. Texts were read in the sources named."""

import pytest

from deck.cast import BOND, MAYOR, contest, plan, style
from webapp.deck.deck import build
from webapp.deck.playing import play

COUNCIL = contest("COUNCIL", "ABCD", 2, n=2)
PARTY = contest("SP", "M P N", parties=("M", "P", "N"))
GOV = contest("GOV", "A B C", 1, parties=("M", "P", ""))
DECKS = {
    "one style": build(plan(style("1", "P1", MAYOR, BOND, COUNCIL))),
    "three styles": build(
        plan(style("1", "P1 P2", MAYOR, BOND), style("2", "P2", MAYOR, COUNCIL), style("3", "P3", BOND))
    ),
    "straight": build(plan(style("1", "P1", PARTY, GOV, COUNCIL), style("2", "P2", PARTY, GOV, BOND), straight="SP")),
}


@pytest.fixture(params=DECKS, ids=str)
def deck(request):
    return DECKS[request.param]


def rows(deck, style=None):
    return [row for row in deck.as_json()["rows"] if row["kind"] != "refuse" and style in (None, row["style"])]


def tape(deck):
    return deck.expected["T1"]["contests"]


def marked(row, contest):
    return row["marks"].get(contest, [])


def test_wac_434_335_323_first_position_fewest_then_rising_and_all_totals_unique(deck):
    """Wash. Admin. Code 434-335-323(1): each next position more votes; write-ins unique too; a write-in, an overvote, a blank."""
    for one in deck.plan.contests:
        figures = tape(deck)[one.id]
        votes = [*figures["votes"].values()]
        own = [sum(p in marked(row, one.id) for row in rows(deck) if row["kind"] == "pattern") for p in one.choices]
        assert own == sorted(own), "straight votes come on top, where a state has them; Washington has none"
        cells = votes + ([figures["write_in"]] if one.lines else [])
        assert len(set(cells)) == len(cells) and min(cells) >= 1
    for one in deck.plan.styles:
        kinds = {row["kind"] for row in rows(deck, one.id)}
        assert {"over", "blank"} <= kinds
        assert any(
            p.startswith("+") for row in rows(deck, one.id) for m in row["marks"].values() for p in m
        ) or not any(c.lines for c in one.contests)


def test_ia_721_22_42_each_oval_voted_and_under_and_overvotes_planned(deck):
    """Iowa Admin. Code 721-22.42: the plan shows votes, undervotes and overvotes for each oval; each candidate voted at least once."""
    for one in deck.plan.styles:
        for c, position in one.printed:
            assert any(position in marked(row, c) for row in rows(deck, one.id)), (one.id, c, position)
        for c in one.contests:
            counts = [len(marked(row, c.id)) for row in rows(deck, one.id)]
            assert any(k > c.n for k in counts) and any(k < c.n for k in counts)
    assert all({"votes", "under", "over"} <= set(figures) for figures in tape(deck).values())


def test_sd_5_02_09_01_02_a_tenth_of_the_ballots_folded_and_one_wholly_blank(deck):
    """S.D. Admin. R. 5:02:09:01.02: a deck for each ballot; where absentee ballots arrive folded, 10 % folded; one wholly blank."""
    for one in deck.plan.styles:
        here = rows(deck, one.id)
        assert sum(row.get("fold", False) for row in here) * 10 >= len(here)
        assert any(not row["marks"] and not row.get("names") and row["kind"] == "blank" for row in here)


def test_mi_r_168_776_straight_tickets_unequal_two_parties_and_crossovers():
    """Mich. Admin. Code R 168.776(4): each party at least 2 straight tickets, no two parties equal; a ballot with two parties;
    straight with votes for another; a ballot with no mark; a mark in every position."""
    deck = DECKS["straight"]
    for one in deck.plan.styles:
        here = rows(deck, one.id)
        straight = [marked(row, "SP")[0] for row in here if len(marked(row, "SP")) == 1 and len(row["marks"]) == 1]
        counts = [straight.count(party) for party in ("M", "P", "N")]
        assert min(counts) >= 2 and len(set(counts)) == 3
        assert any(len(marked(row, "SP")) == 2 for row in here)
        assert any(marked(row, "SP") == ["N"] and len(row["marks"]) > 1 for row in here)
        assert any(not row["marks"] for row in here)
        assert {(c, p) for row in here for c, ps in row["marks"].items() for p in ps} == set(one.printed)


def test_ct_9_242a_5_unvoted_fully_voted_and_counted_series(deck):
    """Conn. Agencies Regs. 9-242a-5: ballots unvoted, fully voted, and a series with counted votes."""
    for one in deck.plan.styles:
        kinds = [row["kind"] for row in rows(deck, one.id)]
        assert {"full", "blank"} <= set(kinds) and kinds.count("pattern") >= 1
        full = next(row for row in rows(deck, one.id) if row["kind"] == "full")
        for c in one.contests:
            if c.id != "SP":
                assert len(marked(full, c.id)) == min(c.n, len(c.positions))


def test_ny_6210_8_votes_for_each_candidate_write_in_and_proposal_and_a_deck_for_each_configuration(deck):
    """9 NYCRR 6210.8: predetermined votes for each candidate, write-in line and proposal option; ballots meant to fail, overvoted,
    blank; a separate deck for each configuration even on one machine."""
    for one in deck.plan.styles:
        for c in one.contests:
            for position in c.positions:
                assert (
                    any(position in marked(row, c.id) for row in rows(deck, one.id) if row["kind"] == "pattern")
                    or c.id == "SP"
                )
    assert [row["why"] for row in deck.as_json()["rows"] if row["kind"] == "refuse"] == [
        "other-edition",
        "other-place",
        "plain-paper",
    ]


def test_every_fault_is_shown(deck):
    assert play(deck).hidden == ()
