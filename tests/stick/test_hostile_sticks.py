"""A stick, an old disk, a kit or a tablet's memory that somebody prepared: every command that reads one ends soon, in one sentence."""

import os
import shutil
import sqlite3
import sys

import pytest

from tests.stick.enrolled import enrolled, prepared, tapeseal  # noqa: F401
from webapp.record.backup import stored_after
from webapp.record.refusals import RecordRefused

ENDLESS = "WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n) SELECT i AS number, x'00' AS entry, x'00' AS prev, x'00' AS head, 'L' AS tablet, 0 AS seq, x'00' AS id FROM n"


def with_endless_entries(record):
    """A view without end stands where the entries were."""
    db = sqlite3.connect(record)
    db.execute("PRAGMA journal_mode = DELETE")
    for (name,) in db.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
        db.execute(f"DROP TRIGGER {name}")
    db.execute("DROP TABLE words")
    db.execute("DROP TABLE entries")
    db.execute(f"CREATE VIEW entries AS {ENDLESS}")
    db.commit()
    db.close()
    return record


def test_a_record_with_a_view_without_end_is_refused_unread(enrolled, tmp_path):
    with_endless_entries(shutil.copy(enrolled.record, tmp_path / "old-disk.db"))
    with pytest.raises(RecordRefused, match="other tables than a record has"):
        stored_after(tmp_path / "old-disk.db", 0)


def test_give_back_and_restore_end_soon_on_hostile_files(enrolled, tapeseal, tmp_path):
    with_endless_entries(shutil.copy(enrolled.record, tmp_path / "old-disk.db"))
    stick = tmp_path / "stick" / "tapeseal-W3-00000000"
    stick.mkdir(parents=True)
    with_endless_entries(shutil.copy(enrolled.record, stick / "snapshot-a.db"))
    (tmp_path / "deep.json").write_text("[" * 200_000)
    for words in (
        ("record", "give-back", tmp_path / "old-disk.db", "--to", enrolled.place),
        ("record", "give-back", tmp_path / "deep.json", "--to", enrolled.place),
        ("record", "restore", tmp_path / "stick", "--out", tmp_path / "new", "--kit", enrolled.kit),
    ):
        code, out, err = tapeseal(*words)
        assert code in (1, 2) and err.count("\n") <= 2 and "Traceback" not in err, err
    assert not (tmp_path / "new").exists()


@pytest.mark.skipif(sys.platform == "win32", reason="no pipes with a name")
def test_no_pipe_is_waited_for(enrolled, tapeseal, tmp_path):
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    enrolled.keep(3)
    stick = tmp_path / "stick"
    stick.mkdir()
    assert tapeseal("record", "backup", enrolled.place, "--to", stick)[0] == 0
    (folder,) = stick.glob("tapeseal-*")
    os.mkfifo(folder / "entries-1-000900-9.cborseq")
    out = tmp_path / "new"
    code, _, err = tapeseal("record", "restore", stick, "--out", out, "--kit", pipe)
    assert code == 2 and "not a plain file" in err
    assert tapeseal("record", "give-back", pipe, "--to", enrolled.place)[0] == 2
    code, _, err = tapeseal("record", "restore", stick, "--out", out, "--kit", enrolled.kit)
    assert code == 0, err


def test_a_kit_of_a_gigabyte_is_refused_unread(enrolled, tapeseal, tmp_path):
    large = tmp_path / "large.kit"
    with large.open("wb") as file:
        file.truncate(1 << 30)
    code, _, err = tapeseal("record", "restore", tmp_path, "--out", tmp_path / "new", "--kit", large)
    assert code == 2 and err
