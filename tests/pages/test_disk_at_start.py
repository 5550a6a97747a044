"""A disk that is full, write-protected or failing when the program starts: the doors open for looking, one true sentence says why nothing is kept,
and as soon as the disk takes something the same form is kept without a restart (OWASP ASVS 5.0.0, 16.5.2: it goes on as far as it can)."""

import shutil
import sqlite3

import pytest

from tests.drills.small_disk import CannotMount, small_disk
from tests.pages.asking import restart
from webapp import database_image
from webapp.precinct.place.ballot_kinds import BALLOT_KINDS
from webapp.record.audit import verify
from webapp.record.ledger import Ledger

LOOKED_AT = ("/now", "/steps", "/note", "/count", "/seals", "/record", "/people", "/ready", "/balance", "/tablet")


@pytest.fixture
def disk(tmp_path):
    try:
        with small_disk(tmp_path / "disk") as made:
            yield made
    except CannotMount as wrong:
        pytest.skip(f"no disk can be made here ({wrong}): run as root on Linux")


def stopped_on(disk, here, cut_off=False):
    """The scene's folder lies on this disk, its program stopped, or killed where it is `cut_off`."""
    here.hold()
    if cut_off:
        shutil.copytree(here.folder, disk.folder / "place")
        here.stop()
    else:
        here.stop()
        shutil.copytree(here.folder, disk.folder / "place")
    here.windows, here.folder = [], disk.folder / "place"
    return here


def started(here):
    old = here.window
    here.start()
    here.window.cookies = {
        name.replace(str(old.port), str(here.window.port)): value for name, value in old.cookies.items()
    }
    return here


def noted(here):
    form = here.form("/note/incident")
    return form, here.filled(form, "incident") | {"what": "a queue at the door"}


@pytest.mark.parametrize("cut_off", [False, True])
def test_a_disk_that_is_full_at_the_start_is_looked_at_and_taken_into_use_when_it_has_room(disk, scene, cut_off):
    here = stopped_on(disk, scene("voting"), cut_off)
    with Ledger.read_only(here.folder / "record.db") as record:
        last = record.length
    for index in here.folder.glob("*-shm"):
        index.unlink()  # what looking just now left: made anew at each start
    disk.fill()
    started(here)

    assert here.length == last
    for path in LOOKED_AT:
        page = here.window.get(path)
        assert page.status == 200 and "The disk takes nothing: for looking only" in page.text, path
    assert here.window.get(f"/record/{last}").status == 200
    now = here.window.get("/now").text
    assert "no entry is kept" in now and "What has a number stays and can be looked at" in now
    form, values = noted(here)
    values = here.signed(values, "lindqvist") if "signer" in form.controls else values
    refused = here.window.send(form, values)
    assert refused.status in (409, 422, 503) and " is full" in refused.said(), refused.said()
    assert here.length == last

    disk.empty()
    page = here.window.send(form, values)
    page = here.second(page, "okafor") if page.path.startswith("/sign/") else page
    assert page.status == 200 and here.kinds(after=last) == ["started", "incident"]
    assert "The disk takes nothing" not in here.window.get("/now").text
    restart(here)
    here.room.ledger.close()
    assert verify(here.folder / "record.db", coarse=BALLOT_KINDS).ok


def test_a_disk_that_is_write_protected_at_the_start_is_looked_at(disk, scene):
    here = stopped_on(disk, scene("voting"))
    disk.protect()
    started(here)

    for path in LOOKED_AT:
        assert here.window.get(path).status == 200, path
    form, values = noted(here)
    refused = here.window.send(form, here.signed(values, "lindqvist") if "signer" in form.controls else values)
    assert refused.status in (409, 422, 503) and "cannot be written to" in refused.said(), refused.said()

    disk.release()
    page = here.window.send(form, here.signed(values, "lindqvist") if "signer" in form.controls else values)
    page = here.second(page, "okafor") if page.path.startswith("/sign/") else page
    assert page.status == 200 and here.kinds()[-2:] == ["started", "incident"]


def test_what_is_read_into_memory_is_what_the_database_says_itself(scene):
    """With commits in the log alone, with a log cut anywhere, and without one; SQLite's own reading is the judge."""
    here = scene("voting")
    here.hold()
    for name in ("record.db", "gate.db"):
        copy = here.folder.parent / f"copy-of-{name}"
        for end in ("", "-wal"):
            shutil.copy(here.folder / f"{name}{end}", f"{copy}{end}")
        whole = copy.with_name(copy.name + "-wal").read_bytes()
        assert len(whole) > 4096
        for cut in (len(whole), len(whole) - 1, len(whole) // 2, len(whole) // 3, 24, 0):
            copy.with_name(copy.name + "-wal").write_bytes(whole[:cut])
            copy.with_name(copy.name + "-shm").unlink(missing_ok=True)
            image = database_image.opened(database_image.read(copy))
            mine = list(image.iterdump())
            assert image.execute("PRAGMA integrity_check").fetchone() == ("ok",)
            image.close()
            twin = copy.with_name("twin.db")
            for end in ("", "-wal"):
                shutil.copy(f"{copy}{end}", f"{twin}{end}")
            assert mine == by_sqlite(twin), (name, cut)


def by_sqlite(path):
    db = sqlite3.connect(path)
    found = list(db.iterdump())
    db.close()
    for end in ("", "-wal", "-shm"):
        path.with_name(path.name + end).unlink(missing_ok=True)
    return found
