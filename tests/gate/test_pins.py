"""Which PINs are taken. What is too easy: common practice, no source."""

from datetime import date

import pytest

from webapp.gate import GateRefused, WrongPin
from webapp.gate.pins import too_easy

from .conftest import DAWN

ELECTION = date(2026, 11, 3)


@pytest.mark.parametrize("pin", ["739152", "2058413", "90417362", "519304826175"])
def test_an_ordinary_pin_of_6_to_12_digits_is_taken(pin):
    assert too_easy(pin, ELECTION) is None


@pytest.mark.parametrize("pin", ["", "12345", "7391524680135", "73915a", "73 152", "٧٣٩١٥٢", "739152\n", "-739152"])
def test_r4_anything_but_6_to_12_plain_digits_is_told_what_a_pin_is(pin):
    assert too_easy(pin) == "A PIN has 6 to 12 digits and nothing else."


@pytest.mark.parametrize(
    "pin",
    ["123456", "234567", "987654", "567890", "890123", "0123456789", "135791", "102030", "246802", "112233", "142536"],
)
def test_a_pin_that_counts_is_refused(pin):
    assert "counts up or down" in too_easy(pin)


@pytest.mark.parametrize("pin", ["111111", "000000000000", "121212", "739739", "73917391", "515151"])
def test_a_pin_that_repeats_itself_is_refused(pin):
    assert "repeats one piece" in too_easy(pin)


@pytest.mark.parametrize("pin", ["739937", "1234321", "112211", "111112", "7007077"])
def test_a_pin_that_reads_the_same_backwards_or_has_two_digits_is_refused(pin):
    assert "too few different digits or reads the same backwards" in too_easy(pin)


@pytest.mark.parametrize("pin", ["031126", "110326", "261103", "03112026", "11032026", "20261103"])
def test_the_day_of_the_election_is_no_pin_on_that_day(pin):
    assert "day of the election" in too_easy(pin, ELECTION)
    assert "reads as a date" in too_easy(pin, date(2027, 5, 18))


@pytest.mark.parametrize("pin", ["041258", "580412", "120458", "19580412", "12041958", "04121958", "290264"])
def test_what_reads_as_a_date_of_birth_is_no_pin(pin):
    assert "That PIN reads as a date" in too_easy(pin, ELECTION)


@pytest.mark.parametrize("pin", ["320158", "581335", "290265", "18580412", "735826", "0412583", "041258736"])
def test_what_is_no_day_of_any_year_is_taken(pin):
    assert too_easy(pin, ELECTION) is None


@pytest.mark.parametrize("pin", ["123654", "159753", "147258"])
def test_r4_what_anyone_would_try_first_is_refused(pin):
    assert "first that anyone would try" in too_easy(pin)


def test_a_refused_pin_leaves_the_old_one_in_force(gate, ruiz):
    with pytest.raises(GateRefused):
        gate.pins.set(ruiz, "123456")

    gate.check_pin(ruiz, "739152", "L1", DAWN)


def test_a_new_pin_takes_the_place_of_the_old_one(gate, ruiz):
    gate.pins.set(ruiz, "286491")

    gate.check_pin(ruiz, "286491", "L1", DAWN)
    with pytest.raises(WrongPin):
        gate.check_pin(ruiz, "739152", "L1", DAWN)


def test_a_pin_is_one_persons_only(gate, ruiz):
    gate.pins.set("okoye", "286491")

    with pytest.raises(WrongPin):
        gate.check_pin("okoye", "739152", "L1", DAWN)


def test_one_without_a_pin_is_sent_to_set_it_first(gate):
    assert not gate.pins.has("okoye")
    with pytest.raises(GateRefused, match="has set no PIN yet") as refused:
        gate.check_pin("okoye", "739152", "L1", DAWN)
    assert not isinstance(refused.value, WrongPin)


def test_a_lost_pin_signs_nothing_any_more(gate, ruiz):
    gate.pins.clear(ruiz)

    with pytest.raises(GateRefused, match="has set no PIN yet"):
        gate.check_pin(ruiz, "739152", "L1", DAWN)


def test_what_cannot_be_a_pin_costs_no_try(gate, ruiz):
    for _ in range(12):
        with pytest.raises(GateRefused, match="6 to 12 digits") as refused:
            gate.check_pin(ruiz, "12", "L1", DAWN)
        assert not isinstance(refused.value, WrongPin)

    gate.check_pin(ruiz, "739152", "L1", DAWN)


def test_a_pin_outlives_a_restart(kept, ruiz):
    again = kept.again()
    again.check_pin(ruiz, "739152", "L1", DAWN)
    with pytest.raises(WrongPin):
        again.check_pin(ruiz, "739153", "L1", DAWN)


def test_no_pin_lies_in_the_file_in_the_clear(kept, ruiz):
    assert b"739152" not in kept.dump()
    assert b"$argon2id$" in kept.dump()
