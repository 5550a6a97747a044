"""Hands that change a closed record behind the product's back: they drop the triggers first, as anyone with the file can."""

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from webapp.record.chain import first_head, leaf, next_head
from webapp.record.entry import Entry


@contextmanager
def opened(path: Path) -> Iterator[sqlite3.Connection]:
    """The file with its triggers out of the way; they are put back, so that the guards look as they should."""
    with closing(sqlite3.connect(path)) as db:
        triggers = db.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").fetchall()
        for name, _ in triggers:
            db.execute(f"DROP TRIGGER {name}")
        yield db
        for _, sql in triggers:
            db.execute(sql)
        db.commit()


def flip(db: sqlite3.Connection, table: str, column: str, number: int, at: int, by: int = 1) -> None:
    """Change one byte of one value; texts are changed as their bytes."""
    value = bytearray(
        db.execute(f"SELECT CAST({column} AS BLOB) FROM {table} WHERE number = ?", (number,)).fetchone()[0]
    )
    value[at] ^= by
    db.execute(
        f"UPDATE {table} SET {column} = {'CAST(? AS TEXT)' if column in ('text', 'name', 'tablet') else '?'} WHERE number = ?",
        (bytes(value), number),
    )


def rows(db: sqlite3.Connection) -> list[tuple]:
    return db.execute("SELECT number, entry, prev, head, tablet, seq, id FROM entries ORDER BY number").fetchall()


def lay(db: sqlite3.Connection, kept: list[tuple]) -> None:
    """Replace all rows by these."""
    db.execute("DELETE FROM entries")
    db.executemany(
        "INSERT INTO entries (number, entry, prev, head, tablet, seq, id) VALUES (?, ?, ?, ?, ?, ?, ?)", kept
    )


def chained(record_id: bytes, entries: list[bytes]) -> list[tuple]:
    """Rows for these entries' bytes with heads that hold: what a person does who knows the format and has the file alone."""
    head, made = first_head(record_id), []
    for number, data in enumerate(entries, 1):
        before, head = head, next_head(head, number, leaf(data))
        entry = Entry.unpack(data)
        made.append((number, data, before, head, entry.tablet, entry.seq, entry.id))
    return made
