"""The only writer of records: an act goes in, an entry with a number comes out, and the number means "on the disk".

One writer a record, one lock a writer, one commit a page: either every act of a page is kept or none is. A tablet that heard no
answer sends the same again and gets the same number.
"""

import errno
import os
import sqlite3
import threading
from collections.abc import Mapping
from importlib.resources import files
from pathlib import Path
from typing import Any
from uuid import uuid4

from webapp import plain_file
from webapp.record.batch import EntryBatch, PreparedEntry
from webapp.record.chain import leaf, next_head
from webapp.record.entry import Act, Entry, Malformed
from webapp.record.reader import Reader, Tip, connect, engine, named, refuse_old_engine
from webapp.record.refusals import SAID, RecordRefused, gone, in_words
from webapp.record.rough_times import rough
from webapp.record.writer_lock import Lock

__all__ = ["Ledger", "RecordRefused"]


class Ledger(Reader):
    """One record, open for adding. coarse: the kinds whose times are kept to the quarter hour; entries about one
    of them (a correction, a countersignature) are coarse too."""

    looking = False  # it takes entries

    def __init__(self, path: Path, coarse: frozenset[str], lock: Lock):
        self._lock = lock
        self._coarse = coarse
        self._writing = threading.Lock()
        self._sure = True
        try:
            # The writer first: only a connection that may write can put a record in order whose program was cut off.
            self._db = connect(path, "rw")
            try:
                self._make_ready(path)
                super().__init__(path)
                self._places = self._inodes()
                self._newest = super().newest
                self._kept = self._last_kept()
            except BaseException:
                self._db.close()
                raise
        except (*SAID, OSError) as wrong:
            raise in_words(wrong, path) from wrong

    engine = staticmethod(engine)

    def _make_ready(self, path: Path) -> None:
        """Raises RecordRefused where SQLite is too old or this is no record, or its last entry and head do not agree: nothing is added to a broken chain."""
        refuse_old_engine()
        if plain_file.what_ails(path) == "protected":  # SQLite has opened it for reading only, and says nothing
            raise OSError(errno.EROFS, os.strerror(errno.EROFS))
        named(self._db, path)
        for setting in ("fullfsync = 1", "checkpoint_fullfsync = 1", "synchronous = FULL", "journal_mode = WAL"):
            self._db.execute(f"PRAGMA {setting}")
        row = self._db.execute("SELECT number, entry, prev, head FROM entries ORDER BY number DESC LIMIT 1").fetchone()
        if row and next_head(row[2], row[0], leaf(row[1])) != row[3]:
            raise RecordRefused(f"Entry {row[0]} of {path.name} and its head do not agree. Nothing is added to it: keep the file as it is, "
                          f"run `tapeseal record verify` on it, and go on with the backup.")  # fmt: skip

    @classmethod
    def create(cls, path: str | Path, record_id: bytes | None = None, coarse: frozenset[str] = frozenset()) -> "Ledger":
        """A new, empty record at `path`, open for adding. Raises RecordRefused where a file of that name is."""
        path = Path(path).resolve()
        lock = Lock(path)
        try:
            if path.exists():
                raise RecordRefused(
                    f"There is a record at {path.name} already. Open it, or give another name; none is overwritten."
                )
            _lay_down(path, uuid4().bytes if record_id is None else record_id)
            return cls(path, coarse, lock)
        except (*SAID, OSError) as wrong:
            lock.let_go()
            raise in_words(wrong, path) from wrong
        except RecordRefused:
            lock.let_go()
            raise

    @classmethod
    def open(cls, path: str | Path, coarse: frozenset[str] = frozenset()) -> "Ledger":
        """The record at `path`, open for adding. Raises RecordRefused where there is none or another program has it open."""
        path = Path(path).resolve()
        if not path.is_file():
            raise RecordRefused(f"There is no record at {path.name}. Give the path of a record.db.")
        lock = Lock(path)
        try:
            return cls(path, coarse, lock)
        except RecordRefused:
            lock.let_go()
            raise

    @classmethod
    def read_only(cls, path: str | Path) -> Reader:
        """The record at `path` for looking only, also while another process serves it."""
        return Reader(path)

    def append(self, *acts: Act, now: int) -> tuple[Entry, ...]:
        """Keep all these acts in one durable commit and give their entries, in order; or raise RecordRefused and keep none.

        now: the laptop's clock, ms UTC. An act whose claim is kept already gives the entry it has.
        """
        with self._writing:
            if self._shut:
                raise RecordRefused(f"{self.path.name} has been closed. Open it again to add to it.")
            try:
                if not self._sure:
                    self._newest = super().newest
                    self._kept, self._sure = self._last_kept(), True
                page = EntryBatch(self.record_id, self._newest, self._kept, self.rough, self.find, self._filed)
                entries = tuple([page.take(act, now) for act in acts])
                if page.lines:
                    self._sure = False  # cut off from here on, they may stand on the disk after all
                    self._commit(page.lines)
                    self._newest, self._kept, self._sure = page.newest, page.kept, True
            except Malformed as wrong:
                raise RecordRefused(f"This cannot be kept as it is: {wrong}.") from wrong
            except SAID as wrong:
                raise in_words(wrong, self.path) from wrong
            return entries

    @property
    def newest(self) -> Tip:
        """Run, number and head of the last entry that is on the disk."""
        return self._newest

    def close(self) -> None:
        """Bring everything into the one file, and let others open it."""
        with self._writing:
            if self._shut:
                return
            super().close()
            try:
                # Out of WAL mode at rest: a copy that still says WAL was taken from an open record, and the checker can say so.
                self._db.execute("PRAGMA journal_mode = DELETE")
            except sqlite3.Error:
                pass  # someone else is looking; what is in the -wal is as durable as the file
            finally:
                self._db.close()
                self._lock.let_go()

    def _filed(self, tablet: str, seq: int) -> int | None:
        row = self._db.execute(
            "SELECT number FROM entries WHERE tablet = ? AND seq = ? AND seq > 0", (tablet, seq)
        ).fetchone()
        return row and row[0]

    def _commit(self, lines: list[PreparedEntry]) -> None:
        if not self._places or self._inodes() != self._places:
            raise gone(self.path)
        self._db.execute("BEGIN IMMEDIATE")
        try:
            for line in lines:
                e = line.entry
                self._db.execute(
                    "INSERT INTO entries (number, entry, prev, head, tablet, seq, id) VALUES (?, ?, ?, ?, ?, ?, ?)",
                    (e.number, line.data, line.prev, line.head, e.tablet, e.seq, e.id),
                )
                for name, text in line.act.claim.words.items():
                    self._db.execute(
                        "INSERT INTO words (line, text, salt, name, number) "
                        "VALUES ((SELECT coalesce(max(line), 0) + 1 FROM words), ?, ?, ?, ?)",
                        (text.text, text.salt, name, e.number),
                    )
            self._db.execute("COMMIT")
        except BaseException:
            if self._db.in_transaction:
                self._db.execute("ROLLBACK")
            raise

    def _last_kept(self) -> int:
        """The clock of the last entry that carries a fine time: kept never goes behind it."""
        for (data,) in self._db.execute("SELECT entry FROM entries ORDER BY number DESC"):
            entry = self._unpack(data)
            if not (entry.in_quarters and self.rough(entry.kind, entry.body)):
                return entry.kept
        return 0

    def rough(self, kind: str, body: Mapping[str, Any]) -> bool:
        """Whether an entry of this kind and body carries quarter hours only: it is coarse, or the entry it is about (`of`, a number) is."""
        return rough(self, self._coarse, kind, body)

    def _inodes(self) -> tuple[tuple[int, int], ...]:
        """Which files on which disks these are: SQLite would go on writing into files that nobody can find any more."""
        try:
            seen = (os.stat(self.path), os.stat(f"{self.path}-wal"))
        except FileNotFoundError:
            return ()
        return tuple((file.st_dev, file.st_ino) for file in seen)


def _lay_down(path: Path, record_id: bytes) -> None:
    """Write an empty record and put it in place whole: a crash half way leaves no half record under its name."""
    if type(record_id) is not bytes or len(record_id) != 16:
        raise RecordRefused("A record's id has 16 bytes.")
    draft = path.with_name(path.name + "-new")
    draft.unlink(missing_ok=True)
    draft.touch(
        mode=0o600, exist_ok=False
    )  # who may read it reads the order of notes; what lies beside it takes its mode
    db = connect(draft, "rw")
    try:
        db.execute("PRAGMA synchronous = FULL")
        db.executescript("BEGIN;" + files("webapp.record").joinpath("schema.sql").read_text("utf-8"))
        db.execute("INSERT INTO record (one, record_id) VALUES (1, ?)", (record_id,))
        db.execute("COMMIT")
    finally:
        db.close()
    os.rename(draft, path)
    plain_file.settle(path.parent)
