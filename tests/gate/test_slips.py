"""A slip admits its owner once. Reading of the code after crockford.com/base32.html: I and L are 1, O is 0, case and dashes are nothing."""

import pytest

from webapp.gate import GateRefused, WrongPin, keys, slip_code, verifier

from .conftest import DAWN


def typed(code: str) -> str:
    """As a tired hand types it: small letters, l for 1, o for 0, spaces for dashes."""
    return " " + code.lower().replace("1", "l").replace("0", "o").replace("-", " ") + " "


def test_r3_ones_own_slip_is_used_once(kept, gate):
    gate.slips.use("ruiz", kept.codes["ruiz"], DAWN, "L1")

    with pytest.raises(GateRefused, match="was used already") as again:
        gate.slips.use("ruiz", kept.codes["ruiz"], DAWN, "L1")
    assert not isinstance(again.value, WrongPin)
    assert gate.slips.used("ruiz") is True and gate.slips.used("okoye") is False


def test_r3_somebody_elses_slip_opens_nothing(kept, gate):
    with pytest.raises(WrongPin, match="slip code"):
        gate.slips.use("ruiz", kept.codes["okoye"], DAWN, "L1")
    assert gate.slips.used("ruiz") is False and gate.slips.used("okoye") is False


def test_a_code_is_read_as_a_tired_hand_types_it(kept, gate):
    gate.slips.use("ruiz", typed(kept.codes["ruiz"]), DAWN, "L1")

    assert gate.slips.used("ruiz") is True


def test_one_and_nought_may_be_typed_as_letters(gate):
    gate._drawer.rows(
        "UPDATE slips SET verifier = ? WHERE person = 'ruiz'", verifier.make(keys.pepper(gate.path), "1A1B0C0D2E3F")
    )

    with pytest.raises(WrongPin):
        gate.slips.use("ruiz", "iAlB-oCOD-2E3E", DAWN)
    assert gate.slips.used("ruiz") is False
    gate.slips.use("ruiz", "iAlB-oCOD-2E3F", DAWN)
    assert gate.slips.used("ruiz") is True


def test_half_a_code_is_told_what_a_code_looks_like_and_costs_no_try(kept, gate):
    for _ in range(12):
        with pytest.raises(
            GateRefused, match="9 letters and digits, as in 7K3-M0Q-XT1, or 12 on an older slip"
        ) as refused:
            gate.slips.use("ruiz", "7K3M-0Q", DAWN, "L1")
        assert not isinstance(refused.value, WrongPin)
    gate.slips.use("ruiz", kept.codes["ruiz"], DAWN, "L1")


def test_who_has_no_slip_is_sent_to_two_vouchers(gate):
    with pytest.raises(GateRefused, match="two officials of different parties vouch"):
        gate.slips.use("W1", "7K3M-0QXT-94HB", DAWN, "L1")
    assert gate.slips.used("W1") is None


def test_slips_are_throttled_like_pins_and_apart_from_them(kept, gate):
    for _ in range(4):
        with pytest.raises(WrongPin):
            gate.slips.use("ruiz", kept.codes["okoye"], DAWN, "L1")

    with pytest.raises(GateRefused, match="Wait 5 more seconds before the next slip code"):
        gate.slips.use("ruiz", kept.codes["ruiz"], DAWN, "L1")
    gate.pins.set("ruiz", "739152")
    gate.check_pin("ruiz", "739152", "L1", DAWN)


def test_a_pin_is_set_with_ones_own_slip_and_uses_it_up(kept, gate):
    gate.set_pin_with_slip("ruiz", typed(kept.codes["ruiz"]), "739152", "L1", DAWN)

    gate.check_pin("ruiz", "739152", "L1", DAWN)
    assert gate.slips.used("ruiz") is True


def test_a_pin_that_is_too_easy_leaves_the_slip_unused(kept, gate):
    with pytest.raises(GateRefused, match="counts up or down"):
        gate.set_pin_with_slip("ruiz", kept.codes["ruiz"], "123456", "L1", DAWN)

    assert gate.slips.used("ruiz") is False and not gate.pins.has("ruiz")


def test_the_same_form_sent_twice_is_as_if_it_had_been_sent_once(kept, gate):
    for _ in range(2):
        gate.set_pin_with_slip("ruiz", kept.codes["ruiz"], "739152", "L1", DAWN)
        assert gate.slips.used("ruiz") is True
        gate.check_pin("ruiz", "739152", "L1", DAWN)


def test_a_used_slip_changes_no_pin(kept, gate):
    gate.set_pin_with_slip("ruiz", kept.codes["ruiz"], "739152", "L1", DAWN)

    with pytest.raises(WrongPin):
        gate.set_pin_with_slip("ruiz", kept.codes["ruiz"], "286491", "L1", DAWN)
    gate.check_pin("ruiz", "739152", "L1", DAWN)


def test_two_tablets_with_one_slip_set_one_pin(kept, gate):
    gate.slips.check("ruiz", kept.codes["ruiz"], DAWN, "L1")
    gate.set_pin_with_slip("ruiz", kept.codes["ruiz"], "739152", "L2", DAWN)

    with pytest.raises(GateRefused, match="used already, on another tablet"):
        gate.pins.set_using_slip("ruiz", "286491", DAWN)
    gate.check_pin("ruiz", "739152", "L1", DAWN)


def test_a_slip_of_a_finger_is_told_by_the_check_symbol_and_costs_no_try(kept, gate):
    """Every single wrong symbol but 0 for Z, and neighbors that changed places, checked symbol by symbol."""
    code = slip_code.read_slip(kept.codes["ruiz"])
    assert len(code) == 9
    for at in range(9):
        for other in slip_code.SYMBOLS:
            wrong = code[:at] + other + code[at + 1 :]
            if other != code[at] and {other, code[at]} != {"0", "Z"} and at < 8:
                assert slip_code.mistyped(wrong), (code, wrong)
    wrong = code[:8] + next(s for s in slip_code.SYMBOLS if s != code[8])
    for _ in range(12):
        with pytest.raises(GateRefused, match="its last one does not fit the others"):
            gate.slips.use("ruiz", wrong, DAWN, "L1")
    gate.slips.use("ruiz", kept.codes["ruiz"].lower().replace("-", " "), DAWN, "L1")


def test_a_slip_printed_before_with_twelve_symbols_stays_valid(gate):
    gate._drawer.rows(
        "UPDATE slips SET verifier = ? WHERE person = 'ruiz'", verifier.make(keys.pepper(gate.path), "7K3M0QXT94HB")
    )
    gate.slips.use("ruiz", "7k3m-0qxt-94hb", DAWN, "L1")
    assert gate.slips.used("ruiz") is True
    assert slip_code.read_slip("7K3-M0Q-XT1") == "7K3M0QXT1" and slip_code.read_slip("7K3-M0Q-XT2") is None
