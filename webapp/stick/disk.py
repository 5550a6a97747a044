"""Writing to a stick so that a pulled plug harms the last write at most: new files only, one write and one fsync for each addition."""

import errno
import os
from pathlib import Path

from webapp.plain_file import settle, sync
from webapp.stick.folder import segment_name

PIECE = 256 * 1024  # bytes of a snapshot between two fsyncs
_FULL = {errno.ENOSPC, errno.EFBIG, getattr(errno, "EDQUOT", errno.ENOSPC)}
_GONE = {
    errno.ENOENT,
    errno.ENODEV,
    errno.ENXIO,
    errno.ENOTDIR,
    errno.ESTALE if hasattr(errno, "ESTALE") else errno.ENOENT,
}


def state_of(wrong: OSError) -> str:
    """What an error of the disk means for the stick: "full", "gone" or "unwritable"."""
    return "full" if wrong.errno in _FULL else "gone" if wrong.errno in _GONE else "unwritable"


class OpenSegment:
    """A file that was made new here and is added to by this process alone."""

    def __init__(self, folder: Path, run: int, number: int):
        for counter in range(1, 10_000):
            self.path = folder / segment_name(run, number, counter)
            try:
                self._fd = os.open(self.path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o600)
                break
            except FileExistsError:
                continue
        else:
            raise OSError(errno.ENOSPC, "too many files of entries begin at one number")
        self._at = _identity(os.fstat(self._fd))
        settle(folder)

    def add(self, data: bytes) -> None:
        """Writes these bytes at the end, down to the disk. Raises OSError; the file must not be used afterward."""
        if not self.is_there():
            raise OSError(errno.ENOENT, "the stick was pulled out")
        rest = memoryview(data)
        while rest:
            rest = rest[os.write(self._fd, rest) :]
        sync(self._fd)

    def is_there(self) -> bool:
        """Whether the file is still under its name: a write into a removed file keeps nothing."""
        try:
            return _identity(os.stat(self.path)) == self._at
        except OSError:
            return False

    def close(self) -> None:
        """Closes the file; an error is ignored, since every addition was synced before."""
        try:
            os.close(self._fd)
        except OSError:
            pass  # what was said to be on the stick was synced before


def put_new(path: Path, data: bytes) -> None:
    """Write a file that is not there yet, down to the disk; one that is there stays as it is."""
    part = path.with_name(path.name + ".part")
    if path.exists():
        return
    _written(part, data)
    os.replace(part, path)
    settle(path.parent)


def put_over(source: Path, path: Path) -> None:
    """Copy a file in pieces, each down to the disk, and put it in the place of `path` whole."""
    part = path.with_name(path.name.partition(".")[0] + ".part")
    with source.open("rb") as whole, part.open("wb") as file:
        while piece := whole.read(PIECE):
            file.write(piece)
            file.flush()
            sync(file.fileno())
    os.replace(part, path)
    settle(path.parent)


def _written(path: Path, data: bytes) -> None:
    with path.open("wb") as file:
        file.write(data)
        file.flush()
        sync(file.fileno())


def _identity(stat: os.stat_result) -> tuple[int, int]:
    return stat.st_dev, stat.st_ino
