"""Reads a database file and its log into memory: for looking while the disk cannot be written.

SQLite makes a file of its own even to read a database in WAL mode. A disk that is full, write-protected or failing
has no room for it, and its contents could not be shown. So the bytes are read as they are, the commits of the log are
applied to them, and SQLite gets the result as a database in memory, which nobody can write to. The form of the log:
the SQLite file format, section 4.
"""

import sqlite3
import struct
from collections.abc import Iterator
from pathlib import Path

from webapp import plain_file

MOST = 256 * 1024**2  # bytes of the file, and of the log beside it
_BEGINS = b"SQLite format 3\x00"
_HEADER, _FRAME = 32, 24
_MAGIC = (0x377F0682, 0x377F0683)


class NoImage(OSError):
    """The files cannot be read so: `strerror` says why, for the middle of a sentence."""

    def __init__(self, why: str):
        super().__init__(0, why)


def read(path: Path) -> bytes:
    """The database as it is after the last commit on the disk. Raises OSError; NoImage where the files alone are not enough."""
    data = bytearray(plain_file.read(path, MOST))
    if not data.startswith(_BEGINS) or len(data) < 512:
        raise NoImage("it is no database")
    if _beside(path, "-journal").strip(b"\x00"):
        raise NoImage("a change was cut off in it, which only a disk that can be written to undoes")
    _lay_over(data, _beside(path, "-wal"))
    data[18:20] = b"\x01\x01"  # in memory there is no log beside it
    return bytes(data)


def opened(image: bytes) -> sqlite3.Connection:
    """A connection of its own to this image, in autocommit; every change is refused."""
    db = sqlite3.connect(":memory:", isolation_level=None, check_same_thread=False)
    db.deserialize(image)
    db.execute("PRAGMA query_only = ON")
    return db


def _beside(path: Path, end: str) -> bytes:
    try:
        return plain_file.read(path.with_name(path.name + end), MOST)
    except FileNotFoundError:
        return b""


def _lay_over(data: bytearray, log: bytes) -> None:
    """Put the pages of every whole commit of this log where they belong."""
    waiting: dict[int, bytes] = {}
    for number, size, page in _frames(log):
        waiting[number] = page
        if not size:
            continue
        data.extend(bytes(max(0, size * len(page) - len(data))))
        for at, its in waiting.items():
            data[(at - 1) * len(its) : at * len(its)] = its
        del data[size * len(page) :]
        waiting = {}


def _frames(log: bytes) -> Iterator[tuple[int, int, bytes]]:
    """(page number, pages of the database where a commit ends here or 0, page) of each frame, up to the first that is not whole or not of this round."""
    if len(log) < _HEADER:
        return
    magic, _, page_size, _, *salts, one, two = struct.unpack(">8I", log[:_HEADER])
    order = ">" if magic & 1 else "<"
    if magic not in _MAGIC or page_size < 512 or _summed(order, log[:24], (0, 0)) != (one, two):
        return
    sums, step = (one, two), _FRAME + page_size
    for at in range(_HEADER, len(log) - step + 1, step):
        number, size, *its_salts, one, two = struct.unpack(">6I", log[at : at + _FRAME])
        page = log[at + _FRAME : at + step]
        sums = _summed(order, log[at : at + 8] + page, sums)
        if its_salts != salts or sums != (one, two) or not number:
            return
        yield number, size, page


def _summed(order: str, data: bytes, begin: tuple[int, int]) -> tuple[int, int]:
    """The log's running checksum, carried on over these bytes."""
    one, two = begin
    for first, second in struct.iter_unpack(f"{order}2I", data):
        one = (one + first + two) & 0xFFFFFFFF
        two = (two + second + one) & 0xFFFFFFFF
    return one, two
