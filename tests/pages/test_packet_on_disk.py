"""The file that a packet's signatures speak of: on the disk before the first of them, or one true sentence and nothing half written."""

import errno
import os
import stat

import pytest

from webapp import plain_file
from webapp.pages.place.site import packet_files


@pytest.fixture
def deeds(monkeypatch):
    """What was done to the disk, in order."""
    done, sync, put = [], os.fsync, os.replace

    def fsync(handle):
        done.append("folder" if stat.S_ISDIR(os.fstat(handle).st_mode) else "file")
        sync(handle)

    monkeypatch.setattr(os, "fsync", fsync)
    monkeypatch.setattr(os, "replace", lambda half, whole: (done.append("named"), put(half, whole)))
    return done


def test_a_packet_is_on_the_disk_before_anybody_signs_its_digest(tmp_path, deeds):
    packet_files.folder(tmp_path)
    deeds.clear()
    packet_files.wait(tmp_path, b"\1" * 32, b"bytes")

    assert deeds == ["file", "named", "folder"]
    deeds.clear()
    assert packet_files.settle(tmp_path, 1, b"\1" * 32).read_bytes() == b"bytes"
    assert deeds == ["named", "folder"]


def test_a_full_disk_at_the_first_signature_is_said_and_leaves_nothing(scene, monkeypatch):
    here = scene("packet")
    kept, form = here.length, here.form("/packet", "/packet/make")
    full = OSError(errno.ENOSPC, "No space left on device")
    with monkeypatch.context() as disk:
        disk.setattr(os, "fsync", lambda handle: (_ for _ in ()).throw(full))
        page = here.window.send(form, {"signer": "lindqvist", "pin": here.pins["lindqvist"]})
    assert page.status == 503 and "The disk with packet is full." in page.said() and "Free some space" in page.said()
    assert here.length == kept and list((here.folder / "packet").glob("*")) == []

    page = here.window.send(form, {"signer": "lindqvist", "pin": here.pins["lindqvist"]})
    assert page.status == 200 and page.path.startswith("/sign/"), "the same form, when there is room again"


def test_what_nobody_signed_is_swept_at_the_start(tmp_path):
    lot = packet_files.folder(tmp_path)
    for name, data in (
        ("waiting-aa.cose", b""),
        ("waiting-bb.cose.part", b"half"),
        ("waiting-cc.cose", b"whole"),
        ("1.cose", b""),
    ):
        (lot / name).write_bytes(data)
    packet_files.sweep(tmp_path)

    assert sorted(path.name for path in lot.iterdir()) == ["1.cose", "waiting-cc.cose"]


def test_a_file_is_the_old_one_or_the_new_one(tmp_path, monkeypatch):
    path = tmp_path / "one"
    plain_file.write(path, b"old")
    monkeypatch.setattr(os, "replace", lambda *_: (_ for _ in ()).throw(OSError(errno.EIO, "gone")))
    with pytest.raises(OSError):
        plain_file.write(path, b"new")

    assert path.read_bytes() == b"old" and [p.name for p in tmp_path.iterdir()] == ["one"]
    assert os.name == "nt" or stat.S_IMODE(path.stat().st_mode) == 0o600


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="pipes with names are made by POSIX")
def test_a_pipe_and_a_device_are_never_waited_for(tmp_path):
    os.mkfifo(tmp_path / "pipe")
    for path in (tmp_path / "pipe", "/dev/zero"):
        with pytest.raises(OSError, match="not a plain file"):
            plain_file.read(path, 10)


def test_a_file_over_its_limit_is_refused_unread(tmp_path):
    path = tmp_path / "one"
    path.write_bytes(b"x" * 11)
    with pytest.raises(OSError, match="it holds 11 bytes, and at most 10 bytes are read"):
        plain_file.read(path, 10)
    assert plain_file.read(path, 11) == b"x" * 11
