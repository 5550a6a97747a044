"""`tapeseal precinct` and `tapeseal office`: what they look over before the doors open, and that they open."""

import os
import re
import signal
import socket
import sqlite3
import subprocess
import sys
import urllib.request
from pathlib import Path
from types import SimpleNamespace

import pytest

import demo_precinct
from webapp.commands import main
from webapp.commands.server import run as start
from webapp.gate import keys, verifier
from webapp.precinct.place import place_file
from webapp.record.audit import verify
from webapp.record.ledger import Ledger
from webapp.serving import sockets

DEMO = Path(demo_precinct.__file__).parent
posix = pytest.mark.skipif(os.name == "nt", reason="Windows has no such signals")


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """A practice folder of the demo's place, unsigned."""
    monkeypatch.setattr(verifier, "MEMORY_KIB", 64)
    made, toml = tmp_path / "place", (DEMO / "place.toml").read_bytes()
    made.mkdir()
    (made / "place.toml").write_bytes(toml)
    keys.create_practice(made, place_file.read(toml))
    return made


@pytest.fixture
def refused(capsys):
    """Exit 2, nothing on stdout, one sentence on stderr: the sentence."""

    def run(*words) -> str:
        assert main([str(word) for word in words]) == 2
        out, err = capsys.readouterr()
        assert out == "" and err.count("\n") == 1
        return err

    return run


def test_a_folder_that_is_none_or_lacks_its_keys_is_named(refused, tmp_path):
    assert "nowhere is not a folder: give the one that `tapeseal enrol` made." in refused(
        "precinct", tmp_path / "nowhere"
    )
    assert "lacks gate.db" in refused("precinct", tmp_path)


def test_a_folder_without_its_place_file_is_named(refused, folder):
    (folder / "place.toml").unlink()

    assert "holds neither place.cose nor place.toml" in refused("precinct", folder)


def test_a_live_place_needs_the_offices_signature(refused, folder):
    toml = (folder / "place.toml").read_text(encoding="utf-8")
    (folder / "place.toml").write_text(re.sub(r'mode = "practice"', 'mode = "live"', toml), encoding="utf-8")

    assert "nobody signed it" in refused("precinct", folder)
    assert not (folder / "record.db").exists()


def test_a_port_that_does_not_exist_is_refused(refused, folder):
    assert "Port 70000 does not exist" in refused("precinct", folder, "--port", 70000)


def test_a_taken_port_is_refused_before_the_record_is_touched(refused, folder):
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = other.getsockname()[1]

        assert f"Port {port} on 127.0.0.1 cannot be had" in refused("precinct", folder, "--port", port)
    assert not (folder / "record.db").exists()


def test_a_record_that_is_open_elsewhere_is_refused(refused, folder):
    ledger = Ledger.create(folder / "record.db")
    try:
        assert "already open in another program" in refused("precinct", folder, "--port", 0)
    finally:
        ledger.close()


def test_a_place_is_no_office_and_the_other_way_round(refused, folder, tmp_path):
    assert "open it with `tapeseal precinct`" in refused("office", folder)
    office = tmp_path / "office"
    office.mkdir()
    keys.create_office(office, "tarn")
    assert "open it with `tapeseal office`" in refused("precinct", office)
    assert "lacks office.toml" in refused("office", office)


def test_a_mistake_in_the_office_file_is_named_with_its_line(refused, tmp_path):
    text = (DEMO / "office.toml").read_text(encoding="utf-8")
    (tmp_path / "office.toml").write_text("surprise = 1\n" + text, encoding="utf-8")

    assert re.search(r"office\.toml, line 1: .*surprise", refused("office", tmp_path))


def quiet():
    """An opener that follows no redirect and raises for no status."""
    opener = urllib.request.OpenerDirector()
    opener.add_handler(urllib.request.HTTPHandler())
    return opener


def started(folder: Path):
    """The command in a process of its own, once it has said where it is: (process, link)."""
    child = subprocess.Popen(
        [sys.executable, "-m", "webapp", "precinct", str(folder), "--port", "0"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    line = child.stdout.readline()
    return child, re.search(r"http://localhost:\d+/", line), line


@posix
def test_it_says_where_it_is_answers_there_and_stops_with_a_whole_record(folder):
    child, link, line = started(folder)
    with urllib.request.urlopen(link[0], timeout=30) as page:
        assert page.status == 200 and page.url == link[0] + "ready"  # before roll call: what is ready
    own = urllib.request.Request(link[0], headers={"Host": place_file.read((folder / "place.toml").read_bytes()).host})
    assert quiet().open(own, timeout=30).status == 421  # by its own name the place is reached over TLS only
    child.send_signal(signal.SIGTERM)
    out, err = child.communicate(timeout=30)

    assert (child.returncode, err) == (0, "") and "PRACTICE" in line
    reader = Ledger.read_only(folder / "record.db")
    assert [entry.kind for entry in reader.entries()] == ["record-opened", "started", "stopped"]
    reader.close()
    assert verify(folder / "record.db").ok
    sockets.have("127.0.0.1", int(re.search(r":(\d+)/", link[0])[1]))


@posix
def test_a_record_that_does_not_check_is_said_and_served_all_the_same(folder):
    """Voting never waits for the tool."""
    child, link, _ = started(folder)
    child.terminate()
    child.communicate(timeout=30)
    db = sqlite3.connect(folder / "record.db")
    for (name,) in db.execute("SELECT name FROM sqlite_schema WHERE type = 'trigger'").fetchall():
        db.execute(f'DROP TRIGGER "{name}"')
    db.execute("UPDATE entries SET head = zeroblob(32) WHERE number = 2")
    db.commit()
    db.close()

    child, link, _ = started(folder)
    with urllib.request.urlopen(link[0], timeout=30) as page:
        assert page.status == 200
    child.terminate()
    _, err = child.communicate(timeout=30)
    reader = Ledger.read_only(folder / "record.db")
    said = [(entry.kind, entry.body) for entry in reader.entries() if entry.kind == "verify-failed"]
    reader.close()

    assert "The record does not check: " in err and "tell the office, and go on" in err
    assert said == [("verify-failed", {"first_wrong": 2})]


def test_a_disk_nearly_full_is_said_at_the_start_with_what_is_left_and_what_is_wanted(monkeypatch, tmp_path):
    for free, said in (
        (
            start.ROOM_ON_DISK - 1,
            [
                f"The disk has {start.ROOM_ON_DISK // 1048576 - 1} MB left: free at least {start.ROOM_ON_DISK // 1048576} MB before the day begins."
            ],
        ),
        (start.ROOM_ON_DISK, []),
    ):
        monkeypatch.setattr(start.shutil, "disk_usage", lambda folder, free=free: SimpleNamespace(free=free))
        assert start.room_on_disk(tmp_path) == said
