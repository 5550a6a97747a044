"""The file itself: made beside the keys, durable, closed to others, and every complaint of SQLite a sentence."""

import os
import sqlite3
import threading

import pytest

from webapp.gate import Gate, GateRefused, keys, prepare

from .conftest import DAWN


def test_the_tables_are_made_beside_the_keys_and_making_them_again_changes_nothing(kept, ruiz):
    before = kept.gate._drawer.rows("SELECT name FROM sqlite_schema ORDER BY 1")
    prepare(kept.folder / "gate.db")

    assert kept.gate._drawer.rows("SELECT name FROM sqlite_schema ORDER BY 1") == before
    assert {"keys", "slips", "pins", "pending", "taps"} <= {name for (name,) in before}
    kept.gate.check_pin(ruiz, "739152", "L1", DAWN)


def test_every_change_is_synced_to_the_write_ahead_log(gate):
    """sqlite.org/pragma.html: with WAL, synchronous FULL (2) syncs the log at each commit; secure_delete overwrites what is deleted."""
    assert gate._drawer.row("PRAGMA journal_mode") == ("wal",)
    assert gate._drawer.row("PRAGMA synchronous") == (2,)
    assert gate._drawer.row("PRAGMA secure_delete") == (1,)


def test_a_folder_without_a_gate_is_told_where_one_comes_from(tmp_path):
    with pytest.raises(GateRefused, match="gate.db is not in the folder .*enrol the place"):
        Gate.open(tmp_path / "gate.db")
    assert not (tmp_path / "gate.db").exists()


def test_a_gate_without_keys_is_told_where_they_come_from(tmp_path):
    prepare(tmp_path / "gate.db")

    with pytest.raises(GateRefused):
        Gate.open(tmp_path / "gate.db")


def test_a_file_that_is_no_database_is_refused_in_a_sentence(tmp_path):
    (tmp_path / "gate.db").write_bytes(b"not a database" * 100)

    with pytest.raises(GateRefused, match="cannot be read as a gate"):
        Gate.open(tmp_path / "gate.db")


@pytest.mark.skipif(os.name == "nt", reason="Windows keeps no such bits")
def test_the_file_is_for_its_owners_eyes_only(kept):
    assert (kept.folder / "gate.db").stat().st_mode & 0o077 == 0


def test_a_full_disk_is_a_sentence_and_nothing_is_half_stored(gate, ruiz):
    gate._drawer.rows(f"PRAGMA max_page_count = {gate._drawer.row('PRAGMA page_count')[0]}")

    with pytest.raises(GateRefused, match="The disk with gate.db is full. Nothing was changed."):
        for n in range(200):
            gate.pending.keep(bytes(4096), bytes(32), "P", "ruiz", DAWN, False)
    (whole,) = gate._drawer.row("SELECT count(*) FROM pending")
    assert gate._drawer.row("SELECT count(*) FROM pending_signers") == (whole,)
    gate.check_pin(ruiz, "739152", "L1", DAWN)


def test_a_change_that_fails_half_way_is_undone(gate):
    with pytest.raises(KeyboardInterrupt), gate._drawer.change() as db:
        db.execute("INSERT INTO taps VALUES (0, 'a', 'b', 1)")
        raise KeyboardInterrupt

    assert gate._drawer.row("SELECT count(*) FROM taps") == (0,)


def test_twenty_four_threads_tap_without_losing_one(gate):
    def work():
        for _ in range(10):
            gate.tallies.tap("blank", "cast-as-is", DAWN)

    threads = [threading.Thread(target=work) for _ in range(24)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert gate.tallies.of(DAWN) == {("blank", "cast-as-is"): 240}


@pytest.mark.parametrize(
    ("name", "says"),
    [
        ("SQLITE_FULL", "is full"),
        ("SQLITE_IOERR_SHMSIZE", "see that it has room"),
        ("SQLITE_READONLY_DIRECTORY", "cannot be written to"),
        ("SQLITE_BUSY", "Another program holds"),
        ("SQLITE_CANTOPEN", "cannot be opened"),
    ],
)
def test_a_disk_that_takes_nothing_at_the_start_is_no_reason_to_enrol_anew(kept, monkeypatch, name, says):
    """New keys and new slips at noon, for want of some kilobytes: the sentence for a damaged gate is for a damaged gate alone."""

    def connect(*words, **more):
        wrong = sqlite3.OperationalError("disk I/O error")
        wrong.sqlite_errorname = name
        raise wrong

    kept.gate.close()
    monkeypatch.setattr(sqlite3, "connect", connect)
    with pytest.raises(GateRefused) as said:
        keys.pepper(kept.folder)
    assert says.lower() in str(said.value).lower() and "enrol" not in str(said.value)
