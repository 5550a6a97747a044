"""The checker: whether a record is whole, and if not, which entry is the first that is wrong, and how.

It shares with the writer only the hash (`chain`) and the reader of bytes (`cbor`): a slip in the ledger cannot hide itself here. It
works on a copy and never opens the file it is given. What the record alone cannot show (a cut-off end, a history rewritten from
some entry on with new heads) shows against what others hold: check words on paper, or length and head in a packet.
"""

import sqlite3
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path

from webapp.record import cbor
from webapp.record.audit_damage import DAMAGED, first_damaged_page, foreign_schema, guards_differ, limited
from webapp.record.audit_form import EntryForm
from webapp.record.audit_links import ROWS, Wrong, links
from webapp.record.audit_snapshot import Snapshot, UnusableFile, lost_commits, snapshot
from webapp.record.audit_witnesses import CopySlip, against
from webapp.record.chain import first_head

__all__ = ["UnusableFile", "Verdict", "verify"]


@dataclass(frozen=True, slots=True)
class Verdict:
    """What the check found. entries: how many rows the record has. head: the 32 bytes after the last entry that is right, None where
    not even the record's id can be read. first_wrong: the number of the first wrong entry. says: sentences for a person."""

    ok: bool
    entries: int
    head: bytes | None
    first_wrong: int | None
    says: str


_LOST = (
    "",
    "The last that was written to the -wal file beside the record, after entry {number}, cannot be read. If the power failed while it was "
    "written, it never had a number: start the program once, stop it, and check again. Else the file was changed.",
    "The -wal file beside the record is damaged: what was kept after entry {number} cannot be read. Take the later entries from the backup "
    "and the tablets.",
)


_FOREIGN = (
    "The file is damaged outside the entries, first at page 1: its tables are not those of a record, and nothing was read from them. "
    "Work on a copy; take the entries from the backup."
)


@dataclass(slots=True)
class _Walk:
    """How far the check came: the last right entry, its head, the heads that others ask for, and what stopped it."""

    wanted: frozenset[int]
    number: int = 0
    head: bytes | None = None
    rows: int = 0
    known: dict[int, bytes] = field(default_factory=dict)
    wrong: Wrong | None = None
    notes: tuple[str, ...] = ()
    held: str = ""
    page: int | None = None


def verify(
    path: str | Path,
    expect: Sequence[tuple[int, str]] = (),
    *,
    heads: Sequence[tuple[int, bytes]] = (),
    coarse: frozenset[str] = frozenset(),
    quick: bool = False,
) -> Verdict:
    """Check the record at `path`. Raises Unusable where there is no record to check.

    expect: (number, check words) as copied onto paper. heads: (length, 32-byte head) as a packet states them. coarse: the kinds whose
    times must be quarter hours. quick: chain and links alone, without form, signers, words and the file's pages.
    """
    walk = _Walk(frozenset(number for number, _ in (*expect, *heads)))
    with snapshot(Path(path)) as copy, ThreadPoolExecutor(1) as beside:
        pages, size = None, copy.path.stat().st_size + len(copy.wal)
        db = _opened(copy.path)
        try:
            # Before anyone else opens the copy: the answer counts the frames that SQLite takes from the -wal.
            lost = lost_commits(copy.wal, max(db.execute("PRAGMA wal_checkpoint(PASSIVE)").fetchone()[1], 0))
            if foreign_schema(db):
                return Verdict(False, 0, None, None, _FOREIGN)
            limited(db, size)
            pages = None if quick else beside.submit(_damage, copy.path, size)
            _through(walk, db, coarse, quick)
            page = pages.result() if pages else None
            if page is None:
                _hold_against(walk, expect, heads, lost)
                if walk.wrong is None:
                    page = 1 if guards_differ(db) else walk.page
        except DAMAGED:
            page = (pages.result() if pages else None) or 1
        except CopySlip as slip:
            return Verdict(False, walk.rows, walk.head, None, str(slip))
        finally:
            db.close()
        return _verdict(walk, page, copy)


def _opened(path: Path) -> sqlite3.Connection:
    db = sqlite3.connect(path, isolation_level=None)
    db.text_factory = bytes  # a changed byte may leave no UTF-8
    return db


def _damage(path: Path, size: int) -> int | None:
    """Checks the file's pages in a thread while the entries are read: SQLite works without Python's lock."""
    db = _opened(path)
    limited(db, size)
    try:
        return first_damaged_page(db)
    finally:
        db.close()


def _through(walk: _Walk, db: sqlite3.Connection, coarse: frozenset[str], quick: bool) -> None:
    """Walk from the first entry to the last or to the first wrong one."""
    record_id = _record_id(walk, db)
    walk.head = walk.known[0] = first_head(record_id)
    form = None if quick else EntryForm(_texts(db), coarse)
    wanted, number, right = walk.wanted, 0, walk.head
    try:
        for row, item, head in links(db.execute(ROWS), record_id, quick):
            if form:
                form.check(row, item)
            number, right = row[0], head
            walk.rows += 1
            if number in wanted:
                walk.known[number] = head
        walk.notes = tuple(form.notes()) if form else ()
    except Wrong as wrong:
        walk.wrong = wrong
    finally:
        walk.number, walk.head = number, right
    if walk.wrong:
        walk.rows = db.execute("SELECT count(*) FROM entries NOT INDEXED").fetchone()[0]


def _record_id(walk: _Walk, db: sqlite3.Connection) -> bytes:
    """The id that the file gives, unless its first entry and that entry's link agree on another: then the file's own is damaged."""
    row = db.execute("SELECT record_id FROM record").fetchone()
    filed = row[0] if row and type(row[0]) is bytes else b""
    first = db.execute("SELECT entry, prev FROM entries NOT INDEXED ORDER BY number LIMIT 1").fetchone()
    if first and first_head(filed) != first[1]:
        try:
            inside = cbor.decode(first[0])[1]
            if first_head(inside) == first[1]:
                walk.page = db.execute("SELECT rootpage FROM sqlite_master WHERE name = 'record'").fetchone()[0]
                return inside
        except (cbor.Malformed, TypeError, LookupError):
            pass  # the walk will name the first entry
    return filed


def _texts(db: sqlite3.Connection) -> dict[int, dict[str, tuple[bytes, bytes]]]:
    texts: dict[int, dict[str, tuple[bytes, bytes]]] = {}
    for number, name, salt, text in db.execute("SELECT number, name, salt, text FROM words NOT INDEXED ORDER BY line"):
        if not type(name) is type(salt) is type(text) is bytes:
            raise sqlite3.DatabaseError("a row of words has lost a column")
        beside = texts.setdefault(number, {})
        name = name.decode("utf-8", "replace")
        # A second text of one name cannot be right beside the first: let it stand under a name that no entry gives.
        beside[name if name not in beside else f"{name} (again)"] = (salt, text)
    return texts


def _hold_against(
    walk: _Walk, expect: Sequence[tuple[int, str]], heads: Sequence[tuple[int, bytes]], lost: int
) -> None:
    """Compares with paper and packet: what is before the first wrong entry, or all of it where nothing seemed wrong."""
    if walk.wrong is None and lost:
        walk.wrong = Wrong(walk.number + 1, _LOST[lost].format(number=walk.number))
    before = walk.number + 1 if walk.wrong else float("inf")
    try:
        walk.held = against(
            [e for e in expect if e[0] < before], [h for h in heads if h[0] < before], walk.known, walk.number
        )
    except Wrong as earlier:
        walk.wrong = earlier


def _verdict(walk: _Walk, page: int | None, copy: Snapshot) -> Verdict:
    if page is not None:
        besides = f" Besides: {walk.wrong.says}" if walk.wrong else ""
        says = f"The file is damaged outside the entries, first at page {page}. Work on a copy; take the entries from the backup.{besides}"
        return Verdict(False, walk.rows, walk.head, None, says)
    if walk.wrong:
        return Verdict(False, walk.rows, walk.head, walk.wrong.number, walk.wrong.says)
    told = ["The record has no entries yet." if not walk.rows else f"All {walk.rows} entries agree with their heads." if walk.rows > 1
            else "The one entry agrees with its head."]  # fmt: skip
    if copy.torn:
        told.append(
            "Its -wal file is missing: the record was copied while it was open, and later entries may be there. Copy both files."
        )
    if copy.hot:
        told.append("Part of it is still in its -wal file: keep the two together.")
    return Verdict(True, walk.rows, walk.head, None, " ".join((*told, *filter(None, [walk.held]), *walk.notes)))
