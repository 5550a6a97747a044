"""Windows, their tablets and who holds them."""

import base64
import re
from hashlib import sha256

import pytest

from webapp.gate import GateRefused

from .conftest import DAWN, MINUTE


def test_r25_a_handle_is_128_random_bits_in_base64url(gate):
    handles = {gate.sessions.open(DAWN) for _ in range(50)}

    assert len(handles) == 50
    assert all(len(base64.urlsafe_b64decode(handle + "==")) == 16 for handle in handles)


def test_each_window_is_a_tablet_with_an_id_of_its_own(gate):
    ids = [gate.sessions.get(gate.sessions.open(DAWN), DAWN).tablet for _ in range(12)]

    assert ids == [f"L{n}" for n in range(1, 13)]
    assert all(re.fullmatch(r"[A-Za-z0-9-]{1,16}", name) for name in ids)


def test_only_the_hash_of_a_handle_is_stored(kept):
    handle = kept.gate.sessions.open(DAWN)

    assert handle.encode() not in kept.dump()
    assert sha256(handle.encode()).digest() in kept.dump()


def test_an_unknown_handle_opens_nothing(gate):
    gate.sessions.open(DAWN)

    assert gate.sessions.get("", DAWN) is None
    assert gate.sessions.get("A" * 22, DAWN) is None


def test_a_tablet_has_no_holder_until_somebody_takes_it(gate):
    handle = gate.sessions.open(DAWN)
    assert gate.sessions.get(handle, DAWN).holder is None

    gate.sessions.take("L1", "ruiz", DAWN + MINUTE)
    found = gate.sessions.get(handle, DAWN + MINUTE)
    assert (found.holder, found.holder_since) == ("ruiz", DAWN + MINUTE)


def test_a_holder_lapses_after_thirty_idle_minutes(gate):
    handle = gate.sessions.open(DAWN)
    gate.sessions.take("L1", "ruiz", DAWN)

    assert gate.sessions.get(handle, DAWN + 30 * MINUTE - 1).holder == "ruiz"
    assert gate.sessions.get(handle, DAWN + 30 * MINUTE).holder is None
    assert gate.sessions.get(handle, DAWN).holder is None


def test_each_touch_begins_the_thirty_minutes_again(gate):
    handle = gate.sessions.open(DAWN)
    gate.sessions.take("L1", "ruiz", DAWN)
    for minute in range(20, 120, 20):
        gate.sessions.touch("L1", DAWN + minute * MINUTE)

    assert gate.sessions.get(handle, DAWN + 129 * MINUTE).holder == "ruiz"
    assert gate.sessions.get(handle, DAWN + 130 * MINUTE).holder is None


def test_looking_alone_keeps_no_holder(gate):
    handle = gate.sessions.open(DAWN)
    gate.sessions.take("L1", "ruiz", DAWN)
    for minute in range(0, 30, 5):
        gate.sessions.get(handle, DAWN + minute * MINUTE)

    assert gate.sessions.get(handle, DAWN + 30 * MINUTE).holder is None


def test_a_clock_set_back_keeps_no_holder_beyond_thirty_minutes_of_real_time(kept):
    handle = kept.gate.sessions.open(DAWN)
    kept.gate.sessions.take("L1", "ruiz", DAWN)
    kept.seconds.now += 1800

    assert kept.gate.sessions.get(handle, DAWN - 60 * MINUTE).holder is None


def test_the_last_touch_is_stored_as_a_quarter_hour_only(kept):
    kept.gate.sessions.open(DAWN)
    kept.gate.sessions.touch("L1", DAWN + 23 * MINUTE + 4567)

    assert kept.gate._drawer.rows("SELECT seen FROM sessions") == [(DAWN + 15 * MINUTE,)]


def test_after_a_restart_the_idle_minutes_count_from_that_quarter_hour(kept):
    handle = kept.gate.sessions.open(DAWN)
    kept.gate.sessions.take("L1", "ruiz", DAWN + 14 * MINUTE)

    assert kept.again().sessions.get(handle, DAWN + 29 * MINUTE).holder == "ruiz"
    assert kept.again().sessions.get(handle, DAWN + 30 * MINUTE).holder is None


def test_a_person_may_take_a_tablet_from_another(gate):
    handle = gate.sessions.open(DAWN)
    gate.sessions.take("L1", "ruiz", DAWN)
    gate.sessions.take("L1", "okoye", DAWN + 5)

    assert gate.sessions.get(handle, DAWN + 5).holder == "okoye"


def test_leaving_and_being_put_down_end_the_holding(gate):
    first, second = gate.sessions.open(DAWN), gate.sessions.open(DAWN)
    gate.sessions.take("L1", "ruiz", DAWN)
    gate.sessions.take("L2", "ruiz", DAWN)
    gate.sessions.leave("L1")
    assert [gate.sessions.get(h, DAWN).holder for h in (first, second)] == [None, "ruiz"]

    gate.sessions.put_down("ruiz")
    assert gate.sessions.get(second, DAWN).holder is None


def test_r25_a_revoked_tablet_opens_nothing_and_its_id_is_not_given_again(gate):
    handle = gate.sessions.open(DAWN)
    gate.sessions.revoke("L1")

    assert gate.sessions.get(handle, DAWN) is None
    with pytest.raises(GateRefused, match="Tablet L1 is not admitted here"):
        gate.sessions.take("L1", "ruiz", DAWN)
    assert gate.sessions.get(gate.sessions.open(DAWN), DAWN).tablet == "L2"
    assert [(t.id, t.revoked) for t in gate.sessions.tablets()] == [("L1", True), ("L2", False)]


def test_holder_and_handle_outlive_a_restart(kept):
    handle = kept.gate.sessions.open(DAWN)
    kept.gate.sessions.take("L1", "ruiz", DAWN)

    assert kept.again().sessions.get(handle, DAWN + MINUTE).holder == "ruiz"
