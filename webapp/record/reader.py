"""Reads a record; writes nothing.

The process that writes the record reads it in the same way as any other. Each read takes its own connection from a
small stock, so that it never sees entries that are still on their way to the disk.
"""

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from queue import Empty, SimpleQueue
from typing import Self

from webapp.record.chain import first_head
from webapp.record.entry import Entry, Malformed
from webapp.record.refusals import SAID, RecordRefused, in_words

APPLICATION = 0x54534C31
VERSIONS = (1, 2)
"""Of a record on its first laptop, and of one that was restored and has runs."""
_BATCH = 500


@dataclass(frozen=True, slots=True)
class Tip:
    """The end of a record: its run, the number of its last entry (0 when there is none) and the 32-byte head after it."""

    run: int
    number: int
    head: bytes


@dataclass(frozen=True, slots=True)
class RunStart:
    """A run after the first: its first number, and number and head of the last entry before it that was restored."""

    run: int
    first: int
    last: int
    head: bytes


class Reader:
    """A record opened for looking. Works while another process serves the record; raises RecordRefused with what to do."""

    def __init__(self, path: str | Path):
        self.path = Path(path).resolve()
        if not self.path.is_file():
            raise RecordRefused(f"There is no record at {self.path.name}. Give the path of a record.db.")
        self._idle: SimpleQueue[sqlite3.Connection] = SimpleQueue()
        self._shut = False
        with self._look() as db:
            self.record_id = named(db, self.path)

    def entries(self, after: int = 0) -> Iterator[Entry]:
        """The entries with numbers above `after`, in order, as they are when each batch is read."""
        while True:
            with self._look() as db:
                rows = db.execute(
                    "SELECT number, entry FROM entries WHERE number > ? ORDER BY number LIMIT ?", (after, _BATCH)
                ).fetchall()
            for after, data in rows:
                yield self._unpack(data)
            if len(rows) < _BATCH:
                return

    def entry(self, number: int) -> Entry | None:
        """The entry of this number; None where there is none."""
        with self._look() as db:
            row = db.execute("SELECT entry FROM entries WHERE number = ?", (number,)).fetchone()
        return self._unpack(row[0]) if row else None

    def texts(self, number: int) -> dict[str, str]:
        """The free words of entry `number`, by name; empty where it has none or they are withheld."""
        with self._look() as db:
            return dict(db.execute("SELECT name, text FROM words WHERE number = ? ORDER BY rowid", (number,)))

    def salts(self, number: int) -> dict[str, bytes]:
        """The salt of each of the free words of entry `number`, by name."""
        with self._look() as db:
            return dict(db.execute("SELECT name, salt FROM words WHERE number = ? ORDER BY rowid", (number,)))

    def find(self, id: bytes) -> Entry | None:
        """The entry that carries this 16-byte id, if it has been kept."""
        with self._look() as db:
            row = db.execute("SELECT entry FROM entries WHERE id = ?", (id,)).fetchone()
        return self._unpack(row[0]) if row else None

    def last_seq(self, tablet: str) -> int:
        """The highest line number kept from this tablet; 0 when none is."""
        with self._look() as db:
            return db.execute(
                "SELECT coalesce(max(seq), 0) FROM entries WHERE tablet = ? AND seq > 0", (tablet,)
            ).fetchone()[0]

    @property
    def newest(self) -> Tip:
        """Run, number and head of the last entry, of one moment."""
        with self._look() as db:
            row = db.execute("SELECT entry, head FROM entries ORDER BY number DESC LIMIT 1").fetchone()
        if row is None:
            return Tip(1, 0, first_head(self.record_id))
        last = self._unpack(row[0])
        return Tip(last.run, last.number, row[1])

    def at(self, number: int) -> Tip | None:
        """The state of the record after entry `number`; None where it has no such entry."""
        if number == 0:
            return Tip(1, 0, first_head(self.record_id))
        with self._look() as db:
            row = db.execute("SELECT entry, head FROM entries WHERE number = ?", (number,)).fetchone()
        return Tip(self._unpack(row[0]).run, number, row[1]) if row else None

    def runs(self) -> tuple[RunStart, ...]:
        """Each run after the first, in order; empty on the first laptop."""
        with self._look() as db:
            if db.execute("PRAGMA user_version").fetchone()[0] == 1:
                return ()
            return tuple(RunStart(*row) for row in db.execute("SELECT run, first, last, head FROM runs ORDER BY run"))

    def last_before(self, run: int) -> int | None:
        """The number of the last entry before this run (from 2) began; None where the record has no such run."""
        runs = {start.run: start.last for start in self.runs()}
        return runs.get(run) if runs else self._found_by_halving(run)

    def _found_by_halving(self, run: int) -> int | None:
        """The same where no number was left out: runs only rise."""
        low, high = 1, self.newest.number
        if self.newest.run < run:
            return None
        while low < high:
            middle = (low + high) // 2
            there = self.at(middle)
            if there is None or there.run >= run:
                high = middle
            else:
                low = middle + 1
        return low - 1

    def lines_of(self, tablet: str, after: int, most: int) -> list[tuple[int, bytes]]:
        """Numbers and stored bytes of the entries of one tablet with numbers above `after`, in order, `most` at the most."""
        with self._look() as db:
            return db.execute(
                "SELECT number, entry FROM entries WHERE tablet = ? AND number > ? ORDER BY number LIMIT ?",
                (tablet, after, most),
            ).fetchall()

    @property
    def length(self) -> int:
        """How many entries the record has, which is the number of the last."""
        return self.newest.number

    @property
    def head(self) -> bytes:
        """The 32 bytes that cover the whole record as it is now."""
        return self.newest.head

    @property
    def run(self) -> int:
        """1, and one more after each restore onto another laptop."""
        return self.newest.run

    def close(self) -> None:
        """Closes the file; a closed record refuses every further read."""
        self._shut = True
        self._drain()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def _unpack(self, data: bytes) -> Entry:
        try:
            return Entry.unpack(data)
        except Malformed as wrong:
            raise RecordRefused(
                f"{self.path.name} holds an entry that cannot be read ({wrong}). Run `tapeseal record verify` on it."
            ) from wrong

    @contextmanager
    def _look(self) -> Iterator[sqlite3.Connection]:
        if self._shut:
            raise RecordRefused(f"{self.path.name} has been closed. Open it again to look into it.")
        db = None
        try:
            db = self._take()
            yield db
        except BaseException as wrong:
            if db is not None:
                db.close()
            if isinstance(wrong, SAID):
                raise in_words(wrong, self.path, keeping=False) from wrong
            raise
        self._idle.put(db)
        if self._shut:
            self._drain()

    def _take(self) -> sqlite3.Connection:
        try:
            return self._idle.get_nowait()
        except Empty:
            return connect(self.path, "ro")

    def _drain(self) -> None:
        try:
            while True:
                self._idle.get_nowait().close()
        except Empty:
            pass


def connect(path: Path, mode: str) -> sqlite3.Connection:
    """A connection in autocommit with mode "ro", "rw" or "rwc"; it waits up to five seconds for another program."""
    return sqlite3.connect(
        f"{path.as_uri()}?mode={mode}", uri=True, timeout=5, isolation_level=None, check_same_thread=False
    )


ENGINE = (3, 38, 0)
"""The SQLite that a record wants: STRICT tables came with 3.37.0, and Python 3.11 ships 3.38 or newer."""


def engine() -> str:
    """SQLite's version and how it was built, in one line."""
    db = sqlite3.connect(":memory:")
    try:
        built = [option for (option,) in db.execute("PRAGMA compile_options")]
    finally:
        db.close()
    return f"SQLite {sqlite3.sqlite_version}, {', '.join(option for option in built if option.startswith(('THREADSAFE', 'SECURE_DELETE', 'OMIT_', 'COMPILER'))) or 'built as usual'}"


def refuse_old_engine() -> None:
    """Raises RecordRefused where SQLite is older than a record needs, or was built for one thread only."""
    if sqlite3.sqlite_version_info < ENGINE or sqlite3.threadsafety == 0:
        wanted = ".".join(map(str, ENGINE))
        raise RecordRefused(
            f"This Python brings {engine()}. A record needs SQLite {wanted} or newer, built for threads: install a newer Python."
        )


def named(db: sqlite3.Connection, path: Path) -> bytes:
    """The record's 16-byte id. Raises RecordRefused where the file is no record, or one of a later version."""
    application = db.execute("PRAGMA application_id").fetchone()[0]
    version = db.execute("PRAGMA user_version").fetchone()[0]
    if application != APPLICATION:
        raise RecordRefused(f"{path.name} is not a record. Give the path of a record.db.")
    if version not in VERSIONS:
        raise RecordRefused(
            f"{path.name} is a record of version {version}; this program reads versions {VERSIONS[0]} and {VERSIONS[-1]}. Use the newer program."
        )
    row = db.execute("SELECT record_id FROM record").fetchone()
    if row is None:
        raise RecordRefused(
            f"{path.name} has lost its record id. Keep the file as it is and run `tapeseal record verify` on it."
        )
    return row[0]
