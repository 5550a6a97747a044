"""What a tablet saw of a record, held against the record that lies there now. Every record here is a real file.

The heads are worked out a second time with hashlib after the formula in webapp/record/README.md, which is the published one here.
"""

import hashlib
import shutil
from uuid import UUID

import pytest

from webapp.record.entry import Act, Claim
from webapp.record.fork import SeenHead, held_against, short
from webapp.record.ledger import Ledger

RECORD, OTHER = bytes(range(16)), bytes(range(16, 32))


def note(ledger, n, kind="incident"):
    claim = Claim(UUID(int=n * 7919 + len(kind), version=4).bytes, kind, {"n": n}, 1_000 * n, "L", 0)
    return ledger.append(Act(claim, made=1_000 * n), now=1_000 * n)[0]


@pytest.fixture
def record(tmp_path):
    """A record of six entries, open for adding."""
    ledger = Ledger.create(tmp_path / "record.db", RECORD)
    for n in range(1, 7):
        note(ledger, n)
    yield ledger
    ledger.close()


def seen(ledger):
    newest = ledger.newest
    return SeenHead(ledger.record_id, newest.run, newest.number, newest.head)


def asked(ledger, saw):
    return held_against(ledger.record_id, ledger.newest, ledger.at, saw, ledger.last_before)


def test_every_state_that_a_tablet_can_have_seen_agrees_with_the_record(record):
    for number in range(record.length + 1):
        there = record.at(number)
        assert not asked(record, SeenHead(RECORD, there.run, number, there.head)).contradicts


def test_the_heads_that_are_looked_up_are_those_of_the_published_formula(record):
    head = hashlib.sha256(b"tapeseal/head/1\0" + RECORD).digest()
    assert record.at(0).head == head
    for number, data in record.lines_of("L", 0, 100):
        leaf = hashlib.sha256(b"\0" + data).digest()
        head = hashlib.sha256(b"tapeseal/head/1\0" + head + number.to_bytes(8) + leaf).digest()
        assert record.at(number).head == head
    assert record.at(7) is None


def test_another_record_is_named_by_the_first_digits_of_both(record):
    said = asked(record, SeenHead(OTHER, 1, 3, bytes(32))).contradicts
    assert short(OTHER) in said and short(RECORD) in said and "entry 3" in said


def test_an_older_copy_ends_before_what_was_seen(record, tmp_path):
    saw = seen(record)
    record.close()
    shutil.copy(tmp_path / "record.db", tmp_path / "later.db")
    with Ledger.create(tmp_path / "older.db", RECORD) as older:
        for n in range(1, 5):
            note(older, n)
        said = asked(older, saw).contradicts
    assert "entry 6" in said and "ends at entry 4" in said


def test_a_fork_is_found_also_when_it_is_longer_than_what_was_seen(record, tmp_path):
    saw = seen(record)
    with Ledger.create(tmp_path / "fork.db", RECORD) as fork:
        for n in (1, 2, 3, 4, 50, 60, 70, 80):
            note(fork, n)
        assert "another entry 6" in asked(fork, saw).contradicts
        there = record.at(4)
        assert not asked(
            fork, SeenHead(RECORD, 1, 4, there.head)
        ).contradicts  # up to where they part, it is one history


def test_one_flipped_bit_of_a_head_is_another_history(record):
    saw = seen(record)
    for bit in (0, 100, 255):
        head = (int.from_bytes(saw.head) ^ 1 << bit).to_bytes(32)
        assert asked(record, SeenHead(RECORD, 1, 6, head)).contradicts


def test_a_spare_laptop_that_says_what_it_lacks_contradicts_nobody(record, tmp_path):
    saw = seen(record)
    with Ledger.create(tmp_path / "spare.db", RECORD) as spare:
        for n in range(1, 4):
            note(spare, n)
        note(spare, 100, "restored")
        for n in range(101, 106):
            note(spare, n)
        assert spare.newest.run == 2
        held = asked(spare, saw)
        assert held.contradicts == "" and held.lost == (4, 6)
        assert asked(spare, SeenHead(RECORD, 1, 3, record.at(3).head)).lost is None
        assert asked(spare, SeenHead(RECORD, 1, 3, bytes(32))).contradicts  # what it says it has must be what was seen
        assert not asked(spare, seen(spare)).contradicts
        back = asked(record, seen(spare))
        assert "run 2" in back.contradicts and "run 1" in back.contradicts  # the old laptop is put back in its place


def test_a_head_seen_in_a_run_that_this_record_had_not_begun_there_is_another_history(record, tmp_path):
    with Ledger.create(tmp_path / "spare.db", RECORD) as spare:
        for n in range(1, 4):
            note(spare, n)
        note(spare, 100, "restored")
        assert asked(spare, SeenHead(RECORD, 2, 3, spare.at(3).head)).contradicts  # entry 3 was of run 1


def test_a_record_without_entries_agrees_with_nothing_seen(tmp_path):
    with Ledger.create(tmp_path / "new.db", RECORD) as new:
        assert not asked(new, seen(new)).contradicts
        assert "ends at entry 0" in asked(new, SeenHead(RECORD, 1, 1, bytes(32))).contradicts
