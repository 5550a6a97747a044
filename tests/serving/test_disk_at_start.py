"""`tapeseal precinct` and `tapeseal office` on a disk that takes nothing: both open for looking and say so in one sentence, without a trace."""

import os
import re
import shutil
import subprocess
import sys
import urllib.request
from contextlib import contextmanager
from pathlib import Path

import pytest

import webapp
from tests.drills.small_disk import CannotMount, small_disk
from tests.matrix import some
from tests.serving.opened_place import prepared  # noqa: F401 - a fixture
from webapp.settings import Settings

ROOT = Path(__file__).resolve().parents[2]
LOOKED_AT = {"precinct": ("/now", "/people", "/record"), "office": ("/intake", "/totals", "/record")}
NOTHING = "The disk of this laptop takes nothing: no entry is kept."
NO_FILE_GROWS = "import resource, runpy; resource.setrlimit(resource.RLIMIT_FSIZE, (0, resource.RLIM_INFINITY)); runpy.run_module('webapp', run_name='__main__')"


def looked_at(what: str, folder: Path, *more: str, program=("-m", "webapp"), temporary: Path | None = None) -> str:
    """Starts the command, looks at its pages, stops it; what it said on stderr."""
    child = subprocess.Popen(
        [sys.executable, *program, what, str(folder), "--port", "0", *more],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        cwd=ROOT,
        env={**os.environ, **({"TMPDIR": str(temporary)} if temporary else {})},
    )
    try:
        line = child.stdout.readline()
        found = re.search(r"localhost:(\d+)", line)
        assert found, child.communicate()
        for path in LOOKED_AT[what]:
            with urllib.request.urlopen(f"http://localhost:{found[1]}{path}", timeout=30) as page:
                assert page.status == 200 and b"The disk takes nothing: for looking only" in page.read(), path
    finally:
        child.terminate()
        said = child.communicate(timeout=30)[1]
    assert child.returncode == 0 and "Traceback" not in said, said
    return said


@pytest.fixture
def folders(prepared, tmp_path):
    """Copies of the office and its place that were opened before, so that there is something to look at."""
    for role, name in (("place", "places/W3"), ("office", "office")):
        shutil.copytree(prepared[0] / name, tmp_path / role)
        webapp.create_app(Settings(role, tmp_path / role, "practice")).extensions["room"].close()
    return {"precinct": tmp_path / "place", "office": tmp_path / "office"}


@contextmanager
def disk_with(folders, tmp_path):
    try:
        with small_disk(tmp_path / "disk") as disk:
            for name, folder in folders.items():
                shutil.copytree(folder, disk.folder / name)
            yield disk
    except CannotMount as wrong:
        pytest.skip(f"no disk can be made here ({wrong}): run as root on Linux")


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="a limit of file sizes is set as Linux has it")
def test_where_no_file_can_grow_both_open_for_looking(folders):
    for what in some(["office"], ["precinct", "office"]):
        assert NOTHING in looked_at(what, folders[what], program=("-c", NO_FILE_GROWS))


def test_on_a_full_disk_with_the_temporary_folder_on_it_both_open_and_tablets_too(folders, tmp_path):
    with disk_with(folders, tmp_path) as disk:
        (disk.folder / "tmp").mkdir()
        disk.fill()
        doors = ("--tablets", "127.0.0.1", "--tablet-port", "0", "--trust-port", "0")
        for what in some(["precinct"], ["precinct", "office"]):
            more = doors if what == "precinct" else ()
            assert NOTHING in looked_at(what, disk.folder / what, *more, temporary=disk.folder / "tmp")


def test_on_a_write_protected_disk_it_opens_for_looking(folders, tmp_path):
    with disk_with(folders, tmp_path) as disk:
        disk.protect()
        for what in some(["precinct"], ["precinct", "office"]):
            assert NOTHING in looked_at(what, disk.folder / what)
