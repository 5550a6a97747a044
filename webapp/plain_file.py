"""A file on disk, read to a limit or written whole.

Reading never waits and never fills the memory: only a regular file is read (no pipe, no device), and only when its
size is within the limit that the caller names. Writing goes to a second file first; a power cut leaves the old file
or the new one, never half of one.
"""

import errno
import hashlib
import os
import shutil
import stat
import tempfile
from collections.abc import Iterable, Iterator
from contextlib import suppress
from pathlib import Path
from typing import BinaryIO

if os.name == "posix":
    import fcntl

    _FULL_FSYNC = getattr(fcntl, "F_FULLFSYNC", None)  # macOS: fsync alone leaves the disk's own cache
else:
    _FULL_FSYNC = None

OWNER_ONLY = 0o600
PIECE = 1024 * 1024  # bytes of a long file that are held at a time
NO_SYNC = (errno.EINVAL, errno.EACCES, errno.EPERM)  # a file system, such as FAT, that cannot sync a folder
ROOM_BESIDE = 65_536  # bytes: the index of a log has 32 kB


class UnreadableFile(OSError):
    """The file is not read: `strerror` says why, for the middle of a sentence."""

    def __init__(self, why: str):
        super().__init__(0, why)


def read(path: Path, most: int) -> bytes:
    """The bytes of a regular file of at most `most` bytes. Raises OSError (its `strerror` in words); UnreadableFile where it is no such file."""
    with _opened(path, most) as file:
        data = file.read(most + 1)
    if len(data) > most:
        raise UnreadableFile(f"it grows while it is read; at most {in_words(most)} are read")
    return data


def _opened(path: Path, most: int) -> BinaryIO:
    flags = os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0) | getattr(os, "O_NOCTTY", 0)
    file = os.fdopen(os.open(path, flags), "rb")
    seen = os.fstat(file.fileno())
    if not stat.S_ISREG(seen.st_mode):
        file.close()
        raise UnreadableFile("it is not a plain file")
    if seen.st_size > most:
        file.close()
        raise UnreadableFile(f"it holds {in_words(seen.st_size)}, and at most {in_words(most)} are read")
    return file


def write(path: Path, data: bytes, mode: int = OWNER_ONLY) -> None:
    """Writes these bytes to `path`, whole and on the disk when this returns. Raises OSError, and then leaves what was there before."""
    half = path.with_name(f"{path.name}.part")
    try:
        with os.fdopen(
            os.open(half, os.O_WRONLY | os.O_CREAT | os.O_TRUNC | getattr(os, "O_BINARY", 0), mode), "wb"
        ) as file:
            file.write(data)
            file.flush()
            sync(file.fileno())
        os.replace(half, path)
    except OSError:
        half.unlink(missing_ok=True)
        raise
    settle(path.parent)


def write_new(path: Path, pieces: Iterable[bytes], mode: int = OWNER_ONLY) -> tuple[str, int]:
    """Write these pieces to a file that is not there yet, down to the disk; (its SHA-256 in hex, how many bytes). Raises OSError."""
    found, size = hashlib.sha256(), 0
    flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0)
    with os.fdopen(os.open(path, flags, mode), "wb") as file:
        for piece in pieces:
            file.write(piece)
            found.update(piece)
            size += len(piece)
        file.flush()
        sync(file.fileno())
    return found.hexdigest(), size


def pieces(path: Path, most: int) -> Iterator[bytes]:
    """The bytes of a regular file of at most `most` bytes, a piece at a time. Raises OSError, UnreadableFile as `read` does."""
    with _opened(path, most) as file:
        while piece := file.read(PIECE):
            yield piece


def digest(path: Path, most: int) -> str:
    """SHA-256 (hex) of such a file, which is never held whole."""
    found = hashlib.sha256()
    for piece in pieces(path, most):
        found.update(piece)
    return found.hexdigest()


def keep_private(folder: Path) -> None:
    """Closes this folder to every other account of the computer, where it is ours to close."""
    if os.name != "nt" and folder.stat().st_uid == os.getuid():
        with suppress(OSError):  # on a disk that is write-protected it stays as it is
            folder.chmod(0o700)


def what_ails(path: Path) -> str:
    """ "full" where the disk with this file has no room for a database's log, "protected" where nothing can be written there; "" else."""
    try:
        if not (os.access(path, os.W_OK) and os.access(path.parent, os.W_OK)):
            return "protected"
        return "full" if shutil.disk_usage(path.parent).free < ROOM_BESIDE else ""
    except OSError:
        return ""


def sync(handle: int) -> None:
    """Return when what was written to this open file is on the disk itself. Raises OSError."""
    if _FULL_FSYNC is not None:
        fcntl.fcntl(handle, _FULL_FSYNC)
    else:
        os.fsync(handle)


def settle(folder: Path) -> None:
    """Return when the names in this folder are on the disk, where the system can: Windows and a FAT stick cannot sync a folder. Raises OSError."""
    if os.name == "nt":
        return
    try:
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
    except OSError as wrong:
        if wrong.errno not in NO_SYNC:
            raise


def sweep(name: str) -> None:
    """Removes what programs of ours that were stopped midway left in the temporary folder: folders called `name`,
    the number of an ended process, a dash and more."""
    for folder in Path(tempfile.gettempdir()).glob(f"{name}*"):
        process = folder.name.removeprefix(name).partition("-")[0]
        if process.isdecimal() and not folder.is_symlink() and _is_mine(folder) and not _runs(int(process)):
            shutil.rmtree(folder, ignore_errors=True)


def _is_mine(folder: Path) -> bool:
    """Whether this account owns the folder; False where it is gone meanwhile."""
    try:
        return not hasattr(os, "getuid") or folder.lstat().st_uid == os.getuid()
    except OSError:
        return False


def _runs(process: int) -> bool:
    """Whether this process is still there; where that cannot be asked without harm, it is taken for there."""
    if os.name == "nt":
        return True
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except (OSError, OverflowError):
        return True
    return True


def in_words(size: int) -> str:
    """Returns a size in words: whole MB (of 1,048,576 bytes), below that bytes."""
    return f"{size // 1048576} MB" if size >= 1048576 else f"{size:,} bytes"
