"""A record has one writer, in this process or another; readers beside it are welcome and write nothing."""

import os
import signal
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest

from tests.record import story
from tests.record.story import SIX, act
from webapp.record.ledger import Ledger, RecordRefused

ROOT = Path(__file__).resolve().parents[2]
HOLD = "import sys; from webapp.record.ledger import Ledger; l = Ledger.open(sys.argv[1]); print('open', flush=True); sys.stdin.read()"
TRY = """
import sys
from webapp.record.ledger import Ledger, RecordRefused
try:
    Ledger.open(sys.argv[1])
except RecordRefused as refused:
    sys.exit(str(refused))
"""


def other_process(script, path, **more):
    return subprocess.Popen([sys.executable, "-c", script, str(path)], cwd=ROOT, text=True, **more)


def held_elsewhere(path):
    holder = other_process(HOLD, path, stdin=subprocess.PIPE, stdout=subprocess.PIPE)
    assert "open\n" == holder.stdout.readline()
    return holder


def test_a_second_opening_in_this_process_is_refused(path, ledger):
    with pytest.raises(RecordRefused, match="record.db is already open in another program .* a record has one writer"):
        Ledger.open(path)


def test_a_second_opening_through_another_name_is_refused(tmp_path, path, ledger):
    (tmp_path / "by-link.db").symlink_to(path)
    with pytest.raises(RecordRefused, match="already open"):
        Ledger.open(tmp_path / "by-link.db")


def test_a_second_opening_from_another_process_is_refused(path, ledger):
    second = other_process(TRY, path, stderr=subprocess.PIPE)

    assert f"record.db is already open in another program (process {os.getpid()})" in second.communicate(timeout=30)[1]
    assert 1 == second.returncode


def test_a_record_open_in_another_process_is_refused_here_and_says_where(morning):
    holder = held_elsewhere(morning)
    try:
        with pytest.raises(RecordRefused, match=rf"\(process {holder.pid}\)\. Use that one, or stop it first"):
            Ledger.open(morning)
    finally:
        holder.communicate("")


@pytest.mark.skipif(os.name == "nt", reason="there is no SIGKILL there")
def test_the_hold_ends_with_a_process_that_is_killed(morning):
    holder = held_elsewhere(morning)
    holder.send_signal(signal.SIGKILL)
    holder.wait()

    with Ledger.open(morning, story.COARSE) as again:
        assert 5 == again.length


def test_closing_lets_the_next_one_in(path, ledger):
    ledger.close()
    ledger.close()
    with Ledger.open(path) as again:
        assert [1] == [entry.number for entry in again.append(act(), now=SIX)]


def test_a_failed_opening_does_not_keep_the_hold(tmp_path):
    other = tmp_path / "other.db"
    other.write_text("no record")
    for _ in range(2):
        with pytest.raises(RecordRefused, match="other.db is not a record"):
            Ledger.open(other)


def test_a_closed_record_takes_nothing_more(ledger):
    ledger.close()
    with pytest.raises(RecordRefused, match="has been closed"):
        ledger.append(act(), now=SIX)
    with pytest.raises(RecordRefused, match="has been closed"):
        ledger.find(bytes(16))


def test_a_reader_in_another_process_sees_what_is_kept_meanwhile(path, ledger):
    ledger.append(act(1), now=SIX)
    with Ledger.read_only(path) as reader:
        assert ledger.newest == reader.newest
        ledger.append(act(2, words={"why": "torn"}), now=SIX)
        assert (2, ledger.head, {"why": "torn"}) == (reader.length, reader.head, reader.texts(2))
        assert list(ledger.entries()) == list(reader.entries())


def test_a_reader_has_no_way_to_write(morning):
    with Ledger.read_only(morning) as reader:
        assert not hasattr(reader, "append")
        with pytest.raises(RecordRefused, match="cannot be written to"), reader._look() as db:
            db.execute("DELETE FROM entries")


def test_reading_a_record_at_rest_leaves_its_folder_as_it_was(morning):
    before = {file.name: file.read_bytes() for file in morning.parent.iterdir()}
    with Ledger.read_only(morning) as reader:
        assert 5 == len(list(reader.entries()))

    assert before == {file.name: file.read_bytes() for file in morning.parent.iterdir()}


def test_a_reader_works_on_what_a_killed_process_left(morning):
    crash = other_process("import os, sys; sys.path.insert(0, '.'); from tests.record.story import *; from webapp.record.ledger import Ledger\n"
                          "l = Ledger.open(sys.argv[1], COARSE); l.append(act(60), now=SIX * 2); os._exit(9)", morning)  # fmt: skip
    assert 9 == crash.wait(30)

    with Ledger.read_only(morning) as reader:
        assert 6 == reader.length


def test_a_record_at_rest_is_one_file_and_its_lock(morning):
    assert {"record.db", "record.db-lock"} == {file.name for file in morning.parent.iterdir()}


def test_a_missing_record_is_not_made_by_opening(path):
    for opening in (Ledger.open, Ledger.read_only):
        with pytest.raises(RecordRefused, match="There is no record at record.db"):
            opening(path)
    assert not path.exists()


def test_a_record_is_never_overwritten_by_a_new_one(morning):
    before = morning.read_bytes()
    with pytest.raises(RecordRefused, match="There is a record at record.db already"):
        Ledger.create(morning)
    assert before == morning.read_bytes()


def test_a_record_of_a_later_version_is_left_alone(morning):
    with sqlite3.connect(morning) as db:
        db.execute("PRAGMA user_version = 3")
    db.close()
    with pytest.raises(RecordRefused, match="a record of version 3; this program reads versions 1 and 2"):
        Ledger.open(morning)


def test_a_record_whose_end_does_not_hold_is_not_continued(morning):
    with sqlite3.connect(morning) as db:
        db.execute("DROP TRIGGER entries_are_never_changed")
        db.execute("UPDATE entries SET head = zeroblob(32) WHERE number = 5")
    db.close()
    with pytest.raises(RecordRefused, match="Entry 5 of record.db and its head do not agree"):
        Ledger.open(morning)


def test_an_id_of_another_length_makes_no_record(path):
    with pytest.raises(RecordRefused, match="16 bytes"):
        Ledger.create(path, b"short")
    assert not path.exists()
