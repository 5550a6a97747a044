"""Certifying: questions and what was signed over, the narrative, a meeting with its vote, and what a certified edition locks.

An amended certificate after a recount: Wash. Rev. Code 29A.64.061; Colo. Rev. Stat. 1-10.5-107 (facts from `office.md` 7).
"""

import pytest

from webapp.canvass import certifying as rules
from webapp.canvass.certifying import NarrativeWord, OpenQuestion, Reopened, SignedOver, Told

MEMBERS = {"ashby": "Ann Ashby", "bell": "Cal Bell", "cole": "Dee Cole"}


def meeting(present=("ashby", "bell"), quorum=2, votes=(("ashby", "for"), ("bell", "for")), dissent=()):
    body = {"time": 1, "present": list(present), "quorum": quorum, "votes": [list(row) for row in votes]}
    return rules.meeting_of(body, {f"dissent.{who}": text for who, text in dissent}, 9)


def test_a_question_signed_over_is_open_again_when_its_facts_change():
    over = [SignedOver("envelopes/W3/provisional", (1,), "The court holds it.", 7)]
    (one,) = rules.settled([OpenQuestion("envelopes/W3/provisional", "1 open", "/counts/W3", (1,))], over)
    assert one.over and one.over.number == 7
    (one,) = rules.settled([OpenQuestion("envelopes/W3/provisional", "2 open", "/counts/W3", (2,))], over)
    assert one.over is None


def test_the_narrative_has_every_line_unless_two_parties_say_otherwise_and_the_newest_word_stands():
    told = [Told("entry/9", "W3: return corrected", "Tape read wrong."), Told("entry/12", "W5: recount", "One vote.")]
    words = [
        NarrativeWord("entry/9", "The tape was read the wrong way round.", False, 20),
        NarrativeWord("entry/12", "Ordered again.", True, 21),
        NarrativeWord("board/1", "The board thanks the inspectors.", False, 22),
        NarrativeWord("entry/9", "The tape of T1 was read the wrong way round.", False, 23),
    ]
    rows = rules.narrative(told, words)
    assert [(r.about, r.text, r.out, r.number) for r in rows] == [
        ("entry/9", "The tape of T1 was read the wrong way round.", False, 23),
        ("entry/12", "Ordered again.", True, 21),
        ("board/1", "The board thanks the inspectors.", False, 22),
    ]
    assert [r.text for r in rules.narrative(told, [])] == ["Tape read wrong.", "One vote."]


def test_a_meeting_with_a_quorum_in_which_everybody_votes_for_it_is_unanimous():
    one = meeting()
    assert one.has_quorum and one.unanimous and rules.meeting_mistakes(one, MEMBERS) == {}
    split = meeting(votes=(("ashby", "for"), ("bell", "against")), dissent=(("bell", "The seal of W5 was broken."),))
    assert not split.unanimous and split.dissent == {"bell": "The seal of W5 was broken."}
    assert rules.meeting_mistakes(split, MEMBERS) == {}


@pytest.mark.parametrize(
    ("said", "field", "words"),
    (
        (meeting(present=(), votes=()), "present", "Tick the members"),
        (meeting(quorum=0), "quorum", "from 1 to 3"),
        (meeting(quorum=4), "quorum", "from 1 to 3"),
        (meeting(quorum=3), "quorum", "2 of 3 are present: no quorum"),
        (meeting(votes=(("ashby", "for"),)), "vote.bell", "Choose how Cal Bell voted"),
        (
            meeting(votes=(("ashby", "for"), ("bell", "for"), ("cole", "for"))),
            "vote.cole",
            "nobody votes for a member who is away",
        ),
        (meeting(votes=(("ashby", "for"), ("bell", "against"))), "dissent.bell", "statement of Cal Bell"),
    ),
)
def test_a_meeting_that_cannot_be_is_met_at_the_field(said, field, words):
    assert words in rules.meeting_mistakes(said, MEMBERS)[field]


def test_a_certified_edition_is_locked_until_it_is_opened_again():
    posted = [(1, "unofficial-partial"), (2, "certified")]
    assert rules.locked(posted[:1], []) is None and rules.locked(posted, []) == 2
    assert rules.locked(posted, [Reopened(2, "recount", "26-114")]) is None
    assert rules.locked([*posted, (3, "recount")], [Reopened(2, "recount", "26-114")]) == 3


def test_an_amended_edition_is_a_recount_or_a_correction_by_why_it_was_opened():
    posted = [(1, "unofficial-complete"), (2, "certified")]
    assert rules.amended(posted[:1], []) == "certified"
    assert rules.amended(posted, [Reopened(2, "recount", "1")]) == "recount"
    assert rules.amended(posted, [Reopened(2, "court", "1")]) == "correction"
    assert rules.amended(posted, [Reopened(2, "court", "1"), Reopened(2, "recount", "2")]) == "recount"
