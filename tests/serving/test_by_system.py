"""Ways that other systems go, gone here on purpose: the real thing was not tried there (tests/SYSTEMS.md)."""

import errno
import os
import ssl
import stat
import subprocess
import sys
from pathlib import Path

import pytest

from tests.matrix import some
from tests.serving.conftest import shown_for
from webapp import plain_file
from webapp.gate import tls
from webapp.pages.shared import host_status


@pytest.mark.parametrize("memory", [True, False])
def test_the_key_never_lies_open_on_the_disk(memory, monkeypatch, tmp_path):
    """Where the system has no file in memory, it lies for a moment in a folder of its owner's, and is gone afterwards."""
    monkeypatch.setattr(tls.tempfile, "tempdir", str(tmp_path))
    if not memory:
        monkeypatch.delattr(os, "memfd_create", raising=False)
    with tls._as_file(b"chain and locked key") as file:
        assert file.read_bytes() == b"chain and locked key"
        lies = [path for path in tmp_path.rglob("*") if path.is_file()]
        assert lies == [] if memory and sys.platform == "linux" else lies == [file]
        assert os.name == "nt" or not lies or stat.S_IMODE(file.parent.stat().st_mode) == 0o700
    assert list(tmp_path.iterdir()) == []


def test_what_the_library_reads_is_locked_by_a_password(monkeypatch):
    """`ssl` itself must be given the password, or it refuses: the bytes alone are no key."""
    seen = []
    real = tls._as_file

    def kept(data: bytes):
        seen.append(data)
        return real(data)

    monkeypatch.setattr(tls, "_as_file", kept)
    tls.context(shown_for("localhost"))
    (data,) = seen
    assert b"ENCRYPTED PRIVATE KEY" in data and b"BEGIN PRIVATE KEY" not in data
    with real(data) as file, pytest.raises((ssl.SSLError, ValueError)):
        ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER).load_cert_chain(file, password="")


def test_where_the_system_has_a_fuller_way_to_the_disk_it_is_taken(monkeypatch, tmp_path):
    asked = []
    monkeypatch.setattr(plain_file, "_FULL_FSYNC", 51)
    monkeypatch.setattr(plain_file.fcntl, "fcntl", lambda handle, what: asked.append(what))
    plain_file.write(tmp_path / "packet", b"bytes")
    assert asked == [51] and (tmp_path / "packet").read_bytes() == b"bytes"


@pytest.mark.parametrize("code, passes", [(errno.EINVAL, True), (errno.EACCES, True), (errno.EIO, False)])
def test_a_folder_that_cannot_be_synced_is_no_failure_but_a_failing_disk_is(code, passes, monkeypatch, tmp_path):
    def refuses(handle):
        raise OSError(code, os.strerror(code))

    monkeypatch.setattr(os, "fsync", refuses)
    if passes:
        plain_file.settle(tmp_path)
    else:
        with pytest.raises(OSError):
            plain_file.settle(tmp_path)


def test_power_is_told_from_what_the_system_says(tmp_path):
    """Files as Linux lays them out: Documentation/ABI/testing/sysfs-class-power, from memory."""

    def supply(name: str, **says: str) -> None:
        (tmp_path / name).mkdir(exist_ok=True)
        for key, value in says.items():
            (tmp_path / name / key).write_text(value + "\n", encoding="ascii")

    assert host_status.power(Path(tmp_path / "absent")) == ("", None)
    supply("BAT0", type="Battery", status="Charging", capacity="81")
    supply("AC", type="Mains", online="1")
    supply("hid-mouse", type="Battery", scope="Device", status="Discharging", capacity="9")
    assert host_status.power(tmp_path) == ("mains", 81)
    supply("AC", online="0")
    supply("BAT0", status="Discharging", capacity="64")
    assert host_status.power(tmp_path) == ("battery", 64)
    (tmp_path / "BAT0" / "capacity").write_bytes(b"\xff\xfe")
    assert host_status.power(tmp_path) == ("battery", None)


@pytest.mark.parametrize("code_page", some(["ascii"], ["ascii", "cp1252", "cp437"]))
def test_a_letter_that_the_window_lacks_stops_no_command(code_page):
    """Windows writes into a pipe by the code page of the country; a help with “ and ≤ must come through, and so must a refusal."""
    environment = {**os.environ, "PYTHONIOENCODING": code_page}
    said = "import sys; sys.argv = ['tapeseal', 'place', 'check', '“no ≤ such”.toml']; from webapp.commands import main; sys.exit(main())"
    done = subprocess.run([sys.executable, "-c", said], env=environment, capture_output=True, timeout=60)
    assert done.returncode == 2 and b"Traceback" not in done.stderr and done.stderr.startswith(b"tapeseal place:")
