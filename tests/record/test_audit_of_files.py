"""A record as a file: bytes outside the entries, pages that do not fit together, a -wal file that is missing or damaged."""

import os
import random
import shutil
import sqlite3
import struct
import subprocess
import sys
import threading
from collections import Counter

import pytest

from tests.matrix import some
from tests.record import story
from tests.record.killed import ROOT, kill_while_writing
from tests.record.story import SIX, act
from tests.record.tampering import opened
from webapp.record.audit import UnusableFile, verify
from webapp.record.ledger import Ledger


def own_bytes(path):
    """Where in the file the values of each entry lie, offset -> entry's number: entry, link and head in one piece, text, salt and name."""
    data, places = path.read_bytes(), {}
    db = sqlite3.connect(path)
    pieces = "SELECT number, CAST(entry || prev || head AS BLOB) FROM entries UNION ALL SELECT number, CAST(text || salt || name AS BLOB) FROM words"
    for number, piece in db.execute(pieces):
        assert 1 == data.count(piece)
        at = data.find(piece)
        places.update(dict.fromkeys(range(at, at + len(piece)), number))
    db.close()
    return places


def changed(path, at, by):
    data = bytearray(path.read_bytes())
    data[at] ^= by
    copy = path.with_name("copy.db")
    copy.write_bytes(data)
    return copy


@pytest.mark.parametrize("by", some([0x10], [0x01, 0x10, 0x80, 0xFF]))
def test_a_changed_byte_anywhere_is_named_harmless_or_said_to_be_outside(morning, by):
    """A sample of the file's bytes, more of them in the entries and in the file's first hundred, which hold its own description."""
    whole = verify(morning, coarse=story.COARSE)
    own = own_bytes(morning)
    size = morning.stat().st_size
    sample = (
        random.Random(by).sample(range(size), 150) + random.Random(by).sample(sorted(own), 40) + list(range(16, 108, 3))
    )
    seen = Counter()
    for at in sample:
        try:
            verdict = verify(changed(morning, at, by), coarse=story.COARSE)
        except UnusableFile as unusable:
            raise AssertionError(f"byte {at}: {unusable}") from None
        if at in own:
            assert (False, own[at]) == (verdict.ok, verdict.first_wrong), (at, verdict.says)
            seen["named"] += 1
        elif verdict.ok:
            assert (whole.entries, whole.head) == (verdict.entries, verdict.head), at
            seen["harmless"] += 1
        elif verdict.first_wrong is None:
            assert "damaged outside the entries, first at page " in verdict.says
            seen["outside"] += 1
        else:
            raise AssertionError(f"byte {at} is no entry's, and {verdict.first_wrong} is named: {verdict.says}")
    assert seen["named"] >= 40 and seen["harmless"] and seen["outside"], seen


@pytest.mark.parametrize("page_of", ["entry_ids", "entry_lines", "words_of_entry"])
def test_a_damaged_index_gives_its_page(morning, page_of):
    db = sqlite3.connect(morning)
    page = db.execute("SELECT rootpage FROM sqlite_master WHERE name = ?", (page_of,)).fetchone()[0]
    db.close()
    verdict = verify(changed(morning, page * 4096 - 3, 0x40))

    assert (False, None) == (verdict.ok, verdict.first_wrong)
    assert f"damaged outside the entries, first at page {page}." in verdict.says


def test_a_file_cut_off_in_the_middle_of_a_page_is_said_to_be_damaged(morning):
    copy = morning.with_name("copy.db")
    copy.write_bytes(morning.read_bytes()[: 4096 * 3 + 100])

    assert (False, None) == ((verdict := verify(copy)).ok, verdict.first_wrong)
    assert "damaged outside the entries" in verdict.says


def test_a_record_whose_guards_were_taken_away_is_not_well(morning):
    db = sqlite3.connect(morning)
    db.execute("DROP TRIGGER entries_are_never_removed")
    db.close()
    verdict = verify(morning)

    assert (False, None) == (verdict.ok, verdict.first_wrong)
    assert "damaged outside the entries, first at page 1" in verdict.says


def test_a_changed_entry_is_named_even_where_the_guards_are_gone_too(morning):
    db = sqlite3.connect(morning)
    db.execute("DROP TRIGGER entries_are_never_changed")
    db.execute("UPDATE entries SET entry = zeroblob(10) WHERE number = 3")
    db.commit()
    db.close()

    assert 3 == verify(morning).first_wrong


def test_values_that_break_a_check_are_the_entry_s_fault_not_the_file_s(morning):
    with opened(morning) as db:
        db.execute("PRAGMA ignore_check_constraints = ON")
        db.execute("UPDATE entries SET head = x'00' WHERE number = 2")

    assert 2 == verify(morning).first_wrong


def test_a_file_rebuilt_by_the_database_is_as_good(morning):
    """VACUUM (SQLite documentation) writes every page anew."""
    db = sqlite3.connect(morning)
    db.execute("PRAGMA page_size = 1024")
    db.execute("VACUUM")
    db.close()

    assert verify(morning).ok


def served(path, entries=6):
    """A copy of a record as it lies while its program runs: most of it still in the -wal."""
    ledger = Ledger.create(path, story.RECORD_ID, story.COARSE)
    for n in range(1, entries + 1):
        ledger.append(act(n, words={"why": f"Reason {n}"}), now=SIX)
    hot = path.with_name("hot.db")
    for end in ("", "-wal"):
        shutil.copy(f"{path}{end}", f"{hot}{end}")
    ledger.close()
    return hot


def test_a_record_that_is_being_served_is_checked_with_its_wal(path, ledger):
    story.keep_morning(ledger)
    verdict = verify(path)

    assert (True, 5, ledger.head) == (verdict.ok, verdict.entries, verdict.head)
    assert "Part of it is still in its -wal file: keep the two together." in verdict.says
    assert 6 == ledger.append(act(20), now=SIX * 2)[0].number


@pytest.mark.skipif(os.name == "nt", reason="there are no such locks there")
def test_checking_a_record_in_the_process_that_serves_it_leaves_its_locks(path, ledger):
    """POSIX: closing any handle on a file lets go every lock of the process on it. Another program must still find the record in use."""
    story.keep_morning(ledger)
    assert verify(path).ok
    other = (
        "import sqlite3, sys; print(sqlite3.connect(sys.argv[1]).execute('PRAGMA journal_mode = DELETE').fetchone()[0])"
    )
    tried = subprocess.run([sys.executable, "-c", other, str(path)], capture_output=True, text=True, timeout=60)

    assert "wal" in tried.stdout or "database is locked" in tried.stderr
    assert path.with_name("record.db-wal").exists()
    assert 6 == ledger.append(act(20), now=SIX * 2)[0].number


def test_a_copy_without_its_wal_says_so(path):
    hot = served(path)
    hot.with_name("hot.db-wal").unlink()
    verdict = verify(hot)

    assert verdict.entries < 6
    assert "Its -wal file is missing" in verdict.says


def test_a_record_at_rest_misses_no_wal(morning):
    assert "-wal" not in verify(morning).says


def test_a_changed_byte_in_the_wal_never_passes_for_a_shorter_record(path):
    hot = served(path)
    wal = hot.with_name("hot.db-wal")
    good = wal.read_bytes()
    assert (True, 6) == ((verdict := verify(hot)).ok, verdict.entries)
    frames = (len(good) - 32) // 4120
    places = [
        *range(12),
        *range(16, 32),
        *(32 + frame * 4120 + at for frame in range(frames) for at in (*range(0, 24, 5), 60, 2000, 4100)),
    ]
    for at in places:
        data = bytearray(good)
        data[at] ^= 0x55
        wal.write_bytes(data)
        hot.with_name("hot.db-shm").unlink(missing_ok=True)
        verdict = verify(hot)
        assert not verdict.ok, (at, verdict.says)
        assert verdict.first_wrong is None or verdict.first_wrong == verdict.entries + 1
        assert "If the power failed" not in verdict.says or verdict.entries == 5


def test_a_commit_that_a_power_cut_left_unfinished_in_the_wal_is_no_damage(path):
    """Frames without their commit frame, the last one torn: nobody was given a number for them."""
    hot = served(path)
    wal = hot.with_name("hot.db-wal")
    good = wal.read_bytes()
    salts = good[16:24]
    torn = struct.pack(">2I", 2, 0) + salts + bytes(8) + bytes(4096) + struct.pack(">I", 3)
    wal.write_bytes(good + torn)

    assert (True, 6) == ((verdict := verify(hot)).ok, verdict.entries)


def test_frames_of_an_earlier_round_behind_the_end_are_no_damage(path):
    with Ledger.create(path, story.RECORD_ID) as ledger:
        for n in range(1, 40):
            ledger.append(act(n, body={"long": "x" * 3000}), now=SIX)
        ledger._db.execute("PRAGMA wal_checkpoint(RESTART)")
        ledger.append(act(40), now=SIX)
        assert (True, 40) == ((verdict := verify(path)).ok, verdict.entries)


@pytest.mark.parametrize("seed", some([1], range(3)))
def test_what_a_killed_program_left_is_checked_as_it_lies(path, seed):
    Ledger.create(path).close()
    said = kill_while_writing(path, seed)
    before = {file.name: file.read_bytes() for file in path.parent.iterdir()}
    verdict = verify(path)

    # Killed between the pages of one entry, its last pages are no whole entry: the checker names it, and it never had a number.
    assert verdict.ok or (verdict.first_wrong == verdict.entries + 1 and "it never had a number" in verdict.says), (
        verdict
    )
    assert verdict.entries >= said
    assert before == {file.name: file.read_bytes() for file in path.parent.iterdir()}


def test_a_record_is_checked_while_another_process_writes_it(path):
    """The copy is made of one moment, however that program writes and moves pages meanwhile."""
    Ledger.create(path, story.RECORD_ID, story.COARSE).close()
    with subprocess.Popen([sys.executable, "-c", GROWING, str(path)], cwd=ROOT, stdout=subprocess.PIPE) as writer:
        try:
            writer.stdout.readline()
            seen = [verify(path) for _ in range(30)]
        finally:
            writer.kill()
    assert all(verdict.ok for verdict in seen), [verdict.says for verdict in seen if not verdict.ok]
    assert seen[0].entries < seen[-1].entries


def test_a_record_is_checked_while_this_process_writes_it(path, ledger):
    stop = threading.Event()

    def write():
        n = 0
        while not stop.is_set():
            n += 1
            ledger.append(act(n, words={"why": "w" * (n % 500)}), now=SIX)

    writer = threading.Thread(target=write)
    writer.start()
    try:
        seen = [verify(path) for _ in range(8)]
    finally:
        stop.set()
        writer.join()
    assert all(verdict.ok for verdict in seen), [verdict.says for verdict in seen if not verdict.ok]


GROWING = """
import sys, time
from tests.record.story import COARSE, SIX, act
from webapp.record.ledger import Ledger
ledger = Ledger.open(sys.argv[1], COARSE)
n = 0
while True:
    n += 1
    ledger.append(act(n, words={"why": "w" * (n % 500)}), now=SIX)
    print(n, flush=True)
    if n % 70 == 0:
        ledger._db.execute("PRAGMA wal_checkpoint(RESTART)")
    if n % 7 == 0:
        time.sleep(0.03)
"""
