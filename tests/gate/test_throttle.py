"""Wrong tries slow one person down on one tablet, and nobody else anywhere. The figures are those of design section 6."""

import threading
import time

import pytest

from webapp.gate import GateRefused, WrongPin, throttle, verifier

from .conftest import DAWN

WAITS = (5, 10, 20, 30, 30, 30)  # seconds after wrong tries 4 to 9


def wrong(gate, times=1, tablet="L1", person="ruiz"):
    """So many wrong tries that are looked at, each after its wait."""
    for n in range(times):
        after(gate, 60 if n else 0)
        with pytest.raises(WrongPin):
            gate.check_pin(person, "999111", tablet, DAWN)


def after(gate, seconds):
    """So much later, by the seconds that nobody can set."""
    gate.throttle._monotonic.now += seconds


def refused(gate, pin="739152", tablet="L1", now=DAWN):
    with pytest.raises(GateRefused) as said:
        gate.check_pin("ruiz", pin, tablet, now)
    assert not isinstance(said.value, WrongPin)
    return str(said.value)


def test_three_wrong_tries_cost_no_wait(gate, ruiz):
    for _ in range(3):
        wrong(gate)

    gate.check_pin(ruiz, "739152", "L1", DAWN)


@pytest.mark.parametrize("tries, wait", list(enumerate(WAITS, 4)))
def test_from_the_fourth_on_each_wrong_try_costs_a_longer_wait(gate, ruiz, tries, wait):
    wrong(gate, tries)
    after(gate, wait - 0.001)

    assert refused(gate) == "Wait 1 more second before the next PIN of this person here: this one was not looked at."
    after(gate, 0.001)
    gate.check_pin(ruiz, "739152", "L1", DAWN)


def test_the_sentence_after_a_wrong_try_says_how_long_to_wait(gate, ruiz):
    wrong(gate, 4)
    after(gate, 5)

    with pytest.raises(WrongPin, match=r"\(wrong try 5 here\): wait 10 seconds, then type it again"):
        gate.check_pin(ruiz, "999111", "L1", DAWN)


def test_the_right_pin_during_a_wait_is_not_even_looked_at(gate, ruiz, monkeypatch):
    wrong(gate, 5)
    monkeypatch.setattr(verifier, "holds", lambda *_: pytest.fail("looked at"))
    after(gate, 2)

    assert refused(gate).startswith("Wait 8 more seconds")


def test_a_try_during_a_wait_does_not_lengthen_it(gate, ruiz):
    wrong(gate, 5)
    for _ in range(10):
        refused(gate, pin="999111")
        after(gate, 1)

    gate.check_pin(ruiz, "739152", "L1", DAWN)


def test_after_ten_wrong_tries_that_tablet_takes_no_pin_of_that_person(gate, ruiz):
    wrong(gate, 10)
    after(gate, 86_400)

    assert "two officials of different parties reset it" in refused(gate)
    assert gate.throttle.refusing() == (("ruiz", "L1"),)


def test_two_vouchers_reset_it(gate, ruiz):
    wrong(gate, 10)
    gate.throttle.reset(ruiz)

    gate.check_pin(ruiz, "739152", "L1", DAWN)
    assert gate.throttle.refusing() == ()


def test_r6_a_hundred_wrong_tries_on_one_tablet_do_not_delay_that_person_on_another(gate, ruiz):
    for _ in range(100):
        with pytest.raises(GateRefused):
            gate.check_pin(ruiz, "999111", "L1", DAWN)
        after(gate, 60)

    gate.check_pin(ruiz, "739152", "L2", DAWN)


def test_nor_do_they_delay_somebody_else_on_the_same_tablet(gate, ruiz):
    gate.pins.set("okoye", "286491")
    wrong(gate, 10)

    gate.check_pin("okoye", "286491", "L1", DAWN)


def test_a_right_pin_wipes_the_slate_of_that_tablet(gate, ruiz):
    wrong(gate, 6)
    after(gate, 60)
    gate.check_pin(ruiz, "739152", "L1", DAWN)

    for _ in range(3):
        wrong(gate)
    gate.check_pin(ruiz, "739152", "L1", DAWN)


def test_fresh_windows_give_nobody_tries_without_end(gate, ruiz):
    """Thirty wrong tries in all: after that a tablet new to the person waits half a minute between tries; one they signed on does not."""
    gate.check_pin(ruiz, "739152", "L1", DAWN)
    for window in range(2, 10):
        for _ in range(4):
            try:
                gate.check_pin(ruiz, "999111", f"L{window}", DAWN)
            except GateRefused as said:
                last = said

    assert not isinstance(last, WrongPin) and "Wait 30 more seconds" in str(last)
    after(gate, 1)
    gate.check_pin(ruiz, "739152", "L1", DAWN)
    after(gate, 29)
    gate.check_pin(ruiz, "739152", "L99", DAWN)


def test_r6_an_admitted_tablet_waits_for_its_own_wrong_tries_only(gate, ruiz):
    """However many windows are opened against a person: a tablet that somebody let in by hand takes the PIN at once, though it is new to it."""
    for window in range(1, 10):
        for _ in range(4):
            with pytest.raises(GateRefused):
                gate.check_pin(ruiz, "999111", f"L{window}", DAWN)
    letter, _ = gate.tablets.ask(gate.tablets.invite(), "full", DAWN)
    with pytest.raises(GateRefused, match="Wait 30 more seconds"):
        gate.check_pin(ruiz, "739152", letter, DAWN)

    gate.tablets.admit(letter)

    gate.check_pin(ruiz, "739152", letter, DAWN)


def test_the_count_outlives_a_restart_and_the_wait_begins_anew(kept, ruiz):
    wrong(kept.gate, 5)
    gate = kept.again()
    after(gate, 60)

    assert refused(gate).startswith("Wait 10 more seconds")
    after(gate, 10)
    gate.check_pin(ruiz, "739152", "L1", DAWN)


def test_ten_wrong_tries_stay_ten_after_a_restart(kept, ruiz):
    wrong(kept.gate, 10)
    after(kept.gate, 60)

    assert "reset it" in refused(kept.again())


def test_a_clock_set_back_makes_no_wait_longer(gate, ruiz):
    wrong(gate, 5)

    assert refused(gate, now=DAWN - 3_600_000).startswith("Wait 10 more seconds")
    after(gate, 10)
    gate.check_pin(ruiz, "739152", "L1", DAWN - 3_590_000)


def test_a_clock_set_forward_makes_no_wait_shorter(gate, ruiz):
    wrong(gate, 5)

    assert refused(gate, now=DAWN + 86_400_000).startswith("Wait 10 more seconds")


def test_fresh_windows_at_one_moment_get_one_try_a_wait(gate, ruiz, monkeypatch):
    """Thirty wrong tries stand. After the wait, 24 new windows at once have one try between them, however long a look takes."""
    for window in range(2, 10):
        for _ in range(4):
            with pytest.raises(GateRefused):
                gate.check_pin(ruiz, "999111", f"L{window}", DAWN)
    after(gate, 30)
    looked = []
    monkeypatch.setattr(gate.pins, "holds", lambda person, pin: looked.append(pin) or time.sleep(0.05))
    threads = [
        threading.Thread(target=lambda n=n: pytest.raises(GateRefused, gate.check_pin, ruiz, "999111", f"L{n}", DAWN))
        for n in range(100, 124)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert len(looked) == 1


def test_twenty_tries_at_once_are_twenty_tries(gate, ruiz):
    """Threads that race cannot squeeze more guesses in than one after the other could."""
    said = []

    def guess():
        try:
            gate.check_pin(ruiz, "999111", "L1", DAWN)
        except GateRefused as refusal:
            said.append(type(refusal))

    threads = [threading.Thread(target=guess) for _ in range(20)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert (said.count(WrongPin), said.count(GateRefused)) == (throttle.FREE + 1, 20 - throttle.FREE - 1)


def test_no_time_of_a_wrong_try_is_stored(kept, ruiz):
    """A PIN typed for a ballot kind must not date it."""
    wrong(kept.gate, 5)

    names = [row[1] for row in kept.gate._drawer.rows("PRAGMA table_info(wrong_tries)")]
    assert names == ["person", "tablet", "what", "tries"]
