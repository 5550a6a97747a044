"""Windows, their tablets and who holds them."""

import base64
import re
from hashlib import sha256

import pytest

from webapp.gate import GateRefused, sessions

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

    handle = gate.sessions.take("L1", "ruiz", DAWN + MINUTE)
    found = gate.sessions.get(handle, DAWN + MINUTE)
    assert (found.holder, found.holder_since) == ("ruiz", DAWN + MINUTE)


def test_a_holder_lapses_after_thirty_idle_minutes(gate):
    handle = gate.sessions.open(DAWN)
    handle = gate.sessions.take("L1", "ruiz", DAWN)

    assert gate.sessions.get(handle, DAWN + 30 * MINUTE - 1).holder == "ruiz"
    assert gate.sessions.get(handle, DAWN + 30 * MINUTE).holder is None
    assert gate.sessions.get(handle, DAWN).holder is None


def test_each_touch_begins_the_thirty_minutes_again(gate):
    handle = gate.sessions.open(DAWN)
    handle = gate.sessions.take("L1", "ruiz", DAWN)
    for minute in range(20, 120, 20):
        gate.sessions.touch("L1", DAWN + minute * MINUTE)

    assert gate.sessions.get(handle, DAWN + 129 * MINUTE).holder == "ruiz"
    assert gate.sessions.get(handle, DAWN + 130 * MINUTE).holder is None


def test_looking_alone_keeps_no_holder(gate):
    handle = gate.sessions.open(DAWN)
    handle = gate.sessions.take("L1", "ruiz", DAWN)
    for minute in range(0, 30, 5):
        gate.sessions.get(handle, DAWN + minute * MINUTE)

    assert gate.sessions.get(handle, DAWN + 30 * MINUTE).holder is None


def test_a_clock_set_back_keeps_no_holder_beyond_thirty_minutes_of_real_time(kept):
    handle = kept.gate.sessions.open(DAWN)
    handle = kept.gate.sessions.take("L1", "ruiz", DAWN)
    kept.seconds.now += 1800

    assert kept.gate.sessions.get(handle, DAWN - 60 * MINUTE).holder is None


def test_the_last_touch_is_stored_as_a_quarter_hour_only(kept):
    kept.gate.sessions.open(DAWN)
    kept.gate.sessions.touch("L1", DAWN + 23 * MINUTE + 4567)

    assert kept.gate._drawer.rows("SELECT seen FROM sessions") == [(DAWN + 15 * MINUTE,)]


def test_after_a_restart_the_idle_minutes_count_from_that_quarter_hour(kept):
    handle = kept.gate.sessions.open(DAWN)
    handle = kept.gate.sessions.take("L1", "ruiz", DAWN + 14 * MINUTE)

    assert kept.again().sessions.get(handle, DAWN + 29 * MINUTE).holder == "ruiz"
    assert kept.again().sessions.get(handle, DAWN + 30 * MINUTE).holder is None


def test_a_person_may_take_a_tablet_from_another(gate):
    handle = gate.sessions.open(DAWN)
    handle = gate.sessions.take("L1", "ruiz", DAWN)
    handle = gate.sessions.take("L1", "okoye", DAWN + 5)

    assert gate.sessions.get(handle, DAWN + 5).holder == "okoye"


def test_leaving_and_being_put_down_end_the_holding(gate):
    gate.sessions.open(DAWN), gate.sessions.open(DAWN)
    first, second = gate.sessions.take("L1", "ruiz", DAWN), gate.sessions.take("L2", "ruiz", DAWN)
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
    handle = kept.gate.sessions.take("L1", "ruiz", DAWN)

    assert kept.again().sessions.get(handle, DAWN + MINUTE).holder == "ruiz"


def test_a_new_handle_comes_with_each_person_who_takes_a_tablet(gate):
    """OWASP ASVS 5.0.0, 7.2.4: a handle that somebody planted beforehand signs for nobody afterwards."""
    planted = gate.sessions.open(DAWN)
    own = gate.sessions.take("L1", "ruiz", DAWN)

    assert own != planted and gate.sessions.get(planted, DAWN).holder is None, (
        "until the new one came back, the tablet without its holder"
    )
    assert gate.sessions.get(own, DAWN).holder == "ruiz"
    assert gate.sessions.get(planted, DAWN) is None
    later = gate.sessions.take("L1", "okoye", DAWN)
    assert gate.sessions.get(planted, DAWN) is None and gate.sessions.get(later, DAWN).tablet == "L1"


def test_an_answer_lost_on_its_way_locks_nobody_out(kept):
    """The browser never got the new handle: with the old one it is the same tablet, held by nobody, and is taken anew; also over a restart."""
    before = kept.gate.sessions.open(DAWN)
    lost = kept.gate.sessions.take("L1", "ruiz", DAWN)

    found = kept.again().sessions.get(before, DAWN)
    assert (found.tablet, found.holder) == ("L1", None)
    own = kept.gate.sessions.take("L1", "ruiz", DAWN)
    assert kept.gate.sessions.get(own, DAWN).holder == "ruiz"
    kept.gate.sessions.settle(own)
    assert kept.gate.sessions.get(before, DAWN) is None and kept.gate.sessions.get(lost, DAWN) is None
    assert kept.again().sessions.get(lost, DAWN) is None


def test_a_removed_tablet_is_not_opened_by_the_handle_it_had_before(gate):
    before = gate.sessions.open(DAWN)
    gate.sessions.take("L1", "ruiz", DAWN)
    gate.sessions.revoke("L1")

    assert gate.sessions.get(before, DAWN) is None


def test_a_visit_is_a_window_and_no_row_until_it_sends_something(gate):
    handles = [gate.sessions.visit(DAWN) for _ in range(3)]
    assert [gate.sessions.get(handle, DAWN).tablet for handle in handles] == [
        "L1",
        "L2",
        "L3",
    ] and gate.sessions.tablets() == ()

    gate.sessions.settle(handles[1])
    assert [one.id for one in gate.sessions.tablets()] == ["L2"] and gate.sessions.get(handles[1], DAWN).tablet == "L2"
    assert gate.sessions.get(gate.sessions.visit(DAWN), DAWN).tablet == "L4", "no number is given twice"


def test_visits_without_end_fill_no_memory(gate):
    first = gate.sessions.visit(DAWN)
    for _ in range(sessions.VISITS):
        gate.sessions.visit(DAWN)

    assert gate.sessions.get(first, DAWN) is None and gate.sessions.tablets() == ()
