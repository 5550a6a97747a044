"""A copy of a record to be checked: the file, and what SQLite left beside it, as they stood at one moment.

The checker never opens the file it was given: opening a record whose program was cut off would already change it. The files are
copied as bytes, without SQLite, and again if the record was being written meanwhile.
"""

import shutil
import struct
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

_BESIDE = ("-wal", "-journal")
_WAL_MODE = 2
_MAGIC = b"SQLite format 3\x00"
_TRIES = 40


class Unusable(Exception):
    """There is nothing to check here: one sentence with what to give instead."""


@dataclass(frozen=True, slots=True)
class Snapshot:
    """The copy at `path`. torn: it says that later entries lie in a -wal file which is not there. wal: that file's bytes."""

    path: Path
    torn: bool
    wal: bytes


@contextmanager
def snapshot(path: Path) -> Iterator[Snapshot]:
    """A copy in a folder of its own, which goes when the block ends. Raises Unusable."""
    with tempfile.TemporaryDirectory(prefix="record-") as folder:
        copy = Path(folder) / "record.db"
        try:
            _copy_at_rest(path, copy)
            with copy.open("rb") as file:
                start = file.read(100)
        except OSError as wrong:
            raise Unusable(f"{path.name} cannot be read or copied ({wrong.strerror}). Give the path of a record.db.") from wrong
        if sum(a == b for a, b in zip(start, _MAGIC)) < 12 or len(start) < 100:
            raise Unusable(f"{path.name} is not a record. Give the path of a record.db.")
        beside = copy.with_name("record.db-wal")
        wal = beside.read_bytes() if beside.exists() else b""
        yield Snapshot(copy, start[18] == start[19] == _WAL_MODE and not beside.exists(), wal)


def _copy_at_rest(path: Path, copy: Path) -> None:
    """Copy the record and what lies beside it, again while it changes under our hands."""
    for _ in range(_TRIES):
        before = _state(path)
        shutil.copyfile(path, copy)
        for end in _BESIDE:
            beside, copied = path.with_name(path.name + end), copy.with_name(copy.name + end)
            copied.unlink(missing_ok=True)
            try:
                shutil.copyfile(beside, copied)
            except FileNotFoundError:
                pass
        if _state(path) == before:
            return
        time.sleep(0.05)
    raise Unusable(f"{path.name} is being written to without a pause. Stop the program that serves it, or try again in a minute.")


def _state(path: Path) -> tuple[object, ...]:
    """What changes when pages move into the file, or when the -wal begins anew. Lines added at the end of the -wal do no harm."""
    stat = path.stat()
    starts = []
    for end in _BESIDE:
        try:
            with path.with_name(path.name + end).open("rb") as file:
                starts.append(file.read(32))
        except FileNotFoundError:
            starts.append(None)
    return stat.st_mtime_ns, stat.st_size, stat.st_ino, *starts


def lost_commits(wal: bytes, readable: int) -> bool:
    """Whether a -wal holds commits that SQLite will not read, because of a changed byte before them or in them.

    readable: how many of its frames SQLite took. SQLite stops in silence at the first frame whose checksum is wrong, since that is
    what a power cut leaves; but a power cut leaves no whole commit of this same round behind it.
    """
    if len(wal) <= 32:
        return False
    words = struct.unpack(">8I", wal[:32])
    if not _header_holds(wal[:32]):
        return True
    frame = words[2] + 24
    for place in range(32 + readable * frame, len(wal) - 23, frame):
        size, salt_1, salt_2 = struct.unpack(">3I", wal[place + 4 : place + 16])
        # One changed byte leaves one of the two salts whole; a frame of an earlier round has neither.
        if size and (salt_1 == words[4] or salt_2 == words[5]):
            return True
    return False


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
