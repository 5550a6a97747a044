"""The copying process beside a record that is being written: it never makes an entry wait, and says where the stick stands."""

import os
import signal
import subprocess
import time

import pytest

from tests.record import story
from tests.stick import nights
from webapp.stick.backup_process import BackupProcess
from webapp.stick.folder import chosen, read_folder


@pytest.fixture
def opened(record, stick):
    """Opens copying processes that are closed when the test ends."""
    made = []

    def start(**more):
        made.append(BackupProcess(nights.task(record, stick), pace=0.02, **more))
        return made[-1]

    yield start
    for one in made:
        if one.pid:
            try:
                os.kill(one.pid, signal.SIGCONT)
            except ProcessLookupError:
                pass
        one.close()


def until(holds, seconds=20.0):
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        if holds():
            return True
        time.sleep(0.02)
    return False


def test_an_entry_is_on_the_stick_within_a_second_of_its_number(ledger, opened):
    copying = opened()
    nights.keep(ledger, 1)
    assert until(lambda: copying.status.number == 1)

    waits = []
    for n in range(200, 210):
        nights.keep(ledger, 1, n)
        began = time.monotonic()
        assert until(lambda: copying.status.number == ledger.length)
        waits.append(time.monotonic() - began)

    assert sorted(waits)[-2] < 1.0


def test_what_was_kept_last_is_copied_at_the_stop_with_a_whole_copy(ledger, record, stick, opened):
    copying = opened()
    nights.keep(ledger, 5)
    ledger.close()

    assert copying.close()

    assert read_folder(chosen(stick)).history.stored == nights.all_of(record)
    assert (chosen(stick) / "snapshot-a.db").is_file()


def test_a_hung_stick_keeps_no_entry_waiting_and_the_stop_waits_no_longer_than_it_says(ledger, opened, monkeypatch):
    monkeypatch.setattr("webapp.stick.backup_process.AT_THE_STOP", 0.3)
    copying = opened()
    nights.keep(ledger, 1)
    assert until(lambda: copying.status.number == 1)
    os.kill(copying.pid, signal.SIGSTOP)

    began = time.monotonic()
    nights.keep(ledger, 20, 200)
    assert time.monotonic() - began < 5
    assert (ledger.length, copying.status.number) == (21, 1)

    began = time.monotonic()
    assert not copying.close()
    assert time.monotonic() - began < 2


def test_a_hung_stick_that_answers_again_catches_up(ledger, record, stick, opened):
    copying = opened()
    nights.keep(ledger, 1)
    assert until(lambda: copying.status.number == 1)
    os.kill(copying.pid, signal.SIGSTOP)
    nights.keep(ledger, 20, 200)
    os.kill(copying.pid, signal.SIGCONT)

    assert until(lambda: copying.status.number == 21)
    assert read_folder(chosen(stick)).history.stored == nights.all_of(record)


def test_a_slow_stick_lags_by_one_write_and_loses_nothing(ledger, opened):
    copying = opened(delay=0.3)
    for n in range(30):
        nights.keep(ledger, 1, 200 + n)

    assert until(lambda: copying.status.number == 30, 5)


def test_a_stick_that_comes_late_gets_everything(ledger, stick, opened):
    stick.rmdir()
    copying = opened()
    nights.keep(ledger, 3)
    assert until(lambda: copying.status.state == "gone")
    stick.mkdir()

    assert until(lambda: (copying.status.state, copying.status.number) == ("on", 3))


def test_a_full_stick_is_said_and_no_entry_is_refused(ledger, opened, stick):
    copying = opened()
    nights.keep(ledger, 1)
    assert until(lambda: copying.status.number == 1)
    subprocess.run(["prlimit", f"--pid={copying.pid}", "--fsize=2000:unlimited"], check=True)

    nights.keep(ledger, 30, 200)

    assert ledger.length == 31
    assert until(lambda: copying.status.state == "full")
    assert copying.status.number < 31
    subprocess.run(["prlimit", f"--pid={copying.pid}", "--fsize=unlimited:unlimited"], check=True)
    assert until(lambda: (copying.status.state, copying.status.number) == ("on", 31))
    assert [one.number for one in read_folder(chosen(stick)).history.stored] == list(range(1, 32))


def test_a_process_that_dies_is_started_again(ledger, opened, monkeypatch):
    monkeypatch.setattr("webapp.stick.backup_process.BEFORE_ANOTHER", 0.0)
    copying = opened()
    nights.keep(ledger, 1)
    assert until(lambda: copying.status.number == 1)
    os.kill(copying.pid, signal.SIGKILL)
    assert until(lambda: copying.status.state == "gone")
    nights.keep(ledger, 2, 200)

    copying.keep_running()

    assert until(lambda: (copying.status.state, copying.status.number) == ("on", 3))


def test_the_copying_ends_with_its_server(ledger, record, stick):
    """The server's end of the pipe goes with it, however it ends."""
    copying = BackupProcess(nights.task(record, stick))
    nights.keep(ledger, 2)
    assert until(lambda: copying.status.number == 2)
    process = copying._process
    copying._closing = True
    process.stdin.close()

    assert process.wait(10) == 0


def test_no_secret_lies_among_what_the_child_is_told(record, stick):
    told = nights.task(record, stick)

    assert story.RECORD_ID == told.record_id
    assert not any("gate" in str(value) for value in (told.record, told.stick, told.packets, told.place_file))
