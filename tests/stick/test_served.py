"""`tapeseal precinct --stick`: the day goes onto the stick as it grows, the pages say where it stands, and a spare laptop goes on."""

import os
import re
import shutil
import signal
import subprocess
import sys
import time
import urllib.request
from contextlib import contextmanager

import pytest

from demo_precinct.http_window import Window
from tests.stick import nights
from tests.stick.enrolled import enrolled, opened_by_another, prepared, tapeseal  # noqa: F401
from webapp.commands.recovery.saved_folder import task_for
from webapp.commands.server.stick_choice import StickChoice
from webapp.commands.server.stick_watch import StickWatch
from webapp.gate.signed_place_file import load_place
from webapp.record.backup import stored_after
from webapp.record.ledger import Ledger
from webapp.settings import Settings
from webapp.stick.backup_process import BackupProcess, StickStatus
from webapp.stick.folder import chosen, read_folder

posix = pytest.mark.skipif(os.name == "nt", reason="Windows has no such signals")


def until(holds, seconds=30.0):
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        if holds():
            return True
        time.sleep(0.05)
    return False


@contextmanager
def serving(*words, env=None):
    """A `tapeseal precinct` in a process of its own: (process, address)."""
    command = [sys.executable, "-m", "webapp", "precinct", *map(str, words), "--port", "0"]
    process = subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=os.environ | (env or {})
    )
    try:
        said = ""
        while not (found := re.search(r"http://localhost:\d+/", said)):
            line = process.stdout.readline()
            assert line, process.stderr.read()
            said += line
        yield process, found[0], said
    finally:
        process.kill()
        process.communicate()


def page(address, path="now"):
    with urllib.request.urlopen(f"{address}{path}", timeout=20) as answer:
        return answer.read().decode()


@posix
def test_a_laptop_that_is_killed_and_gone_goes_on_from_the_stick_on_a_spare(
    enrolled, opened_by_another, stick, tmp_path
):
    with serving(enrolled.place, "--stick", stick) as (process, address, _):
        assert until(lambda: re.search(r"On the stick to \d+", page(address)))
        with Ledger.read_only(enrolled.record) as reader:
            assert until(lambda: read_folder(chosen(stick)).history.end.number == reader.length)
            head, last = reader.head, reader.length
        os.kill(process.pid, signal.SIGKILL)
        process.wait()
    shutil.rmtree(enrolled.place)

    spare = tmp_path / "spare"
    words = (spare, "--restore", stick, "--kit", opened_by_another, "--stick", stick, "--seen", last)
    with serving(*words, env={"TAPESEAL_KIT_CODE": enrolled.code}) as (process, address, said):
        assert f"the last one is entry {last}" in said and "run 2 with entry 10001" in said
        with Ledger.read_only(spare / "record.db") as reader:
            assert reader.at(last).head == head
            assert until(lambda: "On the stick to 10003" in page(address))
        process.send_signal(signal.SIGTERM)
        assert process.wait(30) == 0
    assert read_folder(chosen(stick)).history.stored == stored_after(spare / "record.db", 0)
    assert len(list(chosen(stick).glob("snapshot-?.db"))) >= 1


def test_kit_without_restore_and_a_stick_inside_the_folder_are_refused(enrolled, tapeseal):
    code, _, err = tapeseal("precinct", enrolled.place, "--kit", enrolled.kit)
    assert code == 2 and "--restore" in err
    code, _, err = tapeseal("precinct", enrolled.place, "--stick", enrolled.place)
    assert code == 2 and "inside the place's folder" in err


@pytest.fixture
def room(enrolled, stick):
    """A served place with its stick, in this process: (site, client)."""
    import webapp

    app = webapp.create_app(Settings("place", enrolled.place, "practice"))
    site = app.extensions["room"]
    site.backup = BackupProcess(task_for(enrolled.place, load_place(enrolled.place), stick), pace=0.02)
    yield site, app.test_client()
    site.backup.close()
    site.close()


def now_page(client):
    return client.get("/now").get_data(as_text=True)


def test_each_page_says_where_the_stick_stands_and_now_says_what_to_do(room, stick, tmp_path):
    site, client = room
    assert until(lambda: f"On the stick to {site.ledger.length}" in now_page(client))
    assert "data-stick-notice" not in now_page(client)

    stick.rename(tmp_path / "away")
    assert until(lambda: site.backup.status.state == "gone")
    for n in range(25):
        site.laptop_says("clock-moved", {"by": 30_000 + n})
    assert "No stick: 25 entries only on this laptop" in now_page(client)
    assert "Put the stick back into the laptop, or another one. Voting goes on meanwhile." in now_page(client)
    assert "No stick" in client.get("/record").get_data(as_text=True)

    (tmp_path / "away").rename(stick)
    assert until(lambda: f"On the stick to {site.ledger.length}" in now_page(client))
    assert "data-stick-notice" not in now_page(client)


def test_another_stick_under_another_path_is_chosen_on_the_page(room, stick, tmp_path):
    site, client = room
    choice = StickChoice(site, lambda path: task_for(site.folder, site.place, path))
    assert client.get("/stick").status_code == 404
    site.choose_stick = choice.move
    assert until(lambda: "On the stick to" in client.get("/stick").get_data(as_text=True))

    inside, there = site.folder / "inside", tmp_path / "other"
    inside.mkdir(), there.mkdir()
    assert "There is no folder" in choice.move("stick") and "There is no folder" in choice.move(str(tmp_path / "none"))
    assert "inside the place's folder" in choice.move(str(inside))
    assert choice.move(str(there)) == ""
    assert until(lambda: f"On the stick to {site.ledger.length}" in now_page(client))
    choice.tick()
    assert site.day.of("stick")[-1].body["state"] == "on"
    assert until(lambda: read_folder(chosen(there)).history.end.number == site.ledger.length)
    site.backup.close()
    assert read_folder(chosen(there)).history.stored == stored_after(site.ledger.path, 0)
    assert read_folder(chosen(stick)).history.end.number < site.ledger.length


def test_nobody_without_a_pin_moves_the_stick(room, tmp_path):
    from webapp.serving.server import serve_in_thread

    site, client = room
    site.choose_stick = StickChoice(site, lambda path: task_for(site.folder, site.place, path)).move
    running = serve_in_thread(client.application)
    window = Window(running.port)
    form = window.get("/stick").form("/stick")
    page = window.send(form, {"path": str(tmp_path)})
    assert page.status == 422 and "Choose who signs" in page.text and site.backup.task.stick != tmp_path
    running.stop()


def test_without_a_stick_no_page_speaks_of_one(room):
    site, client = room
    mine, site.backup = site.backup, None
    assert "data-stick" not in now_page(client)
    site.backup = mine


class Told:
    def __init__(self):
        self.entries = []

    def laptop_says(self, kind, body):
        self.entries.append((kind, body["state"], body["number"]))


class Backup:
    status = StickStatus()

    def keep_running(self):
        pass


def test_the_record_says_when_the_state_changed_and_at_most_once_a_minute():
    told, backup, clock = Told(), Backup(), [0.0]
    watch = StickWatch(told, backup, lambda: clock[0])

    def at(seconds, state, number, stick="aa" * 16):
        clock[0], backup.status = seconds, StickStatus(state, number, stick)
        watch.tick()

    watch.tick()
    at(1, "on", 5)
    at(2, "on", 9)
    at(62, "gone", 9)
    at(63, "on", 9)
    at(64, "gone", 9)
    at(123, "gone", 9)
    at(190, "on", 20)
    at(260, "on", 20, "bb" * 16)
    at(330, "full", 20, "bb" * 16)

    assert told.entries == [
        ("stick", "on", 5), ("stick", "gone", 9), ("stick", "back", 20), ("stick", "other", 20), ("stick", "full", 20)
    ]  # fmt: skip


def test_what_the_record_says_of_it_is_read_in_words(room):
    site, client = room
    site.laptop_says("stick", {"state": "gone", "stick": None, "number": 4})

    assert "it is gone, entries to 4 are on it" in client.get("/record").get_data(as_text=True)
    assert nights.STICK
