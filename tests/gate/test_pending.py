"""First signatures that wait for the others (formats.md, Record: a changed byte, or 15 minutes, voids it)."""

from hashlib import sha256

import pytest

from webapp.gate import GateRefused

from .conftest import DAWN, MINUTE

CLAIMS = b"the figures as they stood on the screen"
DIGEST = sha256(CLAIMS).digest()


def keep(gate, coarse=False, now=DAWN):
    return gate.pending.keep(CLAIMS, DIGEST, "chair+other+any", "ruiz", now, coarse)


def test_the_second_signer_finds_the_very_bytes_the_first_one_signed(gate):
    waits = gate.pending.get(keep(gate), DAWN + 1)

    assert (waits.claims, waits.digest, waits.weight, waits.signers) == (
        CLAIMS,
        DIGEST,
        "chair+other+any",
        (("ruiz", DAWN),),
    )


def test_signatures_are_added_in_order(gate):
    name = keep(gate)
    gate.pending.add(name, "okoye", DIGEST, DAWN + 10)

    assert gate.pending.add(name, "lind", DIGEST, DAWN + 20).signers == (
        ("ruiz", DAWN),
        ("okoye", DAWN + 10),
        ("lind", DAWN + 20),
    )


def test_nobody_adds_a_second_signature_of_their_own(gate):
    name = keep(gate)

    with pytest.raises(GateRefused, match="has signed already"):
        gate.pending.add(name, "ruiz", DIGEST, DAWN + 10)
    assert gate.pending.get(name, DAWN + 11).people == ("ruiz",)


def test_other_figures_on_the_second_screen_void_the_first_signature(gate):
    name = keep(gate)

    with pytest.raises(GateRefused, match="neither signature counts"):
        gate.pending.add(name, "okoye", sha256(b"other figures").digest(), DAWN + 10)
    with pytest.raises(GateRefused, match="Nothing waits"):
        gate.pending.get(name, DAWN + 11)


def test_r2_a_byte_changed_where_it_lies_voids_it(gate):
    name = keep(gate)
    gate._drawer.rows("UPDATE pending SET claims = ? WHERE id = ?", CLAIMS + b"!", name)

    with pytest.raises(GateRefused, match="Nothing waits"):
        gate.pending.get(name, DAWN + 1)


def test_it_lapses_after_fifteen_minutes(gate):
    name = keep(gate)

    assert gate.pending.get(name, DAWN + 15 * MINUTE - 1)
    with pytest.raises(GateRefused, match="lapsed after 15 minutes"):
        gate.pending.get(name, DAWN + 15 * MINUTE)


def test_a_clock_set_back_does_not_let_it_wait_longer(kept):
    name = keep(kept.gate)
    kept.seconds.now += 900

    with pytest.raises(GateRefused):
        kept.gate.pending.get(name, DAWN - 60 * MINUTE)


def test_what_is_withdrawn_or_done_waits_no_more(gate):
    one, two = keep(gate), keep(gate)
    gate.pending.withdraw(one)
    gate.pending.done(two)

    for name in (one, two):
        with pytest.raises(GateRefused, match="Open the step to see"):
            gate.pending.get(name, DAWN)
    assert gate.pending.waiting(DAWN) == ()


def test_everything_that_waits_can_be_listed_and_what_lapsed_is_gone(gate):
    old, young = keep(gate, now=DAWN), keep(gate, now=DAWN + 10 * MINUTE)

    assert [p.id for p in gate.pending.waiting(DAWN + 12 * MINUTE)] == [old, young]
    assert [p.id for p in gate.pending.waiting(DAWN + 16 * MINUTE)] == [young]


def test_it_outlives_a_restart(kept):
    name = keep(kept.gate)

    assert kept.again().pending.get(name, DAWN + 14 * MINUTE).people == ("ruiz",)


def test_of_a_ballot_kind_no_time_finer_than_the_quarter_hour_is_stored(kept):
    name = keep(kept.gate, coarse=True, now=DAWN + 7 * MINUTE + 123)
    kept.gate.pending.add(name, "okoye", DIGEST, DAWN + 9 * MINUTE + 456)

    stored = kept.gate._drawer.rows("SELECT begun FROM pending UNION ALL SELECT signed FROM pending_signers")
    assert stored == [(DAWN,)] * 3


def test_of_a_ballot_kind_the_fifteen_minutes_are_real_ones(kept):
    """Begun in the last minute of a quarter hour, it is still there fourteen minutes into the next."""
    name = keep(kept.gate, coarse=True, now=DAWN + 14 * MINUTE)
    kept.seconds.now += 14 * 60
    assert kept.gate.pending.get(name, DAWN + 28 * MINUTE)

    kept.seconds.now += 60
    with pytest.raises(GateRefused):
        kept.gate.pending.get(name, DAWN + 29 * MINUTE)


def test_of_a_ballot_kind_a_restart_lets_it_wait_no_longer_than_thirty_minutes_in_all(kept):
    name = keep(kept.gate, coarse=True, now=DAWN + MINUTE)
    gate = kept.again()

    assert gate.pending.get(name, DAWN + 29 * MINUTE)
    with pytest.raises(GateRefused):
        gate.pending.get(name, DAWN + 30 * MINUTE)
