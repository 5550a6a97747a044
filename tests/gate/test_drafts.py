"""Pages half filled in: kept as they were left, through a restart, until they are signed or put away; never with a minute where one ballot is meant."""

import sqlite3
from dataclasses import replace
from hashlib import sha256

import pytest

from webapp.gate import GateRefused
from webapp.gate.drafts import MOST, PageDraft, rounded

from .conftest import DAWN, MINUTE

DRAFT = PageDraft(
    "ab" * 16,
    "/step/roles",
    ("roles",),
    (("entry_id", "ab" * 16), ("lamps", "yes")),
    "L1",
    "ruiz",
    DAWN,
    "begun",
    None,
    None,
    None,
)


def test_a_page_is_there_again_after_a_restart_and_keeps_who_began_it_and_when(kept):
    kept.gate.drafts.save(DRAFT)
    later = replace(DRAFT, form=(*DRAFT.form, ("phones", "yes")), person="okoye", begun=DAWN + 9 * MINUTE)
    kept.gate.drafts.save(later)

    assert kept.again().drafts.at("/step/roles") == (replace(later, person="ruiz", begun=DAWN),)
    assert kept.gate.drafts.get(DRAFT.id).form[-1] == ("phones", "yes")


def test_a_gate_made_before_there_were_drafts_opens_and_takes_them(kept):
    kept.gate.close()
    with sqlite3.connect(kept.folder / "gate.db") as db:
        db.execute("DROP TABLE drafts")
    kept.gate = None

    assert kept.again().drafts.save(DRAFT) and kept.gate.drafts.all() == (DRAFT,)


def test_a_page_signed_once_waits_and_a_signature_that_ends_leaves_it(gate):
    for ends, state in ((gate.pending.withdraw, "taken-back"), (lambda name: None, "lapsed")):
        name = gate.pending.keep(b"claims", sha256(b"claims").digest(), "P", "ruiz", DAWN, False)
        gate.drafts.wait(DRAFT, name, "ruiz", DAWN)
        assert gate.drafts.all() == () and not gate.drafts.save(DRAFT)  # a late keystroke does not undo that it waits
        ends(name)
        with pytest.raises(GateRefused):
            gate.pending.get(name, DAWN + 15 * MINUTE)
        left = gate.drafts.of_signature(name)
        assert (left.state, left.form, left.signer, left.signed) == (state, DRAFT.form, "ruiz", DAWN)
        assert gate.drafts.all() == (left,)


def test_what_is_signed_by_all_leaves_nothing(gate):
    name = gate.pending.keep(b"claims", sha256(b"claims").digest(), "P", "ruiz", DAWN, False)
    gate.drafts.wait(DRAFT, name, "ruiz", DAWN)
    gate.pending.done(name)

    assert gate.drafts.of_signature(name) is None and gate.drafts.all() == ()


def test_what_is_put_away_is_gone_from_the_file(kept):
    kept.gate.drafts.save(replace(DRAFT, form=(("what", "the lamp went out"),)))
    kept.gate.drafts.drop([DRAFT.id])
    kept.again()
    kept.gate.close()
    with sqlite3.connect(kept.folder / "gate.db") as db:
        db.execute("PRAGMA wal_checkpoint(TRUNCATE)")

    assert b"the lamp went out" not in kept.dump()
    kept.gate = None
    kept.again()


def test_of_one_ballot_no_minute_is_kept():
    assert rounded(DAWN + 14 * MINUTE, True) == DAWN and rounded(DAWN + 14 * MINUTE, False) == DAWN + 14 * MINUTE


def test_there_are_never_more_than_a_day_fills(gate):
    for i in range(MOST):
        assert gate.drafts.save(replace(DRAFT, id=f"{i:032x}"))
    assert not gate.drafts.save(DRAFT) and gate.drafts.save(replace(DRAFT, id=f"{0:032x}"))
