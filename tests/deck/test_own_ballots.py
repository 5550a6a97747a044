"""Ballots that observers add: their hand count against their tape, cell by cell (Mich. Admin. Code R 168.778: they may add ballots to the test)."""

import copy

import pytest

from deck.test_typed_tapes import DECK, now, wrong
from webapp.deck import step_checks
from webapp.precinct.checklist import checklist

HAND = {"GOV": {"ballots": 12, "votes": {"A": 4, "B": 5}, "write_in": 1, "under": 1, "over": 1}}


def note(tape=None, **changes):
    """A note of 12 ballots; the tape is the hand count unless given."""
    return {
        "ballots": 12,
        "counted_first": True,
        "differing": 0,
        "expected": HAND,
        "tape": HAND if tape is None else tape,
    } | changes


def tape(**figures):
    found = copy.deepcopy(HAND)
    for name, figure in figures.items():
        (found["GOV"]["votes"] if name in "AB" else found["GOV"])[name] = figure
    return found


def test_a_tape_as_they_counted_by_hand_agrees_in_every_figure():
    body = note()

    assert step_checks.worked_out(now(), "own-ballots", "", body) == {"cells": 6, "differ": []}
    assert wrong(now(), "own-ballots", **body) == {}


def test_figures_that_differ_are_in_the_body_and_lead_to_their_controls():
    body = note(tape(A=5, B=4))
    worked = step_checks.worked_out(now(), "own-ballots", "", body)

    assert worked["differ"] == [
        {"contest": "GOV", "cell": "A", "expected": 4, "typed": 5},
        {"contest": "GOV", "cell": "B", "expected": 5, "typed": 4},
    ]
    found = wrong(now(), "own-ballots", **body, **worked)
    assert list(found) == ["tape.GOV.votes.A", "tape.GOV.votes.B", "differing"]
    assert "5; counted by hand 4: 1 more" in found["tape.GOV.votes.A"]
    assert wrong(now(), "own-ballots", **body, **worked, not_so={"found": True}) == {}
    said = checklist.statement("own-ballots", body | worked | {"not_so": {"found": True, "done": True}}, now().place)
    assert "2 differ: Governor" in str(said)


@pytest.mark.parametrize(
    "changes, control, says",
    [
        ({"tape": {}}, "tape.GOV.votes.A", "not typed from their tape"),
        ({"expected": {}}, "expected.GOV.votes.A", "not counted by hand"),
        ({"expected": tape(under=3), "tape": tape(under=3)}, "expected.GOV.ballots", "2 more than ballots x 1"),
        ({"ballots": 11}, "expected.GOV.ballots", "12 ballots carry it, and 11 were added"),
    ],
)
def test_what_cannot_be_compared_is_said_at_its_control(changes, control, says):
    assert says in wrong(now(), "own-ballots", **note(**changes))[control]


def test_they_never_mix_with_the_decks_figures():
    one = now()
    one.day.keep("own-ballots", **note())

    assert one.deck.expected == DECK.expected and one.compared("T1") is None
