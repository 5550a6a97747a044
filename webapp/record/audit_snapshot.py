"""A copy of a record to be checked: the file, and what SQLite left next to it, as they were at one moment.

The checker does not open the file it was given as a database: opening a record whose program was cut off would
already change it. The files are copied as bytes, and again if the record was being written meanwhile. The one
exception is a record that this very process serves: closing a plain handle on it would release the locks that SQLite
holds on it (POSIX), so there SQLite makes the copy.
"""

import os
import shutil
import sqlite3
import stat
import struct
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from webapp import plain_file

_WAL_MODE = 2
_MAGIC = b"SQLite format 3\x00"
_TRIES = 80
_NAME = "tapeseal-record-"
_LARGEST = 2 * 1024**3  # bytes; a record of a day has some megabytes
_LARGEST_BESIDE = 256 * 1024**2
_TICK = 20_000_000  # ns


class UnusableFile(Exception):
    """There is nothing to check here: one sentence with what to give instead."""


@dataclass(frozen=True, slots=True)
class Snapshot:
    """A copy of a record at `path`.

    torn: the -wal with later entries is missing. hot: some pages are still in the -wal; `wal`: the bytes of that,
    where the copy has one.
    """

    path: Path
    torn: bool = False
    hot: bool = False
    wal: bytes = b""


@contextmanager
def snapshot(path: Path) -> Iterator[Snapshot]:
    """A copy in a folder of its own, which goes when the block ends. Raises Unusable."""
    plain_file.sweep(_NAME)
    with tempfile.TemporaryDirectory(prefix=f"{_NAME}{os.getpid()}-") as folder:
        try:
            copy = _taken(path, Path(folder) / "record.db")
        except OSError as wrong:
            raise UnusableFile(
                f"{path.name} cannot be read or copied ({wrong.strerror}). Give the path of a record.db."
            ) from wrong
        yield copy


def _taken(path: Path, copy: Path) -> Snapshot:
    _refuse_unfit(path, _LARGEST)
    if _served_here(path) and _copied_by_the_database(path, copy):
        return Snapshot(copy, hot=True)
    wal = _copy_of_one_moment(path, copy)
    with copy.open("rb") as file:
        start = file.read(100)
    if sum(a == b for a, b in zip(start, _MAGIC)) < 12 or len(start) < 100:
        raise UnusableFile(f"{path.name} is not a record. Give the path of a record.db.")
    return Snapshot(copy, wal is None and start[18] == start[19] == _WAL_MODE, bool(wal), wal or b"")


def _served_here(path: Path) -> bool:
    """Whether this process wrote its number into the record's lock file, and the record is open."""
    holder = (_beside(path, "-lock", 64) or b"").strip()
    return holder == str(os.getpid()).encode() and path.with_name(path.name + "-wal").is_file()


def _copied_by_the_database(path: Path, copy: Path) -> bool:
    try:
        source = sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro", uri=True)
        target = sqlite3.connect(copy)
        try:
            source.backup(target)
        finally:
            source.close()
            target.close()
    except sqlite3.Error:
        copy.unlink(missing_ok=True)
        return False
    return True


def _copy_of_one_moment(path: Path, copy: Path) -> bytes | None:
    """Copies the record and the files next to it, again while pages move; gives the -wal's bytes, None where there is no -wal."""
    for _ in range(_TRIES):
        began = time.time_ns()
        seen, journal, wal = _stat(path), _beside(path, "-journal"), _beside(path, "-wal")
        shutil.copyfile(path, copy)
        again = _beside(path, "-wal")
        # The clock of files ticks every few milliseconds: beside a -wal, a page written just before may have been written just after, too.
        settled = wal is None or began - seen[0] > _TICK
        still = _stat(path) == seen and settled and _beside(path, "-journal") == journal
        if still and (wal or b"")[:32] == (again or b"")[:32] and (wal is None) == (again is None):
            whole = wal and again and _alike(wal, again)
            for end, data in (("-wal", whole), ("-journal", journal)):
                if data:
                    copy.with_name(copy.name + end).write_bytes(data)
            return None if wal is None else whole or b""
        time.sleep(0.025)
    raise UnusableFile(
        f"{path.name} is being written to without a pause. Stop the program that serves it, or try again in a minute."
    )


def _stat(path: Path) -> tuple[int, int, int]:
    seen = path.stat()
    return seen.st_mtime_ns, seen.st_size, seen.st_ino


def _beside(path: Path, end: str, most: int = _LARGEST_BESIDE) -> bytes | None:
    """The bytes of the file next to it; None where there is none. Raises OSError for what is no plain file, or too large to be one."""
    try:
        return plain_file.read(path.with_name(path.name + end), most)
    except FileNotFoundError:
        return None


def _refuse_unfit(path: Path, most: int) -> None:
    """Raises OSError where copying would wait or never end: a pipe, a device, a file larger than any record."""
    seen = path.stat()
    if not stat.S_ISREG(seen.st_mode):
        raise plain_file.UnreadableFile("it is not a plain file")
    if seen.st_size > most:
        raise plain_file.UnreadableFile(
            f"it holds {plain_file.in_words(seen.st_size)}, and at most {plain_file.in_words(most)} are read"
        )


def _alike(one: bytes, again: bytes) -> bytes:
    """The -wal up to the first frame that was being written while it was read."""
    if one == again:
        return one
    frame = int.from_bytes(one[8:12], "big") + 24
    at = 32
    while at + frame <= len(one) and one[at : at + frame] == again[at : at + frame]:
        at += frame
    return one[:at]


def lost_commits(wal: bytes, readable: int) -> int:
    """How many commits a -wal holds that SQLite will not read, because of a wrong byte before them or in them; 2 means two or more.

    readable: how many of its frames SQLite took. SQLite stops in silence at the first frame whose checksum is wrong,
    since that is what a power cut leaves. But a power cut leaves at most one commit of this same round behind it: the
    one that was being written.
    """
    if len(wal) <= 32:
        return 0
    if not _header_holds(wal[:32]):
        return 2
    words = struct.unpack(">8I", wal[:32])
    frame, lost = words[2] + 24, 0
    for place in range(32 + readable * frame, len(wal) - 23, frame):
        size, salt_1, salt_2 = struct.unpack(">3I", wal[place + 4 : place + 16])
        # One changed byte leaves one of the two salts whole; a frame of an earlier round has neither.
        if size and (salt_1 == words[4] or salt_2 == words[5]):
            lost += 1
    return min(lost, 2)


def _header_holds(header: bytes) -> bool:
    """The checksum of a -wal's first 24 bytes (the SQLite file format, section 4.2)."""
    magic = int.from_bytes(header[:4], "big")
    if magic not in (0x377F0682, 0x377F0683) or int.from_bytes(header[8:12], "big") < 512:
        return False
    words = struct.unpack(">6I" if magic & 1 else "<6I", header[:24])
    one = two = 0
    for first, second in zip(words[::2], words[1::2]):
        one = (one + first + two) & 0xFFFFFFFF
        two = (two + second + one) & 0xFFFFFFFF
    return struct.pack(">2I", one, two) == header[24:32]
