"""Tablets that come over the network: a code of eight digits, two minutes, one use, five tries; letters; what the record says last."""

import sqlite3

import pytest

from webapp.gate import Gate, GateRefused
from webapp.gate.tablets import LETTERS

from .conftest import DAWN

SENTENCE = "This is not the code that the laptop shows now."


def other(code: str) -> str:
    return f"{(int(code) + 1) % 10**8:08d}"


def asked(gate, level="full", **more) -> str:
    return gate.tablets.ask(gate.tablets.invite(), level, DAWN, **more)[0]


def test_a_code_has_eight_digits_and_no_two_are_alike(gate):
    codes = {gate.tablets.invite() for _ in range(50)}

    assert len(codes) == 50 and all(len(code) == 8 and code.isascii() and code.isdigit() for code in codes)


def test_a_code_may_be_typed_with_a_space_between(gate):
    code = gate.tablets.invite()

    assert gate.tablets.ask(f" {code[:4]} {code[4:]} ", "full", DAWN)[0] == "A"


def test_a_code_holds_two_minutes_of_real_time_whatever_the_clock_says(kept):
    code = kept.gate.tablets.invite()
    kept.seconds.now += 119
    assert kept.gate.tablets.seconds_left() == 1
    assert kept.gate.tablets.ask(code, "full", DAWN + 86_400_000)[0] == "A"
    code = kept.gate.tablets.invite()
    kept.seconds.now += 120
    with pytest.raises(GateRefused, match=SENTENCE):
        kept.gate.tablets.ask(code, "full", DAWN)
    assert kept.gate.tablets.seconds_left() == 0


def test_every_way_of_being_wrong_is_told_alike(kept):
    """Late, used, never there, tried too often: a guesser learns nothing."""
    gate, said = kept.gate, set()

    def wrong(code):
        with pytest.raises(GateRefused) as refusal:
            gate.tablets.ask(code, "full", DAWN)
        said.add(str(refusal.value))

    wrong("00000000")  # nobody asked for a code yet
    code = gate.tablets.invite()
    gate.tablets.ask(code, "full", DAWN)
    wrong(code)  # used
    code = gate.tablets.invite()
    gate.tablets.invite()
    wrong(code)  # another was asked for since
    code = gate.tablets.invite()
    for _ in range(5):
        wrong(other(code))
    wrong(code)  # tried too often from there
    code = gate.tablets.invite()
    kept.seconds.now += 200
    wrong(code)  # late
    wrong("")
    wrong("１２３４５６７８")

    assert len(said) == 1 and said.pop().startswith(SENTENCE)
    assert [one.id for one in gate.tablets.all()] == ["A"]


def test_after_four_wrong_tries_the_right_code_still_opens(gate):
    code = gate.tablets.invite()
    for _ in range(4):
        with pytest.raises(GateRefused):
            gate.tablets.ask(other(code), "full", DAWN)

    assert gate.tablets.ask(code, "full", DAWN)[0] == "A"


def test_the_code_lies_in_no_file(kept):
    code = kept.gate.tablets.invite()

    assert code.encode() not in kept.dump() and code not in repr(vars(kept.gate.tablets))


def test_a_tablet_waits_until_it_is_admitted_and_opens_nothing_once_struck_off(kept):
    letter, handle = kept.gate.tablets.ask(kept.gate.tablets.invite(), "online", DAWN)
    one = kept.gate.tablets.get(letter)
    assert (one.level, one.admitted, one.revoked) == ("online", False, False)

    kept.gate.tablets.admit(letter)
    gate = kept.again()
    assert gate.tablets.get(letter).admitted and gate.sessions.get(handle, DAWN).tablet == letter

    gate.tablets.strike_off(letter)
    assert gate.sessions.get(handle, DAWN) is None and gate.tablets.get(letter).revoked


@pytest.mark.parametrize("level", ["", "Full", "not admitted", "full' --"])
def test_a_level_nobody_knows_is_online_at_first_and_refused_later(gate, level):
    letter = asked(gate, level)
    assert gate.tablets.get(letter).level == "online"

    with pytest.raises(GateRefused, match="full or online only"):
        gate.tablets.set_level(letter, level)


def test_only_another_level_is_news(gate):
    letter = asked(gate, "online")

    assert [gate.tablets.set_level(letter, level) for level in ("online", "full", "full")] == [False, True, False]


def test_letters_go_on_with_a_figure_and_are_never_the_laptops_nor_given_twice(gate):
    letters = [asked(gate) for _ in range(len(LETTERS) + 2)]

    assert letters[:3] == ["A", "B", "C"] and letters[-2:] == ["A2", "B2"]
    assert len(set(letters)) == len(letters) and not {"I", "L", "O"} & set(letters)
    assert not any(gate.sessions.get(gate.sessions.open(DAWN), DAWN).tablet in letters for _ in range(3))


def test_letters_that_the_record_knows_are_passed_over(gate):
    assert [asked(gate, taken={"A": True, "C": False}) for _ in range(2)] == ["B", "D"]


def test_what_the_record_says_last_holds_and_what_it_does_not_know_stays(gate):
    for _ in range(4):
        asked(gate)
    gate.tablets.admit("B")
    gate.tablets.admit("C")

    gate.tablets.agree({"A": True, "B": False, "Q": True})

    assert [(one.id, one.admitted, one.revoked) for one in gate.tablets.all()] == [
        ("A", True, False),
        ("B", True, True),
        ("C", True, False),
        ("D", False, False),
    ]


def test_a_gate_from_before_there_were_tablets_opens_and_keeps_what_it_had(kept, ruiz):
    handle = kept.gate.sessions.open(DAWN)
    kept.gate.close()
    kept.gate = None
    with sqlite3.connect(kept.folder / "gate.db") as old:
        for table in ("tablets", "contacts"):
            old.execute(f"DROP TABLE {table}")
    old.close()

    gate = Gate.open(kept.folder / "gate.db", kept.seconds)
    kept.gate = gate

    assert gate.tablets.all() == () and gate.contacts.all() == {}
    assert gate.sessions.get(handle, DAWN).tablet == "L1"
    gate.check_pin(ruiz, "739152", "L1", DAWN)
    assert asked(gate) == "A"


def test_a_guesser_uses_up_tries_of_an_own_address_and_keeps_nobody_out(gate):
    code = gate.tablets.invite()
    for _ in range(80):
        with pytest.raises(GateRefused):
            gate.tablets.ask(other(code), "full", DAWN, asker="192.0.2.66")
    with pytest.raises(GateRefused):
        gate.tablets.ask(code, "full", DAWN, asker="192.0.2.66")

    assert gate.tablets.ask(code, "full", DAWN, asker="192.0.2.7")[0] == "A"
    assert gate.tablets.wrong_codes() == {"192.0.2.66": 81}


def test_a_hundred_tries_in_all_end_a_code_wherever_they_come_from(gate):
    """100 of 10^8: one guess in a million, as from one address before."""
    code = gate.tablets.invite()
    for n in range(100):
        with pytest.raises(GateRefused):
            gate.tablets.ask(other(code), "full", DAWN, asker=f"192.0.2.{n}")
    with pytest.raises(GateRefused, match=SENTENCE):
        gate.tablets.ask(code, "full", DAWN, asker="198.51.100.1")
    assert gate.tablets.seconds_left() == 0

    assert gate.tablets.ask(gate.tablets.invite(), "full", DAWN, asker="198.51.100.1")[0] == "A", (
        "the next code has a hundred of its own"
    )


def test_addresses_without_end_fill_no_memory_and_are_still_counted(gate):
    for n in range(3000):
        with pytest.raises(GateRefused):
            gate.tablets.ask("1", "full", DAWN, asker=str(n))

    assert len(gate.tablets.wrong_codes()) == 1001 and sum(gate.tablets.wrong_codes().values()) == 3000
    assert next(iter(gate.tablets.wrong_codes().items())) == ("", 2000)
