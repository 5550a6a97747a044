"""Writes a restored record: every entry byte for byte as it was, then the one that begins the next run.

The file is a draft until it has been checked; only then it takes its name, and it never takes the place of another.
"""

import os
import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import closing, contextmanager
from dataclasses import dataclass, replace
from importlib.resources import files
from pathlib import Path
from typing import Any
from uuid import uuid4

from webapp import plain_file
from webapp.record import cbor
from webapp.record.backup import StoredEntry
from webapp.record.chain import first_head, leaf, next_head
from webapp.record.entry import RESTORED, Entry, Malformed
from webapp.record.reader import connect
from webapp.record.refusals import SAID, RecordRefused, in_words

JUMP = 10_000
ROOM = 5_000
"""At least this many numbers lie between the highest that anybody knows of and the first of the next run."""
SCHEMAS = ("schema.sql", "schema_runs.sql")
AT_ONCE = 500  # entries read together
_PLACED = (int, bytes, int, int, bytes, str, dict, int, int, int, int, str, int)
_ADD_WORDS = "INSERT INTO words (line, text, salt, name, number) VALUES (?, ?, ?, ?, ?)"
_ADD = "INSERT INTO entries (number, entry, prev, head, tablet, seq, id) VALUES (?, ?, ?, ?, ?, ?, ?)"


@dataclass(frozen=True, slots=True)
class Restored:
    """A record that was laid down as a draft: its new run, its first entry and head, and how far the clock is behind (ms, 0 if not)."""

    draft: Path
    entry: Entry
    head: bytes
    behind: int


def first_of_next_run(known: int) -> int:
    """The first number of the next run, where `known` is the highest number that anybody knows of: 412 gives 10001, 10077 gives 20001."""
    return ((known + ROOM) // JUMP + 1) * JUMP + 1


def lay_down(path: Path, record_id: bytes, stored: Sequence[StoredEntry], facts: dict[str, Any], now: int) -> Restored:
    """Write the draft of the record that is to be at `path`: these entries and then `restored`, whose body is made of them and of `facts`.

    facts: seen (a number or None), source, stick (16 bytes or None), torn (bytes), laptop, kit. now: the laptop's clock, ms UTC.
    Raises RecordRefused where something is at `path` already or an entry cannot be taken.
    """
    draft = path.with_name(path.name + "-restoring")
    if path.exists():
        raise RecordRefused(f"There is a record at {path} already, and none is overwritten: choose a new folder.")
    with _new_file(draft, record_id, SCHEMAS) as db:
        head, last = _add_all(db, record_id, stored)
        entry, head = _add_restored(db, record_id, last, head, facts, now)
    return Restored(draft, entry, head, max(last.kept - now, 0) if last else 0)


def lay_copy(path: Path, record_id: bytes, stored: Sequence[StoredEntry]) -> None:
    """Write these entries as a record's file of their own, to be looked at or checked; nothing is added. Raises RecordRefused."""
    with _new_file(path, record_id, SCHEMAS[: 2 if any(one.number > ROOM for one in stored) else 1]) as db:
        _add_all(db, record_id, stored)


@contextmanager
def _new_file(path: Path, record_id: bytes, schemas: Sequence[str]) -> Iterator[sqlite3.Connection]:
    """A new record's file in one transaction; it is gone again where the block raises."""
    path.unlink(missing_ok=True)
    try:
        with closing(connect(path.resolve(), "rwc")) as db:
            db.execute("PRAGMA synchronous = FULL")
            for name in schemas:
                db.executescript("BEGIN;" + files("webapp.record").joinpath(name).read_text("utf-8") + "COMMIT;")
            db.execute("BEGIN IMMEDIATE")
            db.execute("INSERT INTO record (one, record_id) VALUES (1, ?)", (record_id,))
            yield db
            db.execute("COMMIT")
    except BaseException as wrong:
        path.unlink(missing_ok=True)
        if isinstance(wrong, (*SAID, OSError)):
            raise in_words(wrong, path) from wrong
        if isinstance(wrong, (Malformed, cbor.Malformed)):
            raise RecordRefused(
                f"An entry cannot be read ({wrong}): nothing was laid down. Keep the stick, and try another copy."
            ) from wrong
        raise


def settle(restored: Restored, path: Path) -> None:
    """Gives the checked draft its final name. Raises RecordRefused where a record is there already."""
    if path.exists():
        raise RecordRefused(f"There is a record at {path} already, and none is overwritten: choose a new folder.")
    os.rename(restored.draft, path)
    plain_file.settle(path.parent)


def _add_all(db: sqlite3.Connection, record_id: bytes, stored: Sequence[StoredEntry]) -> tuple[bytes, Entry | None]:
    """Add each entry as it is stored; the head after the last, and the last with the latest clock of all in its `kept`.

    The values are read many at a time, as the checker reads them; their form is the checker's matter, who looks at the draft afterwards.
    """
    head, before, line, kept = first_head(record_id), 0, 0, 0
    for at in range(0, len(stored), AT_ONCE):
        many = stored[at : at + AT_ONCE]
        for one, items in zip(many, cbor.decode_all([one.data for one in many]), strict=True):
            run, number, id, kind, body, own, tablet, seq = _placed(items)
            if kind == RESTORED and "first" in body:
                db.execute("INSERT INTO runs (run, first, last, head) VALUES (?, ?, ?, ?)", (run, number, before, head))
            db.execute(_ADD, (number, one.data, head, one.head, tablet, seq, id))
            for name, salt, text in one.words:
                line += 1
                db.execute(_ADD_WORDS, (line, text, salt, name, number))
            head, before, kept = one.head, number, max(kept, own)  # a ballot's clock is coarse and may lie before
    return head, replace(Entry.unpack(stored[-1].data), kept=kept) if stored else None


def _placed(items: Any) -> tuple[int, int, bytes, str, dict[str, Any], int, str, int]:
    """Run, number, id, kind, body, clock, tablet and line of an entry's items. Raises Malformed where they are no entry's."""
    if type(items) is not list or tuple(map(type, items[:13])) != _PLACED:
        raise Malformed("an entry has other items")
    return items[2], items[3], items[4], items[5], items[6], items[9], items[11], items[12]


def _add_restored(
    db: sqlite3.Connection, record_id: bytes, last: Entry | None, head: bytes, facts: dict[str, Any], now: int
) -> tuple[Entry, bytes]:
    number, run = (last.number, last.run) if last else (0, 1)
    first = first_of_next_run(max(number, facts.get("seen") or 0))
    body = {"from_run": run, "last": number, "head": head, "first": first, **facts}
    kept = max(now, last.kept if last else 0)
    entry = Entry(record_id, run + 1, first, uuid4().bytes, RESTORED, body, now, now, kept, 0, "L", 0, None, ())
    data = entry.pack()
    cbor.decode(data)
    after = next_head(head, first, leaf(data))
    db.execute("INSERT INTO runs (run, first, last, head) VALUES (?, ?, ?, ?)", (run + 1, first, number, head))
    db.execute(_ADD, (first, data, head, after, "L", 0, entry.id))
    return entry, after
