"""Gives what a second copy of a record is made from: its entries as they are stored, with their words, and the whole file at one moment.

Each read opens a connection of its own and closes it: a copy to a slow disk holds nothing of the record meanwhile.
"""

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path

from webapp.record.audit_damage import foreign_schema, limited
from webapp.record.reader import APPLICATION, connect, named
from webapp.record.refusals import SAID, RecordRefused, in_words

Words = tuple[tuple[str, bytes, str], ...]
"""(name, salt of 16 bytes, text), in the order in which they were kept."""


@dataclass(frozen=True, slots=True)
class StoredEntry:
    """One entry as it is stored: its number, the 32-byte head after it, its bytes and its free words."""

    number: int
    head: bytes
    data: bytes
    words: Words = ()


def stored_after(path: Path, number: int, most: int = 500) -> list[StoredEntry]:
    """The next entries of the record at `path` with numbers above `number`, at most `most`. Raises RecordRefused."""
    try:
        with _looking(path) as db:
            db.execute("BEGIN")
            rows = db.execute(
                "SELECT number, head, entry FROM entries WHERE number > ? ORDER BY number LIMIT ?", (number, most)
            ).fetchall()
            words = _words(db, rows[0][0], rows[-1][0]) if rows else {}
            return [StoredEntry(n, head, data, tuple(words.get(n, ()))) for n, head, data in rows]
    except SAID as wrong:
        raise in_words(wrong, path, keeping=False) from wrong


def heads_of(path: Path) -> dict[int, bytes]:
    """The head after each entry of the record at `path`, by number. Raises RecordRefused."""
    try:
        with _looking(path) as db:
            return dict(db.execute("SELECT number, head FROM entries"))
    except SAID as wrong:
        raise in_words(wrong, path, keeping=False) from wrong


def last_number(path: Path) -> int:
    """The number of the last entry of the record at `path`; 0 when it has none. Raises RecordRefused."""
    try:
        with _looking(path) as db:
            return db.execute("SELECT coalesce(max(number), 0) FROM entries").fetchone()[0]
    except SAID as wrong:
        raise in_words(wrong, path, keeping=False) from wrong


def record_id_of(path: Path) -> bytes:
    """The 16 bytes that name the record at `path`. Raises RecordRefused where it is none."""
    try:
        with _looking(path) as db:
            return named(db, path)
    except SAID as wrong:
        raise in_words(wrong, path, keeping=False) from wrong


def copy_whole(source: Path, target: Path) -> None:
    """Copies the record at one moment into the new file `target`, in the mode of a file at rest, so that it opens from a write-protected disk.

    In one step: in several, each new entry would start the copy again. Raises RecordRefused.
    """
    try:
        with _looking(source) as db, closing(sqlite3.connect(target)) as copy:
            db.set_progress_handler(None, 0)
            db.backup(copy)
            copy.execute("PRAGMA journal_mode = DELETE")
    except SAID as wrong:
        raise in_words(wrong, source, keeping=False) from wrong


@contextmanager
def _looking(path: Path) -> Iterator[sqlite3.Connection]:
    """A connection to the record at `path`, which may come from anywhere: its tables are looked at before anything is read out of them, and no look
    goes on for ever. Raises RecordRefused where it is no record."""
    file = path.resolve()
    with closing(connect(file, "ro")) as db:
        limited(db, sum(one.stat().st_size for one in (file, Path(f"{file}-wal")) if one.exists()))
        if db.execute("PRAGMA application_id").fetchone()[0] == APPLICATION and foreign_schema(db):
            raise RecordRefused(
                f"{path.name} has other tables than a record has: keep it as it is, and give another copy."
            )
        named(db, path)
        yield db


def _words(db: sqlite3.Connection, first: int, last: int) -> dict[int, list[tuple[str, bytes, str]]]:
    found: dict[int, list[tuple[str, bytes, str]]] = {}
    for number, name, salt, text in db.execute(
        "SELECT number, name, salt, text FROM words WHERE number BETWEEN ? AND ? ORDER BY line", (first, last)
    ):
        found.setdefault(number, []).append((name, salt, text))
    return found
