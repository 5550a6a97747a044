"""Typed tapes: equal, different, incomplete, not adding up, of another edition, or not readable at all."""

import pytest

from deck.cast import BOND, MAYOR, contest, deck_of, plan, style, typed
from webapp.deck.comparison import UnreadableTape, compare, in_words, own_sums
from webapp.deck.deck import build
from webapp.deck.diagnosis import explain, rows_to_feed
from webapp.deck.faults import effect
from webapp.deck.oval_faults import fault
from webapp.deck.playing import play

DECK = deck_of(MAYOR, BOND)
EXCHANGED = fault("exchange", style="1", positions=(("MAYOR", "A"), ("MAYOR", "B")))


def after(deck, one, tabulator="T1", before=None):
    feed = deck.fed_together if tabulator == "together" else deck.feeds[tabulator]
    return typed(deck, tabulator, effect(feed, one, before))


def answers(deck, tape, before=None):
    return [one.fault.as_json() for one in explain(deck, compare(deck, tape, before), before) if one.exact]


@pytest.mark.parametrize("tabulator", ["T1", "T2", "together"])
def test_the_expected_tape_agrees_in_every_figure(tabulator):
    found = compare(DECK, typed(DECK, tabulator))

    assert found.equal and len(found.compared) == 14 and not found.missing and not found.sums
    assert explain(DECK, found) == []


def test_a_figure_that_was_not_typed_is_not_compared_and_is_named():
    tape = typed(DECK, "T1")
    del tape["contests"]["MAYOR"]["votes"]["A"], tape["precincts"]
    found = compare(DECK, tape)

    assert found.equal and len(found.compared) == 12
    assert found.missing == (("precinct", "P1"), ("MAYOR", "A"))
    assert [in_words(DECK.plan, cell) for cell in found.missing] == ["ballots of precinct P1", "Mayor, A"]


def test_a_tape_whose_own_sum_is_off_is_said_and_the_slip_is_named():
    found = compare(DECK, typed(DECK, "T1", {("MAYOR", "under"): 1}))

    assert found.sums == (("MAYOR", 1),)
    assert "1 more than ballots x 1" in next(own_sums(DECK.plan, found))
    assert answers(DECK, typed(DECK, "T1", {("MAYOR", "under"): 1})) == [
        {"fault": "keying", "contest": "MAYOR", "cell": "under", "likely": 4}
    ]


def test_two_ovals_exchanged_are_found_and_named():
    found = explain(DECK, compare(DECK, after(DECK, EXCHANGED)))

    assert found[0].as_json(DECK.plan) == {
        "fault": "exchange",
        "style": "1",
        "positions": [["MAYOR", "A"], ["MAYOR", "B"]],
        "says": "Consistent with positions 1 and 2 of Mayor exchanged on style 1: A and B.",
        "look": "Look at the program's ballot layout.",
    }


def test_one_fault_that_has_three_names_is_one_answer():
    """Two choices exchanged, shifted and reversed are the same program; labels on the report are another."""
    tape = after(DECK, fault("reversed", style="1", contest="BOND"))

    assert [one["fault"] for one in answers(DECK, tape)] == ["exchange", "labels"]


def test_any_other_order_of_the_choices_is_found_and_told_place_by_place():
    council = contest("COUNCIL", "ABCD", 1)
    deck = deck_of(council, BOND)
    turned = fault("rearranged", style="1", contest="COUNCIL", choices=("B", "D", "A", "C"))
    (found,) = explain(deck, compare(deck, after(deck, turned)))

    assert found.fault == turned
    assert found.as_json(deck.plan)["says"] == (
        "Consistent with the choices of Council in another order on style 1: A read as B; B read as D; C read as A; D read as C."
    )


def test_styles_that_cannot_be_told_apart_are_one_answer_with_all_of_them():
    deck = build(plan(style("1", "P1", MAYOR, BOND), style("2", "P2", MAYOR, contest("BRIDGE", "YES NO"))))
    (found, *_) = explain(deck, compare(deck, after(deck, EXCHANGED)))

    assert found.styles == ("1", "2")
    assert "style 1 or 2" in found.as_json(deck.plan)["says"]


def test_the_ballots_to_feed_tell_the_answers_apart():
    deck = build(plan(style("1", "P1", MAYOR), style("2", "P2", MAYOR, BOND)))
    tape = after(deck, fault("labels", contest="BOND", cells=("YES", "NO")))
    found = explain(deck, compare(deck, tape))

    assert [one.fault.kind for one in found] == ["exchange", "labels"]
    assert rows_to_feed(deck, found) == [], "fed alone, both would read alike: the program and the report are one there"


def test_a_ballot_not_fed_is_named_with_those_like_it():
    tape = after(DECK, fault("row-missed", row="1-007"))
    (found,) = explain(DECK, compare(DECK, tape))

    assert found.as_json(DECK.plan)["row"] == "1-005"
    assert found.as_json(DECK.plan)["says"] == "Ballot 1-005, or one like it, was not fed, or not counted."


@pytest.mark.parametrize("twice, instead", [("T1", None), (None, "T2"), ("T1", "T2")])
def test_memories_loaded_wrongly_show_in_the_sum_of_all_tapes(twice, instead):
    more = {cell: 0 for cell in DECK.cells["T1"]}
    for tabulator, sign in ((twice, 1), (instead, -1)):
        for cell, figure in DECK.cells[tabulator].items() if tabulator else ():
            more[cell] += sign * figure
    found = answers(DECK, typed(DECK, "together", more))

    assert {"fault": "memory", "tabulator": twice, "instead": instead} in found


def test_the_tape_of_the_edition_before_is_told():
    was = plan(style("1", "P1", contest("MAYOR", "A B C D", 1), BOND))

    assert {"fault": "edition"} in answers(DECK, after_edition(DECK, was), was)


def test_a_style_that_the_edition_before_did_not_have_is_not_counted_by_its_memory():
    deck = build(plan(style("1", "P1", MAYOR), style("2", "P2", BOND)))
    was = plan(style("1", "P1", MAYOR))
    found = compare(deck, after(deck, fault("edition"), before=was), was)

    assert [one.fault.kind for one in explain(deck, found, was)] == ["edition"]
    assert ("", "ballots") in found.effect


def test_an_edition_with_the_same_ovals_is_no_fault_that_figures_could_show():
    assert play(DECK, DECK.plan).hidden == () and "edition" not in play(DECK, DECK.plan).counts


def after_edition(deck, was):
    """The tape of ballots read by the old program: its choices, place by place."""
    changed = effect(deck.feeds["T1"], fault("edition"), was)
    tape = typed(deck, "T1")
    tape["contests"]["MAYOR"]["votes"]["D"] = 0
    for (where, cell), more in changed.items():
        figures = tape["contests"][where]
        (figures["votes"] if cell in figures["votes"] else figures)[cell] += more
    return tape


def test_a_tape_that_no_single_fault_gives_gets_the_nearest_marked_so():
    more = effect(DECK.feeds["T1"], EXCHANGED)
    tape = typed(DECK, "T1", {**more, ("BOND", "YES"): 7})
    found = explain(DECK, compare(DECK, tape))

    assert 1 <= len(found) <= 3 and not any(one.exact for one in found)
    assert found[0].fault == EXCHANGED and found[0].as_json(DECK.plan)["exact"] is False and found[0].off == 1


@pytest.mark.parametrize(
    "change, says",
    [
        (lambda t: [], "The tape is a list: write an object, as in expected of deck.json."),
        (lambda t: {**t, "tabulator": "T9"}, 'tabulator is "T9": write one of T1, T2, together.'),
        (
            lambda t: {**t, "ballots": -1},
            "ballots is -1: write a whole number from 0 to 9999999, as printed on the tape.",
        ),
        (lambda t: {**t, "ballots": True}, "ballots is true: write a whole number"),
        (lambda t: {**t, "ballots": 16.0}, "ballots is 16.0: write a whole number"),
        (
            lambda t: {**t, "precincts": {"P9": 1}},
            'precincts names the precinct "P9", which this deck does not have: write one of P1.',
        ),
        (
            lambda t: {**t, "contests": {"SEN": {}}},
            "If the tape is of another edition, give that place file with --before.",
        ),
        (lambda t: {**t, "contests": {"MAYOR": {"votes": {"Z": 1}}}}, 'contests.MAYOR.votes names the choice "Z"'),
        (lambda t: {**t, "contests": {"BOND": {"write_in": 1}}}, 'contests.BOND names the key "write_in"'),
        (lambda t: {**t, "contests": {"MAYOR": {"under": "4"}}}, 'contests.MAYOR.under is "4": write a whole number'),
        (lambda t: {**t, "contests": []}, "contests is a list: write an object"),
        (lambda t: {"tabulator": "T1"}, "This tape holds no figure"),
        (lambda t: {**t, "weather": 1}, 'The tape names the key "weather"'),
    ],
)
def test_a_tape_that_cannot_be_read_is_refused_in_a_sentence(change, says):
    with pytest.raises(UnreadableTape) as refused:
        compare(DECK, change(typed(DECK, "T1")))
    assert says in str(refused.value)
