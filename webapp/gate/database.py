"""The one connection to `gate.db`: every part of the gate reads and writes through it, one thread at a time.

A change is on disk (WAL, synchronous FULL) before the call returns; deleted verifiers are overwritten. Whatever SQLite has to complain
of becomes the gate's own refusal. On a disk that takes nothing the gate is looked at from memory; each change first tries the file again.
"""

import sqlite3
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from webapp import database_image, plain_file
from webapp.gate.refusals import GateDiskRefused, GateRefused, of_the_disk, protected

SCHEMA = Path(__file__).with_name("schema.sql")


def prepare(path: Path) -> None:
    """Creates the gate's tables in this file; tables that are there stay. Only the file's owner may read it."""
    path = Path(path)
    if not path.exists():
        path.touch(mode=0o600)
    drawer = GateDatabase(path)
    try:
        with drawer.change() as db:
            for statement in SCHEMA.read_text(encoding="utf-8").split(";\n"):
                db.execute(statement)
    finally:
        drawer.close()


class GateDatabase:
    """`row` and `rows` read, `change` writes: all of its statements or none of them. `looking`: the disk takes nothing, and reads are from memory."""

    def __init__(self, path: Path):
        self.path = Path(path)
        if not self.path.is_file():
            raise GateRefused(
                f"{self.path.name} is not in the folder {self.path.parent.name}: enrol the place at the office, which makes it."
            )
        self._lock = threading.RLock()
        self.looking = False
        try:
            self._db = self._opened()
        except GateDiskRefused as wrong:
            self._db = image_of(self.path, wrong)
            self.looking = True

    def rows(self, sql: str, *values: Any) -> list[tuple[Any, ...]]:
        """Returns every row of a query. Raises GateRefused where the file cannot be read."""
        with self._lock, self._refusing():
            return self._db.execute(sql, values).fetchall()

    def row(self, sql: str, *values: Any) -> tuple[Any, ...] | None:
        """Returns the first row of a query, or None. Raises GateRefused where the file cannot be read."""
        with self._lock, self._refusing():
            return self._db.execute(sql, values).fetchone()

    @contextmanager
    def change(self) -> Iterator[sqlite3.Connection]:
        """One transaction; it is durable when the block has ended, and undone when the block raises."""
        with self._lock, self._refusing():
            if self.looking:
                file = self._opened()
                self._db.close()
                self._db, self.looking = file, False
            self._db.execute("BEGIN IMMEDIATE")
            try:
                yield self._db
                self._db.execute("COMMIT")
            except BaseException:
                if self._db.in_transaction:
                    self._db.execute("ROLLBACK")
                raise

    def _opened(self) -> sqlite3.Connection:
        if plain_file.what_ails(self.path) == "protected":
            raise protected(self.path)  # SQLite would open it for reading only, for good, and say nothing
        with self._refusing():
            db = sqlite3.connect(self.path, isolation_level=None, check_same_thread=False, timeout=5)
            try:
                for pragma in ("journal_mode = WAL", "synchronous = FULL", "foreign_keys = ON", "secure_delete = ON"):
                    db.execute(f"PRAGMA {pragma}")
                db.execute("SELECT 1 FROM sqlite_schema").fetchone()
            except BaseException:
                db.close()
                raise
        return db

    @contextmanager
    def _refusing(self) -> Iterator[None]:
        try:
            yield
        except sqlite3.Error as wrong:
            raise of_the_disk(wrong, self.path) from wrong

    def close(self) -> None:
        """Closes the connection; no other method may be called afterward."""
        with self._lock:
            self._db.close()


def image_of(path: Path, why: GateDiskRefused) -> sqlite3.Connection:
    """The gate of a disk that cannot be written, in memory, for reading only. Raises GateRefused where it cannot be read either."""
    try:
        return database_image.opened(database_image.read(path))
    except (OSError, sqlite3.Error) as wrong:
        raise why from wrong
