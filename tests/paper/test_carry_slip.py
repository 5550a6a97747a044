"""The carry slip says what the day says: container by container, number by number, the open questions first."""

from dataclasses import replace

import pytest

from tests.matrix import some
from tests.paper.printed import Printed
from tests.paper.test_forms import FRAME
from webapp.paper.carry_slip import carry_pdf
from webapp.precinct.account.balanced_day import BalancedDay
from webapp.precinct.reports.carry_slip import blank, carry, why_not
from webapp.precinct.reports.open_questions import Question, questions, shortened


@pytest.fixture
def left(whole_day):
    place, day = whole_day("""
        21:35 room-left nothing_behind yes keys yes book yes laptop yes lifted_by_two yes by Calloway, Pellow
        21:50 depart time 21:55 first_carrier Vance second_carrier Pellow carry_slip yes by Calloway, Renn
    """)
    return place, carry(place, day)


def test_each_container_has_the_ballots_and_the_seal_that_were_signed(left):
    place, slip = left
    assert [(c.id, c.ballots, c.seal) for c in slip.containers] == [
        ("C1", 403, "40222"),
        ("C2", 29, "40224"),
        ("case", None, "40225"),
    ]
    assert (slip.ballots, slip.sealed) == (432, 4), "three on containers, one on the memory that goes"
    text = Printed(carry_pdf(place, slip)).all
    assert (
        "C1 voted ballots 403 40222" in text
        and "C2 voted ballots 29 40224" in text
        and "Case transfer case – 40225" in text
    )
    assert "Together 3 containers 432 3 seals" in text


def test_envelopes_seals_and_memory_are_those_of_the_day(left):
    place, slip = left
    assert {line.words: line.n for line in slip.envelopes if line.n is not None} == {
        "Spoiled, style 4A": 1,
        "Provisional: not in the poll book": 1,
        "Absentee, dropped off": 2,
    }
    assert [line.n for line in slip.seals] == [23, 0, 5], (
        "returned, damaged, cut: at 05:25, at noon, two bins and the memory's door at the close"
    )
    assert [(m.at, m.seal, m.goes) for m in slip.memory] == [("T1", "40226", True)]
    text = Printed(carry_pdf(place, slip)).all
    assert (
        "Spoiled, style 4A 1" in text
        and "Absentee, dropped off 2" in text
        and "Seals going back unused 23" in text
        and "1 memory device with the carriers." in text
    )


def test_carriers_of_two_parties_and_the_departure_are_told_and_have_rows_of_ink(left):
    place, slip = left
    text = Printed(carry_pdf(place, slip)).all
    assert (
        "In the record: Okoro Vance (inspector, Elm Party); Maud Pellow (inspector, Heron Party). Left at 21:55."
        in text
    )
    assert all(
        words in text
        for words in (
            "1st carrier: name, party",
            "2nd carrier: name, party",
            "1st receiver: name, party",
            "2nd receiver: name, party",
            "left at, time",
        )
    )
    assert "Two people lift a tabulator" in text and "Local law" in text


def test_what_nobody_has_signed_stays_blank(whole_day):
    place, day = whole_day()
    slip = carry(place, day)
    assert (
        slip.carriers[0].name == "" and slip.left == "" and slip.copies[0].given is None and slip.things[0][1] is None
    )
    empty = blank(place, BalancedDay(place))
    assert empty.ballots is None and empty.sealed == 0 and empty.questions == ()
    text = Printed(carry_pdf(place, empty)).all
    assert "403" not in text and "Open questions" not in text


def test_a_container_corrected_after_it_was_sealed_is_printed_as_corrected(whole_day):
    place, day = whole_day("""
        21:33 correct 43 ballots.C1 402 ballots.C2 30 because "counted again" by Calloway, Renn
    """)
    kept = next(k for k in day.entries if k.kind == "containers-filled")
    assert kept.number == 43
    assert [c.ballots for c in carry(place, day).containers[:2]] == [402, 30]


def test_gaps_stand_among_the_questions_with_both_figures_and_their_remark(whole_day):
    place, day = whole_day()
    asked = questions(place, day)
    assert [q.sort for q in asked] == ["figures", "figures"] and all(
        "Remark signed, entry 41." in q.says for q in asked
    )
    assert "435 check-ins, 433 ballots" in asked[1].says
    text = Printed(carry_pdf(place, carry(place, day))).all
    assert "Open questions: 2. The desk asks them first" in text and "2 more check-ins than ballots" in text


def test_short_signed_steps_head_the_questions(whole_day):
    place, day = whole_day(
        instead={
            "21:15 statement figures_in_words yes by Calloway, Renn": '21:15 statement not_so yes found "one pen" done "all signed with it" by Calloway, Renn'
        }
    )
    first = next(k for k in day.entries if k.kind == "bins-empty")
    short = replace(
        first,
        short=({"seat": "other", "why": "declined", "told": "duty clerk", "told_at": place.at(place.opens)},),
        signers=first.signers[:1],
        texts={"told": "duty clerk"},
    )
    day.entries[day._index[first.number]] = short
    asked = questions(place, day)
    assert asked[0].sort == "short-signed" and asked[0].entry == first.number
    assert (
        asked[0].says
        == "Bins of box X1: signed by chair, Elm Party; the seat for an official of another party is empty (declines to sign); the office was told at 07:00: duty clerk."
    )
    assert asked[-1] == Question(
        "exception", "Statement in ink: not so. Found: one pen. Done: all signed with it.", asked[-1].entry
    )


def test_notes_of_single_ballots_are_asked_about_as_a_number(whole_day):
    """Their order and words stay in the record: secrecy."""
    place, day = whole_day(
        instead={
            "09:40 left ballots 1 book P4 by Pellow": '09:40 left not_so yes found "unsure" done "asked" by Pellow'
        }
    )
    found = [q for q in questions(place, day) if q.sort == "exception"]
    assert [q.says for q in found] == [
        "1 note about single ballots is kept as not so: read it in the record of the place."
    ] and found[0].entry == 0


def test_a_seal_that_differs_and_seals_that_are_missing_are_asked_about(whole_day):
    place, day = whole_day(
        instead={
            "seals.X1-main #40223": "seals.X1-main #40219",
            "issued 30 applied 7 returned 23": "issued 30 applied 7 returned 22",
        }
    )
    says = [q.says for q in questions(place, day) if q.sort == "seals"]
    assert any("Seal 40219 was read at main bin of box X1" in line for line in says)
    assert "30 seals were issued; applied, going back and damaged make 29: 1 seal missing." in says


def test_the_slip_opens_when_the_containers_are_sealed(whole_day):
    place, day = whole_day()
    assert why_not(place, day) == ""
    assert "opens when the containers are sealed" in why_not(place, BalancedDay(place))
    without = replace(place, steps=({"id": "containers-sealed", "drop": True},))
    assert why_not(without, day) == "", "a place that does not seal them opens it with the step before"


def test_a_slip_is_two_pages_with_nothing_cut_off(places, left):
    few, every = [places["large"]], list(places.values())
    for place, slip in [left, *((place, blank(place, BalancedDay(place))) for place in some(few, every))]:
        many = tuple(
            Question(
                "exception", f"Step {n}: not so. Found: " + "something that took a long sentence to tell, " * 6 + ".", n
            )
            for n in range(60)
        )
        for one in (slip, replace(slip, questions=many)):
            paper = Printed(carry_pdf(place, one))
            assert len(paper) == (3 if len(place.containers) > 12 else 2), place.name
            assert (
                paper.outside(*FRAME) == []
                and paper.overlapping() == []
                and paper.smallest() >= 9
                and paper.ink_at_the_edge() == []
            )


def test_a_long_question_keeps_both_figures_and_the_difference():
    says = "524 ballots drawn from stock (1400 received, 100 delivered later, less 950 unused), 523 ballots accounted for (517 on the tape, 2 spoiled): 1 more ballot drawn than accounted for."
    assert shortened(says, 300) == says
    assert (
        shortened(says, 140)
        == "524 ballots drawn from stock, 523 ballots accounted for: 1 more ballot drawn than accounted for."
    )
    assert shortened("word " * 40, 20) == "word word word word …"


def test_questions_that_do_not_fit_are_counted(left):
    place, slip = left
    many = tuple(Question("figures", f"Question number {n}. " + "It goes on and on. " * 9, n) for n in range(1, 91))
    text = Printed(carry_pdf(place, replace(slip, questions=many))).all
    printed = sum(f"Question number {n}." in text for n in range(1, 91))
    assert 5 <= printed < 90 and f"{90 - printed} more: they are in the packet and in the record." in text
