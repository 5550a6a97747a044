"""A disk of a few megabytes that can be filled up, write-protected and emptied: a file system in memory. Linux; needs the right to mount (root)."""

import ctypes
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

MS_RDONLY, MS_REMOUNT, MNT_DETACH = 1, 32, 2


class CannotMount(Exception):
    """Here no disk can be made: not Linux, or not the right."""


class SmallDisk:
    """`folder` is the disk's own top; `fill` and `empty`, `protect` and `release` are what happens to it."""

    def __init__(self, folder: Path, megabytes: int):
        self.folder, self._size = folder, f"size={megabytes}m,mode=0700"
        self._filler = folder / "something-else"

    def fill(self) -> None:
        """Not a byte more goes on it."""
        handle = os.open(self._filler, os.O_WRONLY | os.O_CREAT | os.O_APPEND)
        size = 65536
        while size:
            try:
                os.write(handle, bytes(size))
            except OSError:
                size //= 2
        os.close(handle)

    def empty(self) -> None:
        self._filler.unlink(missing_ok=True)

    def protect(self) -> None:
        """Nothing can be written from now on. Refused by the system while files are open for writing."""
        _mount(self.folder, MS_REMOUNT | MS_RDONLY, self._size)

    def release(self) -> None:
        _mount(self.folder, MS_REMOUNT, self._size)


@contextmanager
def small_disk(folder: Path, megabytes: int = 8) -> Iterator[SmallDisk]:
    """A disk at this empty folder, gone with all that lies on it when the block ends. Raises CannotMount."""
    folder.mkdir(exist_ok=True)
    disk = SmallDisk(folder, megabytes)
    if not sys.platform.startswith("linux"):
        raise CannotMount
    _mount(folder, 0, disk._size)
    try:
        yield disk
    finally:
        _libc().umount2(str(folder).encode(), MNT_DETACH)


def _mount(folder: Path, flags: int, options: str) -> None:
    if _libc().mount(b"tmpfs", str(folder).encode(), b"tmpfs", ctypes.c_ulong(flags), options.encode()):
        raise CannotMount(os.strerror(ctypes.get_errno()))


def _libc() -> ctypes.CDLL:
    return ctypes.CDLL(None, use_errno=True)
