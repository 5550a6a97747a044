"""A record on a disk that cannot be written: read from memory, until the disk can be written again.

`reopened` is asked before anything is kept. While the disk stays as it is, it refuses with the disk's own sentence; afterwards it gives the ledger,
and the day goes on without a restart.
"""

import sqlite3
from collections.abc import Mapping
from pathlib import Path
from queue import Empty
from typing import Any, NoReturn

from webapp import database_image
from webapp.record.entry import Act
from webapp.record.ledger import Ledger
from webapp.record.reader import Reader, Tip
from webapp.record.refusals import RecordDiskRefused, RecordRefused, in_words
from webapp.record.rough_times import rough


class LookingRecord(Reader):
    """The entries on the disk, for reading only. why: the sentence of the disk's last refusal."""

    looking = True
    engine = staticmethod(Ledger.engine)

    def __init__(self, path: str | Path, coarse: frozenset[str], why: RecordDiskRefused):
        self._coarse, self.why = coarse, why
        try:
            self._image = database_image.read(Path(path).resolve())
        except OSError as wrong:
            raise RecordRefused(f"{why} And it cannot be looked at: {wrong.strerror}.") from wrong
        super().__init__(path)
        self._newest = super().newest

    @property
    def newest(self) -> Tip:
        return self._newest

    def rough(self, kind: str, body: Mapping[str, Any]) -> bool:
        """Whether an entry of this kind and body carries quarter hours only."""
        return rough(self, self._coarse, kind, body)

    def reopened(self) -> Ledger:
        """The record, open for adding. Raises RecordDiskRefused while the disk cannot be written, RecordRefused where another program wrote meanwhile."""
        try:
            ledger = Ledger.open(self.path, self._coarse)
        except RecordDiskRefused as wrong:
            self.why = wrong
            raise
        if ledger.newest != self._newest:
            ledger.close()
            raise RecordRefused(
                f"Another program wrote to {self.path.name} while this one could only look. Nothing of this was kept. Stop this program and start it again."
            )
        return ledger

    def append(self, *acts: Act, now: int) -> NoReturn:
        """Refused in the words of the disk: see `reopened`."""
        raise self.why

    def _take(self) -> sqlite3.Connection:
        try:
            return self._idle.get_nowait()
        except Empty:
            pass
        try:
            return database_image.opened(self._image)
        except sqlite3.Error as wrong:
            raise in_words(wrong, self.path, keeping=False) from wrong


def opened(path: Path, coarse: frozenset[str] = frozenset()) -> Ledger | LookingRecord:
    """The record, open for adding; or for looking, where its disk takes nothing. Raises RecordRefused where there is none, or it can be neither."""
    try:
        return Ledger.open(path, coarse)
    except RecordDiskRefused as wrong:
        return LookingRecord(path, coarse, wrong)
