"""One writer for each record, by a lock of the operating system: it ends with the process, however the process ends.

The lock is a file next to the record, never the record itself: closing any second handle on the record would drop the
locks that SQLite holds on it. The file stays when the lock is released, since removing it would let two programs lock
two files of one name.
"""

import os
import sys
from pathlib import Path
from typing import BinaryIO

from webapp.record.refusals import RecordRefused, in_words

if sys.platform == "win32":
    import msvcrt

    _FAR = 1 << 30  # a locked byte cannot be read by others: lock one beyond the process number

    def _hold(file: BinaryIO) -> None:
        file.seek(_FAR)
        msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)
        file.seek(0)

else:
    import fcntl

    def _hold(file: BinaryIO) -> None:
        # flock, not lockf: it also holds against a second opening in this same process.
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)


class Lock:
    """The hold of this process on the record at `path`. Raises RecordRefused when another holds it."""

    def __init__(self, path: Path):
        beside = path.with_name(path.name + "-lock")
        try:
            self._file = open(beside, "a+b", buffering=0)  # noqa: SIM115 (held until let_go)
        except OSError as wrong:
            raise in_words(wrong, path) from wrong
        try:
            _hold(self._file)
        except OSError as wrong:
            self._file.seek(0)
            holder = self._file.read(20).decode("ascii", "replace").strip()
            self._file.close()
            raise RecordRefused(
                f"{path.name} is already open in another program{f' (process {holder})' if holder.isdigit() else ''}. "
                f"Use that one, or stop it first; a record has one writer."
            ) from wrong
        try:
            self._file.truncate(0)
            self._file.write(str(os.getpid()).encode())
        except OSError:
            pass  # a full disk: the hold is the lock, the number in it only says whose

    def let_go(self) -> None:
        """Others may open the record from now on."""
        self._file.close()
