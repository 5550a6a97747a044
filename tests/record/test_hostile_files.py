"""A file made to keep the checker from ending: views without end in the place of tables, pages that lead back to themselves, pipes beside it."""

import os
import sqlite3
import subprocess
import sys
import time

import pytest

from tests.record import story
from webapp.record.audit import UnusableFile, verify
from webapp.record.audit_snapshot import _NAME

ENDLESS = {
    "record": "WITH RECURSIVE more(n) AS (SELECT 1 UNION ALL SELECT n + 1 FROM more) SELECT n AS one, zeroblob(16) AS record_id FROM more",
    "entries": "WITH RECURSIVE more(n) AS (SELECT 1 UNION ALL SELECT n FROM more) SELECT n AS number, x'00' AS entry, x'00' AS prev, x'00' AS head, "
    "'A' AS tablet, 0 AS seq, x'00' AS id FROM more WHERE n > 1",
    "words": "WITH RECURSIVE more(n) AS (SELECT 1 UNION ALL SELECT n + 1 FROM more) SELECT n AS line, 'x' AS text, zeroblob(16) AS salt, 'x' AS name, "
    "1 AS number FROM more",
}
SECONDS = 120  # more than any of these takes on a busy computer; without the mend they take for ever


def soon(path, **more):
    """The verdict, from a process that is ended when it does not end by itself."""
    done = subprocess.run(
        [sys.executable, "-c", f"from webapp.record.audit import verify; v = verify({str(path)!r}); print(v.ok, v.first_wrong, v.says)"],
        capture_output=True, text=True, timeout=SECONDS, **more,
    )  # fmt: skip
    return done.stdout, done.stderr


@pytest.mark.parametrize("table", ENDLESS)
def test_a_view_without_end_in_the_place_of_a_table_is_refused_unread(morning, table):
    db = sqlite3.connect(morning)
    for (trigger,) in db.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
        db.execute(f"DROP TRIGGER {trigger}")
    db.execute(f"DROP TABLE {table}")
    db.execute(f"CREATE VIEW {table} AS {ENDLESS[table]}")
    db.commit()
    db.close()

    said, wrong = soon(morning)
    assert said.startswith("False None The file is damaged outside the entries, first at page 1"), wrong


def test_an_index_that_hides_work_is_refused_unread(morning):
    db = sqlite3.connect(morning)
    db.execute("CREATE INDEX more ON entries (abs(seq))")
    db.commit()
    db.close()

    assert "nothing was read from them" in verify(morning).says


def test_a_page_that_leads_back_to_one_page_without_end_is_ended(morning):
    """Words whose tree names one leaf ten thousand times over ten levels: a table of ours by its text, and no end of rows."""
    db = sqlite3.connect(morning)
    root = db.execute("SELECT rootpage FROM sqlite_master WHERE name = 'words'").fetchone()[0]
    db.close()
    data = bytearray(morning.read_bytes())
    size = int.from_bytes(data[16:18], "big")
    leaf = bytes(data[(root - 1) * size : root * size])
    levels, first = 8, len(data) // size + 1
    pages = [leaf]

    def inner(child: int) -> bytes:
        page, cells = bytearray(size), 300
        page[0] = 5
        page[3:5] = cells.to_bytes(2, "big")
        page[5:7] = (size - cells * 5).to_bytes(2, "big")
        page[8:12] = child.to_bytes(4, "big")
        for n in range(cells):
            at = size - (n + 1) * 5
            page[12 + 2 * n : 14 + 2 * n] = at.to_bytes(2, "big")
            page[at : at + 5] = child.to_bytes(4, "big") + bytes([1])
        return bytes(page)

    for level in range(levels):
        pages.append(inner(first + level))
    data[(root - 1) * size : root * size] = inner(first + levels)
    data += b"".join(pages)
    data[28:32] = (len(data) // size).to_bytes(4, "big")
    morning.write_bytes(data)

    said, wrong = soon(morning)
    assert said.startswith("False None The file is damaged outside the entries"), (said, wrong)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="pipes with names are made by POSIX")
@pytest.mark.parametrize("end", ["-wal", "-journal", "-lock", ""])
def test_a_pipe_in_the_place_of_a_file_is_not_waited_for(morning, end):
    path = morning.with_name(morning.name + end)
    path.unlink(missing_ok=True)
    os.mkfifo(path)

    began = time.monotonic()
    with pytest.raises(UnusableFile, match="it is not a plain file"):
        verify(morning)
    assert time.monotonic() - began < SECONDS


@pytest.mark.skipif(not os.path.exists("/dev/zero"), reason="a device without end is there on POSIX")
def test_a_lock_that_leads_to_a_device_without_end_is_not_read(morning):
    morning.with_name(morning.name + "-lock").unlink(missing_ok=True)
    morning.with_name(morning.name + "-lock").symlink_to("/dev/zero")

    with pytest.raises(UnusableFile, match="it is not a plain file"):
        verify(morning)


@pytest.mark.skipif(os.name == "nt", reason="Windows cannot be asked whether a process runs")
def test_a_copy_left_by_a_check_that_was_killed_goes_at_the_next_one(morning, tmp_path, monkeypatch):
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    gone = subprocess.Popen([sys.executable, "-c", ""])
    gone.wait()
    left, own, other = (tmp_path / name for name in (f"{_NAME}{gone.pid}-x", f"{_NAME}{os.getpid()}-x", "record-x"))
    for folder in (left, own, other):
        folder.mkdir()
        (folder / "record.db").write_bytes(b"a copy")

    assert verify(morning, coarse=story.COARSE).ok
    assert (left.exists(), own.exists(), other.exists()) == (False, True, True)
