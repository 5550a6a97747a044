"""Open questions of a place: each has a name and facts; an answer closes it for these facts alone."""

from types import SimpleNamespace

from webapp.office.questions.desk_questions import (
    DeskAnswer,
    DeskQuestion,
    answered,
    of_a_seal,
    of_carriers,
    of_containers,
    of_entries,
    of_memory,
    of_two_figures,
    open_ones,
    summary,
)


def names(questions) -> list[str]:
    return [one.name for one in questions]


def test_a_seal_that_differs_is_missing_here_or_there_is_a_question_and_equal_ones_are_none():
    assert list(of_a_seal("C1", "0412", "0412")) == list(of_a_seal("C1", "", "")) == []
    for read, said, words in (
        ("1", "2", "seal 1 read here, 2 in the packet"),
        ("", "2", "no seal was read here"),
        ("1", "", "the packet has none"),
    ):
        (one,) = of_a_seal("C1", read, said)
        assert one.name == "seal/C1" and one.facts == (read, said) and words in one.says


def test_memory_not_loaded_and_a_tape_that_differs_bear_on_the_totals_and_a_seal_does_not():
    (memory,) = of_memory({"expected": 2, "received": 1, "loaded": 0})
    (tape,) = of_two_figures("tape/T1", "Tape", "Public counter on the tape of T1", 205, 201)
    (seal,) = of_a_seal("C1", "1", "2")
    assert (memory.holds, tape.holds, seal.holds) == (True, True, False)
    assert (
        memory.says == "Memory devices: 2 expected, 1 received, 0 loaded."
        and "205 here, 201 in the packet: 4 more here" in tape.says
    )
    assert (
        list(of_memory({"expected": 1, "received": 1, "loaded": 1}))
        == list(of_memory(None))
        == list(of_memory({"expected": 1}))
        == []
    )
    assert (
        list(of_two_figures("tape/T1", "Tape", "", 201, 201))
        == list(of_two_figures("tape/T1", "Tape", "", None, 201))
        == []
    )


def test_a_container_that_is_not_here_or_damaged_and_another_number_than_on_the_slip():
    holds = {"C1": "voted ballots", "U1": "unused ballots"}
    found = list(
        of_containers({"here": {"C1": True, "U1": False}, "unhurt": {"C1": False, "U1": True}, "on_slip": 2}, holds)
    )
    assert (
        names(found) == ["damaged/C1", "container/U1", "containers"]
        and "1 container on the table, 2 on the carry slip: 1 fewer" in found[2].says
    )
    assert list(of_containers(None, holds)) == []


def test_one_carrier_alone_and_two_of_one_party_are_asked_about():
    party = {"a": "M", "b": "P", "c": "M"}
    assert list(of_carriers({"first_carrier": "a", "second_carrier": "b"}, party)) == []
    assert "alone" in next(of_carriers({"first_carrier": "a"}, party)).says
    assert "one party" in next(of_carriers({"first_carrier": "a", "second_carrier": "c"}, party)).says
    deputy = next(of_carriers({"first_carrier": "a", "second_carrier": "not-on-roll"}, party))
    assert "who is not on the roll" in deputy.says and deputy.facts == ("a", "not-on-roll")
    assert "alone" in next(of_carriers({"first_carrier": "not-on-roll"}, party)).says
    assert (
        "Neither carrier"
        in next(of_carriers(dict.fromkeys(("first_carrier", "second_carrier"), "not-on-roll"), party)).says
    )


def test_an_answer_closes_a_question_for_its_facts_and_another_reading_opens_it_again():
    one = DeskQuestion("seal/C1", "Seals", "C1 ...", ("1", "2"))
    said = DeskAnswer(7, "seal/C1", "explained", ("1", "2"), "the first digit was torn")
    assert summary(answered([one], [])) == "1 question open" and summary(answered([one], [said])) == ""
    other = DeskQuestion("seal/C1", "Seals", "C1 ...", ("3", "2"))
    assert open_ones(answered([other], [said])) == (other,)
    again = answered([one], [said, DeskAnswer(9, "seal/C1", "unexplained", ("1", "2"), "nobody knows")])
    assert again[0].answer.number == 9


def test_what_only_another_page_settles_is_closed_by_no_answer():
    one = DeskQuestion("against", "Packet", "Two packets disagree.", ("aa",), "/packets/W3")
    assert answered([one], [DeskAnswer(1, "against", "explained", ("aa",))])[0].open


def test_questions_stand_in_the_order_in_which_they_are_asked_each_name_once():
    found = answered(
        [
            DeskQuestion("stock", "Packet", "b"),
            DeskQuestion("short/oath", "Short-signed", "a"),
            DeskQuestion("stock", "Packet", "c"),
        ],
        [],
    )
    assert [(one.name, one.says) for one in found] == [("short/oath", "a"), ("stock", "b")]


def test_answers_are_read_from_entries():
    kept = SimpleNamespace(
        number=4,
        kept=9,
        body={"question": "memory", "outcome": "explained", "facts": [2, 1, 0]},
        word=lambda name: "loaded later" if name == "answer" else "",
    )
    assert of_entries([kept]) == (DeskAnswer(4, "memory", "explained", (2, 1, 0), "loaded later", 9),)
