"""What lies in a folder is its owner's only; a terminal window that is closed ends the program cleanly; the engine is shown and held to a floor."""

import os
import re
import signal
import sqlite3
import stat
import subprocess
import sys

import pytest

from tests.serving.opened_place import place, prepared  # noqa: F401 - fixtures
from webapp import plain_file
from webapp.record import reader
from webapp.record.ledger import Ledger
from webapp.record.refusals import RecordRefused

pytestmark = pytest.mark.skipif(os.name == "nt", reason="Windows keeps no such bits")


def test_what_lies_in_a_folder_is_its_owners_only(place):  # noqa: F811
    assert stat.S_IMODE(place.folder.stat().st_mode) == 0o700
    open_to_others = [
        p.name
        for p in place.folder.iterdir()
        if p.name.startswith("record.db") and not p.name.endswith("-lock") and p.stat().st_mode & 0o077
    ]
    assert open_to_others == []


def test_a_folder_from_before_is_closed_at_the_start(tmp_path):
    tmp_path.chmod(0o755)
    plain_file.keep_private(tmp_path)

    assert stat.S_IMODE(tmp_path.stat().st_mode) == 0o700


def test_a_terminal_window_that_is_closed_is_a_clean_stop(prepared, tmp_path):  # noqa: F811
    import shutil

    home = tmp_path / "W3"
    shutil.copytree(
        prepared[0] / "places" / "W3", home, ignore=shutil.ignore_patterns("*-lock", "*-wal", "*-shm", "record.db")
    )
    child = subprocess.Popen(
        [sys.executable, "-m", "webapp", "precinct", str(home), "--port", "0"],
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
        preexec_fn=lambda: signal.signal(signal.SIGHUP, signal.SIG_DFL),  # tests started by nohup ignore it
    )
    assert re.search(r"localhost:\d+", child.stdout.readline())
    child.send_signal(signal.SIGHUP)
    assert child.wait(60) == 0
    child.stdout.close()
    with Ledger.read_only(home / "record.db") as record:
        assert [entry.kind for entry in record.entries()][-1] == "stopped"


def test_folders_of_programs_that_are_gone_are_swept_and_no_others(tmp_path, monkeypatch):
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    gone = subprocess.Popen([sys.executable, "-c", ""])
    gone.wait()
    for name in (
        f"tapeseal-demo-{gone.pid}-x",
        f"tapeseal-demo-{os.getpid()}-x",
        "tapeseal-demo-x",
        f"other-{gone.pid}-x",
    ):
        (tmp_path / name).mkdir()
    plain_file.sweep("tapeseal-demo-")

    assert sorted(p.name for p in tmp_path.iterdir()) == sorted(
        [f"other-{gone.pid}-x", f"tapeseal-demo-{os.getpid()}-x", "tapeseal-demo-x"]
    )


def test_the_engine_is_shown_and_an_old_one_refused(place, monkeypatch):  # noqa: F811
    assert f"SQLite {sqlite3.sqlite_version}" in place.ask("laptop", "/ready")[2].decode()
    assert "THREADSAFE" in reader.engine()
    monkeypatch.setattr(reader, "ENGINE", (99, 0, 0))
    with pytest.raises(RecordRefused, match="A record needs SQLite 99.0.0 or newer"):
        reader.refuse_old_engine()


def test_no_source_is_served(place):  # noqa: F811
    assert place.ask("laptop", "/static/__init__.py")[0] == 404 and place.ask("laptop", "/static/page.js")[0] == 200
