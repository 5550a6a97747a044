"""Disk full, disk read-only, file gone, program killed: what has a number stays, and a person is told what to do."""

import os
import sqlite3
from contextlib import contextmanager

import pytest

from tests.matrix import some
from tests.record import story
from tests.record.killed import kill_while_writing, reopened
from tests.record.story import SIX, act
from webapp.record.audit import verify
from webapp.record.ledger import Ledger, RecordRefused
from webapp.record.reader import connect


@contextmanager
def refused(ledger, says):
    """Whatever is tried inside is refused in these words, and the record is as it was, here and for a reader."""
    before = ledger.newest
    with pytest.raises(RecordRefused, match=says) as told:
        yield
    assert "every entry that has a number stays" in str(told.value)
    assert before == ledger.newest
    with Ledger.read_only(ledger.path) as reader:
        assert before == reader.newest


def test_a_full_disk_is_said_and_the_next_entry_after_it_takes_the_next_number(ledger):
    """`max_page_count` (SQLite, PRAGMA documentation) makes the database refuse a page as a full disk does."""
    story.keep_morning(ledger)
    pages = ledger._db.execute("PRAGMA page_count").fetchone()[0]
    ledger._db.execute(f"PRAGMA max_page_count = {pages}")
    with refused(ledger, "The disk with record.db is full. .* Free some space on it"):
        ledger.append(act(20), act(21, body={"long": "x" * 50_000}), now=SIX * 2)
    assert ledger.find(act(20).claim.id) is None

    ledger._db.execute("PRAGMA max_page_count = 1000000")
    assert [6, 7] == [
        entry.number for entry in ledger.append(act(20), act(21, body={"long": "x" * 50_000}), now=SIX * 2)
    ]
    ledger.close()
    assert verify(ledger.path).ok


def test_a_write_protected_disk_is_said(ledger):
    story.keep_morning(ledger)
    writable, ledger._db = ledger._db, connect(ledger.path, "ro")
    with refused(ledger, "The disk with record.db cannot be written to. .* Take the write protection off"):
        ledger.append(act(20), now=SIX * 2)
    ledger._db.close()
    ledger._db = writable

    assert [6] == [entry.number for entry in ledger.append(act(20), now=SIX * 2)]


@pytest.mark.skipif(os.name == "nt" or os.getuid() == 0, reason="file permissions bind nobody here")
def test_a_folder_that_may_not_be_written_to_is_said(morning):
    morning.parent.chmod(0o500)
    (morning.parent / "record.db-lock").chmod(0o400)
    try:
        with pytest.raises(RecordRefused, match="Check its folder and disk"):
            Ledger.open(morning)
    finally:
        morning.parent.chmod(0o700)


def test_a_folder_that_is_not_there_is_said(tmp_path):
    with pytest.raises(RecordRefused, match="record.db cannot be opened or written to .* Check its folder and disk"):
        Ledger.create(tmp_path / "stick" / "record.db")


@pytest.mark.skipif(os.name == "nt", reason="an open file cannot be moved there")
@pytest.mark.parametrize("end", ["", "-wal"])
def test_a_file_that_is_moved_away_under_an_open_record_is_said(ledger, end):
    """SQLite alone would go on writing into a file that has no name any more."""
    story.keep_morning(ledger)
    name = ledger.path.with_name(ledger.path.name + end)
    name.rename(name.with_name("elsewhere"))
    with pytest.raises(RecordRefused, match="record.db is no longer in its folder"):
        ledger.append(act(20), now=SIX * 2)

    name.with_name("elsewhere").rename(name)
    assert [6] == [entry.number for entry in ledger.append(act(20), now=SIX * 2)]


@pytest.mark.skipif(os.name == "nt", reason="an open file cannot be replaced there")
def test_another_file_of_the_same_name_is_not_taken_for_the_record(ledger):
    story.keep_morning(ledger)
    copy = ledger.path.with_name("copy")
    copy.write_bytes(ledger.path.read_bytes())
    os.replace(copy, ledger.path)
    with pytest.raises(RecordRefused, match="record.db is no longer in its folder"):
        ledger.append(act(20), now=SIX * 2)


def test_another_program_in_the_middle_of_writing_is_waited_for_and_then_said(ledger):
    ledger._db.execute("PRAGMA busy_timeout = 50")
    other = sqlite3.connect(ledger.path, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    with refused(ledger, "Another program holds record.db. .* Close that program"):
        ledger.append(act(), now=SIX)
    other.close()

    assert [1] == [entry.number for entry in ledger.append(act(), now=SIX)]


def test_an_entry_that_another_program_slipped_in_is_noticed(ledger):
    story.keep_morning(ledger)
    other = sqlite3.connect(ledger.path)
    other.execute("INSERT INTO entries SELECT 6, entry, head, head, 'B', 1, zeroblob(16) FROM entries WHERE number = 5")
    other.commit()
    other.close()
    with pytest.raises(RecordRefused, match="another program has written to it. .* run `tapeseal record verify`"):
        ledger.append(act(20), now=SIX * 2)


def test_a_commit_whose_answer_was_cut_off_is_found_again(ledger):
    """An interrupt between the commit and the answer: the record looks again before it numbers the next."""
    ledger.append(act(1), now=SIX)
    before, ledger._newest = ledger._newest, None
    ledger._sure = False

    assert (2, before.run) == (ledger.append(act(2), now=SIX)[0].number, ledger.run)


@pytest.mark.skipif(os.name == "nt", reason="there is no SIGKILL there")
def test_a_program_killed_in_the_middle_loses_no_number_it_had_said(path, ledger):
    """Six times, twenty with --all; `tests/benchmarks/durability_kill.py` does it a thousand times."""
    ledger.close()
    for seed in some(range(6), range(20)):
        said = kill_while_writing(path, seed)
        hot = verify(path)
        if not hot.ok:  # killed between the two halves of a write: the one entry that had no number yet is said, and gone once the program was started again
            assert "it never had a number" in hot.says and hot.first_wrong == hot.entries + 1, hot.says
            assert hot.entries == reopened(path)
            hot = verify(path)
        assert (True, None) == (hot.ok, hot.first_wrong), hot.says
        assert said <= hot.entries
        if seed % 2:
            assert hot.entries == reopened(path)


def test_a_new_record_that_was_cut_off_half_way_is_made_anew(path):
    path.with_name("record.db-new").write_bytes(b"half a page")
    with Ledger.create(path) as ledger:
        assert [1] == [entry.number for entry in ledger.append(act(), now=SIX)]


@pytest.mark.parametrize("at", [0, 18, 24, 300, 4096 + 3])
def test_a_damaged_file_is_refused_in_a_sentence(morning, at):
    data = bytearray(morning.read_bytes())
    data[at] ^= 0xFF
    morning.write_bytes(data)
    try:
        with Ledger.open(morning) as ledger:
            ledger.append(act(20), now=SIX * 2)
            list(ledger.entries())
    except RecordRefused as refused:
        assert "record.db" in str(refused)
