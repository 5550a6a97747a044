"""A record of two runs: laid down from what was saved, it jumps once, says from where, and goes on; a record from before is untouched."""

import hashlib
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from tests.record import story
from webapp.record import audit, restoration
from webapp.record.backup import stored_after
from webapp.record.entry import Entry
from webapp.record.fork import SeenHead, held_against
from webapp.record.ledger import Ledger, RecordRefused

FACTS = {"seen": None, "source": "stick", "stick": bytes(16), "torn": 0, "laptop": "dead", "kit": "spare"}
NOON = story.SIX + 6 * 3_600_000


def restored(path, stored, **facts):
    made = restoration.lay_down(path, story.RECORD_ID, stored, FACTS | facts, NOON)
    verdict = audit.verify(made.draft, coarse=story.COARSE)
    assert verdict.ok, verdict.says
    restoration.settle(made, path)
    return made


@pytest.fixture
def spare(morning, tmp_path):
    """The path of the record of run 2, restored from the first four of the morning's five entries."""
    path = tmp_path / "spare.db"
    restored(path, stored_after(morning, 0)[:4])
    return path


def later(ledger, n):
    return ledger.append(story.act(n, at=NOON + n * 1000), now=NOON + n * 1000)[0]


@pytest.mark.parametrize(
    ("known", "first"),
    [(0, 10_001), (412, 10_001), (420, 10_001), (4_999, 10_001), (5_000, 20_001), (10_077, 20_001), (20_015, 30_001)],
)
def test_the_next_run_begins_where_nobody_can_have_seen_a_number(known, first):
    assert restoration.first_of_next_run(known) == first
    assert first - known > 5_000 and first % 10_000 == 1


def test_its_first_entry_says_from_where_it_goes_on(spare, morning):
    with Ledger.read_only(spare) as reader:
        began = reader.entry(10_001)
        fourth = stored_after(morning, 0)[3]

        assert (began.kind, began.run, began.signers) == ("restored", 2, ())
        assert began.body == FACTS | {"from_run": 1, "last": 4, "head": fourth.head, "first": 10_001}
        assert (reader.newest.run, reader.newest.number) == (2, 10_001)


def test_every_entry_before_is_the_same_byte_for_byte_with_its_words(spare, morning):
    assert stored_after(spare, 0)[:4] == stored_after(morning, 0)[:4]


def test_the_heads_follow_the_published_formula_over_the_jump(spare):
    head = hashlib.sha256(b"tapeseal/head/1\0" + story.RECORD_ID).digest()
    for one in stored_after(spare, 0):
        head = hashlib.sha256(
            b"tapeseal/head/1\0" + head + one.number.to_bytes(8, "big") + hashlib.sha256(b"\0" + one.data).digest()
        ).digest()
        assert head == one.head


def test_it_goes_on_as_ever(spare):
    with Ledger.open(spare, story.COARSE) as ledger:
        assert [later(ledger, n).number for n in (50, 51)] == [10_002, 10_003]
        assert later(ledger, 50).number == 10_002

    verdict = audit.verify(spare, coarse=story.COARSE)
    assert (verdict.ok, verdict.entries) == (True, 7)


def test_a_third_run_begins_above_the_second(spare, tmp_path):
    with Ledger.open(spare, story.COARSE) as ledger:
        later(ledger, 50)
    third = tmp_path / "third.db"

    made = restored(third, stored_after(spare, 0))

    assert (made.entry.run, made.entry.number, made.entry.body["last"]) == (3, 20_001, 10_002)
    with Ledger.open(third, story.COARSE) as ledger:
        assert later(ledger, 60).number == 20_002
        assert (ledger.last_before(2), ledger.last_before(3), ledger.last_before(4)) == (4, 10_002, None)
    assert audit.verify(third, coarse=story.COARSE).ok


def test_a_number_that_somebody_saw_moves_the_start(morning, tmp_path):
    assert restored(tmp_path / "s.db", stored_after(morning, 0), seen=7_412).entry.number == 20_001


def test_nothing_to_restore_gives_a_record_that_begins_with_the_restore(tmp_path):
    made = restored(tmp_path / "s.db", [])

    assert (made.entry.number, made.entry.body["last"]) == (10_001, 0)


def test_a_clock_behind_the_last_entry_never_goes_back(morning, tmp_path):
    made = restoration.lay_down(tmp_path / "s.db", story.RECORD_ID, stored_after(morning, 0), FACTS, story.SIX)

    last = max(Entry.unpack(one.data).kept for one in stored_after(morning, 0))
    assert made.entry.kept == last
    assert made.behind == last - story.SIX
    assert audit.verify(made.draft, coarse=story.COARSE).ok


def test_nothing_is_laid_over_a_record(morning):
    with pytest.raises(RecordRefused, match="already"):
        restoration.lay_down(morning, story.RECORD_ID, [], FACTS, NOON)


def test_a_record_of_the_first_laptop_is_of_version_1_still(morning):
    with closing(sqlite3.connect(morning)) as db:
        assert db.execute("PRAGMA user_version").fetchone() == (1,)
        assert not db.execute("SELECT 1 FROM sqlite_master WHERE name = 'runs'").fetchone()


@pytest.mark.parametrize(
    ("sql", "says"),
    [
        ("INSERT INTO runs VALUES (3, 20001, 10001, (SELECT head FROM entries WHERE number = 4))", "newest entry"),
        ("INSERT INTO runs VALUES (4, 20001, 10001, (SELECT head FROM entries WHERE number = 10001))", "one more"),
        ("INSERT INTO runs VALUES (3, 20001, 4, (SELECT head FROM entries WHERE number = 10001))", "newest entry"),
        ("UPDATE runs SET first = 5", "never changed"),
        ("DELETE FROM runs", "never removed"),
        (
            "INSERT INTO entries SELECT 10003, entry, head, head, 'L', 0, randomblob(16) FROM entries WHERE number = 10001",
            "next number",
        ),
        (
            "INSERT INTO entries SELECT 5, entry, head, head, 'L', 0, randomblob(16) FROM entries WHERE number = 10001",
            "next number",
        ),
    ],
)
def test_a_hand_that_slips_in_sql_is_stopped(spare, sql, says):
    with closing(sqlite3.connect(spare)) as db, pytest.raises(sqlite3.IntegrityError, match=says):
        db.execute(sql)


def rewritten(path, **body):
    """The record with another body in its entry `restored`, its head worked out anew."""
    with closing(sqlite3.connect(path, isolation_level=None)) as db:
        for (trigger,) in db.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
            db.execute(f"DROP TRIGGER {trigger}")
        number, data, prev = db.execute(
            "SELECT number, entry, prev FROM entries ORDER BY number DESC LIMIT 1"
        ).fetchone()
        from dataclasses import replace

        from webapp.record.chain import leaf, next_head

        entry = Entry.unpack(data)
        new = replace(
            entry, body=entry.body | {k: v for k, v in body.items() if k != "number"}, number=body.get("number", number)
        )
        packed = new.pack()
        db.execute(
            "UPDATE entries SET number = ?, entry = ?, head = ? WHERE number = ?",
            (new.number, packed, next_head(prev, new.number, leaf(packed)), number),
        )


@pytest.mark.parametrize(
    "body", [{"first": 10_002}, {"last": 3}, {"head": bytes(32)}, {"number": 10_500}, {"number": 5}, {"first": 5}]
)
def test_the_checker_allows_the_jump_only_to_the_number_and_from_the_head_that_it_states(spare, body):
    rewritten(spare, **body)

    verdict = audit.verify(spare, coarse=story.COARSE)
    assert not verdict.ok
    assert verdict.first_wrong == 5


def test_a_hole_that_is_no_restore_is_missing_entries(spare):
    with Ledger.open(spare, story.COARSE) as ledger:
        for n in (50, 51, 52):
            later(ledger, n)
    with closing(sqlite3.connect(spare, isolation_level=None)) as db:
        for (trigger,) in db.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
            db.execute(f"DROP TRIGGER {trigger}")
        db.execute("DELETE FROM entries WHERE number = 10003")

    verdict = audit.verify(spare, coarse=story.COARSE)
    assert (verdict.ok, verdict.first_wrong, verdict.says) == (False, 10_003, "Entry 10003 is missing.")


def test_a_dropped_guard_is_damage(spare):
    with closing(sqlite3.connect(spare)) as db:
        db.execute("DROP TRIGGER runs_are_never_changed")

    assert not audit.verify(spare, coarse=story.COARSE).ok


def test_a_tablet_that_saw_more_of_the_run_before_contradicts_nothing(spare, morning):
    with Ledger.read_only(morning) as before, Ledger.read_only(spare) as reader:

        def held(run, number, head):
            return held_against(
                story.RECORD_ID,
                reader.newest,
                reader.at,
                SeenHead(story.RECORD_ID, run, number, head),
                reader.last_before,
            )

        assert held(1, 5, before.head).lost == (5, 5)
        assert not held(1, 5, before.head).contradicts
        assert not held(1, 4, before.at(4).head).contradicts
        assert held(1, 4, bytes(32)).contradicts
        assert held(2, 10_001, bytes(32)).contradicts
        assert "ends at entry 10001" in held(2, 10_044, bytes(32)).contradicts


STORED = Path(__file__).with_name("stored") / "two_runs.db"


def test_the_stored_record_of_two_runs_is_read_and_goes_on(tmp_path):
    """Written once and never made again: four entries, restored as run 2, the fifth given back with its words, one more of this run."""
    assert (
        hashlib.sha256(STORED.read_bytes()).hexdigest()
        == "c0a7b55170ce36b00b264a03b9336d86c6985e3a4a657b0b0f7c0abfe7daadd9"
    )
    mine = tmp_path / "record.db"
    shutil.copy(STORED, mine)
    verdict = audit.verify(mine, coarse=story.COARSE)
    assert (verdict.ok, verdict.entries) == (True, 7)
    assert verdict.head.hex() == "d7657ee6e4c12258bc365fa24fc0d9e6f42c4c023661d1154d8080e829713fed"

    with Ledger.open(mine, story.COARSE) as ledger:
        assert [entry.number for entry in ledger.entries()] == [1, 2, 3, 4, 10_001, 10_002, 10_003]
        assert ledger.entry(10_001).body["torn"] == 211
        back = ledger.entry(10_002)
        assert (back.kind, back.body["was"], Entry.unpack(back.body["entry"]).kind) == ("given-back", 5, "correction")
        assert ledger.texts(10_002) == {"reason": "Two digits of the protective counter were swapped."}
        assert later(ledger, 70).number == 10_004
    assert audit.verify(mine, coarse=story.COARSE).ok
