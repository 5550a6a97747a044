"""What a place file says for the test deck: every mistake in one sentence with what to write; what has no deck is refused in one."""

import pytest

from deck.cast import contest, deck_of, style
from deck.cast import plan as plan_of
from deck.test_stored import PLACE
from tests.matrix import nightly
from webapp.deck.deck import build
from webapp.deck.pattern import NoDeck
from webapp.deck.plan import plan
from webapp.deck.playing import play
from webapp.precinct.place import place_file

TEXT = PLACE.decode()


@pytest.mark.parametrize(
    "old, new, says",
    [
        ('breaks = ["COUNCIL"]', 'breaks = ["LIBRARY"]', "Contest LIBRARY begins a sheet of style 1 and is not on it"),
        ('breaks = ["COUNCIL"]', 'breaks = ["SP"]', "the first contest begins the first sheet"),
        ('breaks = ["COUNCIL"]', 'breaks = ["COUNCIL", "SEN"]', "breaks follow the order of contests"),
        ("sheets = 2", "sheets = 3", "write sheets = 2, or correct breaks"),
        ('GOV = ["C", "A", "B"]', 'GOV = ["C", "A"]', 'write "A", "B", "C" in the order of the paper'),
        ('GOV = ["C", "A", "B"]', 'BRIDGE = ["C"]', "order of style 1 names contest BRIDGE, which is not on it"),
        ('order = { GOV = ["C", "A", "B"] }', 'order = ["C"]', 'write order = { GOV = ["B", "A"] }'),
        ('straight = "SP"', 'straight = "GOV"', "GOV takes straight-party votes, so it is vote for 1 without write-in"),
        ('straight = "SP"', 'straight = "BOND"', "Each choice of BOND is one party"),
        ('straight = "SP"', 'straight = "X"', "There is no contest X"),
        ('party = "M"', 'party = "Z"', "There is no party Z"),
        ("write_in_lines = 1", "write_in_lines = 0", "write_in_lines of"),
        ('id = "BOND"', 'write_in_lines = 2\nid = "BOND"', "write_in_lines but no write-in"),
        (
            'title = "Senator"',
            'ranked = true\ntitle = "Senator"',
            "is ranked: a tape of rounds cannot be balanced or tested here",
        ),
        ('found = "set-apart"', 'found = "set-apart"\nprimary = "sections"', "make a style for each party's section"),
        ("folded = true", 'every = "ballot"', 'every of [test] is "ballot": write "style" or "precinct"'),
        ("folded = true", "folds = true", "[test] has no key"),
        ("2026-10-20T10:00:00", '"20 October"', "write a day and a time, without quotes"),
        ("retain_days = 60", "retain_days = 0", "retain_days of [test] is 0"),
    ],
)
def test_a_mistake_is_said_with_what_to_write(old, new, says):
    text = TEXT.replace(old, new, 1)
    assert text != TEXT
    with pytest.raises(place_file.Mistakes) as wrong:
        place_file.read(text.encode())
    assert any(says in sentence for _, sentence in wrong.value.found), wrong.value.found


@pytest.mark.parametrize(
    "old, new, says",
    [
        (
            'breaks = ["COUNCIL"]\n',
            "",
            "Style 1 has 2 sheets, and the place file does not say where they begin: write breaks",
        ),
        ('id = "YES"', 'id = "over"', "Contest BOND has a choice with the id over"),
        (
            '[[tabulators]]\nid = "T1"\nserial = "84-1127"\nbox = "B1"\n\n[[tabulators]]\nid = "T2"\nserial = "84-1130"\nbox = "B1"\n',
            "",
            "no tabulator",
        ),
    ],
)
def test_a_place_without_a_deck_is_refused_in_a_sentence(old, new, says):
    text = TEXT.replace(old, new, 1)
    assert text != TEXT
    with pytest.raises(NoDeck, match=says):
        build(plan(place_file.read(text.encode())))


def test_a_contest_that_needs_too_many_ballots_is_refused_in_a_sentence():
    many = ", ".join(f'{{ id = "c{i}", label = "Candidate {i}" }}' for i in range(60))
    text = TEXT.replace('choices = [{ id = "YES", label = "Yes" }, { id = "NO", label = "No" }]', f"choices = [{many}]")
    with pytest.raises(NoDeck, match="Contest BOND on style 1 needs more than 1000 test ballots"):
        build(plan(place_file.read(text.encode())))


def test_a_ballot_with_one_position_has_a_deck_and_says_what_it_cannot_have():
    """Unopposed, no write-in: nobody can overvote it, so that there is no overvoted ballot; a wrong n shows in the undervotes alone."""
    deck = deck_of(contest("ONLY", "A"))

    assert [row.kind for row in deck.rows if row.kind != "refuse"] == ["pattern", "full", "blank", "blank", "tabulator"]
    assert play(deck).hidden == ()
    assert "over" not in {row.kind for row in deck.rows}
    twins = build(plan_of(style("1", "P1", contest("ONLY", "A")), style("2", "P2", contest("ONLY", "A"))))
    assert play(twins).hidden == (), "two styles alike: precincts tell them apart"


def test_one_partisan_contest_alone_beside_a_straight_party_contest_is_told_apart():
    """The smallest ballots with straight party: an oval of each contest exchanged moves straight votes too."""
    party = contest("SP", "M P", parties=("M", "P"))
    for parties in (("M",), ("M", "P"), ("P", "M"), ("", "M", "P"), ("M", "", "", "P")):
        for lines in (0, 1, 2):
            names = " ".join(f"c{i}" for i in range(len(parties))) + " "
            deck = build(plan_of(style("1", "P1", party, contest("GOV", names, lines, 1, parties)), straight="SP"))
            assert play(deck).hidden == (), (parties, lines)


@pytest.mark.parametrize(
    "styles, more, says",
    [
        ([style(f"S{i}", f"P{i}", contest("M", "A B")) for i in range(41)], {}, "41 ballot styles, and 40 is the most"),
        (
            [style(f"S{i}", " ".join(f"P{i}x{k}" for k in range(21)), contest("M", "A B")) for i in range(20)],
            {"by_precinct": True},
            "asks for 420 patterns, and 400 is the most",
        ),
        pytest.param(
            [
                style(
                    f"S{i}",
                    " ".join(f"P{i}x{k}" for k in range(10)),
                    contest("M", " ".join(f"c{k}" for k in range(12)), 1),
                )
                for i in range(40)
            ],
            {"by_precinct": True},
            "and 20000 is the most",
            marks=nightly(
                held_by="tests/deck/test_place_keys.py::test_a_deck_of_too_many_ballots_is_refused_in_a_sentence"
            ),
        ),
    ],
)
def test_a_deck_beyond_the_limits_is_refused_in_a_sentence(styles, more, says):
    with pytest.raises(NoDeck, match=says):
        build(plan_of(*styles, **more))


def test_a_deck_of_too_many_ballots_is_refused_in_a_sentence(monkeypatch):
    monkeypatch.setattr("webapp.deck.deck.MOST_BALLOTS", 100)
    styles = [style(f"S{i}", f"P{i}", contest("M", " ".join(f"c{k}" for k in range(12)), 1)) for i in range(4)]
    with pytest.raises(NoDeck, match=r"would have \d+ ballots, and 100 is the most"):
        build(plan_of(*styles))


def test_too_many_contests_on_a_style_are_refused_in_a_sentence():
    more = "".join(
        f'[[contests]]\nid = "K{i}"\ntitle = "Measure {i}"\nn = 1\nchoices = [{{ id = "Y", label = "Yes" }}]\n'
        for i in range(100)
    )
    ids = ", ".join(f'"K{i}"' for i in range(100))
    text = (
        TEXT.replace('contests = ["SP", "GOV", "SEN", "BOND"]', f'contests = ["SP", "GOV", "SEN", "BOND", {ids}]')
        + more
    )
    with pytest.raises(NoDeck, match="Style 2 has 104 contests, and 100 is the most"):
        build(plan(place_file.read(text.encode())))
