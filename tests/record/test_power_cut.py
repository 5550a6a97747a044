"""Nothing that has a number is lost when the power fails: shown on the calls that the program makes, not on its promises."""

import os
import random
import shutil
import subprocess

import pytest

from tests.matrix import some
from tests.record import story
from tests.record.power_cut import after_power_cut, moments, traced
from webapp.record.audit import verify
from webapp.record.ledger import Ledger, RecordRefused

WRITER = """
import sys
from tests.record.story import COARSE, SIX, act
from webapp.record.ledger import Ledger
with Ledger.open(sys.argv[1], COARSE) as ledger:
    for n in range(1, 9):
        kept = ledger.append(act(2 * n, words={"why": "torn"}), act(2 * n + 1, body={"long": "x" * 700 * n}), now=SIX)
        sys.stdout.write(f"{kept[-1].number} ")
        sys.stdout.flush()
        if n == 4:
            ledger._db.execute("PRAGMA wal_checkpoint(RESTART)")
"""


@pytest.fixture(scope="module")
def traced_writer(tmp_path_factory):
    """A record of eight pages of two entries, kept under strace: the record before, and the log of its calls."""
    if not shutil.which("strace"):
        pytest.skip("strace is not here: the calls of the program cannot be seen")
    folder = tmp_path_factory.mktemp("traced")
    path, log = folder / "record.db", folder / "calls.txt"
    Ledger.create(path, story.RECORD_ID, story.COARSE).close()
    before = path.read_bytes()
    try:
        traced(WRITER, path, log)
    except subprocess.CalledProcessError:
        pytest.skip("strace may not look into processes here")
    return path, before, log


def test_a_sync_of_the_wal_ends_before_each_answer_and_one_is_enough(traced_writer):
    path, before, log = traced_writer
    since, answers = [], []
    last = 0
    for call, files, said in moments(log, path, before):
        wal = files.get("record.db-wal")
        if said > last:
            assert not wal.waiting, f"the number {said} was said before its bytes were synced"
            answers.append(since.count("fdatasync"))
            since, last = [], said
        elif call != "write":
            since.append(call)

    assert list(range(2, 17, 2))[-1] == last
    # The first answer also opened the file, and the fifth came after a checkpoint, which begins the -wal anew.
    assert [1, 1, 1, 1, 1, 1] == answers[1:4] + answers[5:]


@pytest.mark.parametrize("seed", some([1], range(3)))
def test_the_power_may_fail_after_any_call_and_every_number_said_is_there(traced_writer, tmp_path, seed):
    """Every third call in each round, so that the rounds together try every call."""
    path, before, log = traced_writer
    chance = random.Random(seed)
    with Ledger.read_only(path) as whole, whole._look() as db:
        heads = dict(db.execute("SELECT number, head FROM entries"))
    tried = 0
    for count, (call, files, said) in enumerate(moments(log, path, before)):
        if count % 3 != seed:
            continue
        folder = tmp_path / str(count)
        folder.mkdir()
        for name, data in after_power_cut(files, chance).items():
            (folder / name).write_bytes(data)
            os.utime(
                folder / name, (0, 0)
            )  # written long ago: the checker need not wait for the clock of files to tick
        look_at(folder / "record.db", said)
        with Ledger.open(folder / "record.db", story.COARSE) as again:
            assert said <= again.length, f"after call {count} ({call}): {again.length} entries, {said} were said"
            assert again.length == 0 or heads[again.length] == again.head
            assert again.length % 2 == 0, "half a page was kept"
        assert verify(folder / "record.db", quick=True).ok
        tried += 1
    assert tried > 40


def look_at(record, said):
    """What the checker and a reader say of a record that nobody has put in order yet."""
    verdict = verify(record, quick=True)
    assert verdict.entries >= said
    assert (
        verdict.ok
        or "If the power failed while it was written, it never had a number: start the program once" in verdict.says
    )
    try:
        Ledger.read_only(record).close()
    except RecordRefused as refused:
        assert "was cut off. Start it once more and stop it" in str(refused)
