"""Where a record's file is damaged outside its entries: pages that do not fit together, indexes that disagree with their rows.

SQLite's own integrity check finds it; what it says differs between versions, so only the page numbers and the names of indexes and
tables are taken from its sentences. A value that breaks a CHECK is not damage: a hand can write it, and the entry is named for it.
"""

import re
import sqlite3
from importlib.resources import files

DAMAGED = (sqlite3.DatabaseError, UnicodeDecodeError)
"""What reading a damaged file raises; the second, when a changed byte stands in what SQLite says about it."""

SCHEMAS = ("schema.sql", "schema_runs.sql")
"""What a record of version 1 has, and what one of version 2 has besides."""
_STEPS_AT_LEAST, _STEPS_A_BYTE, _LOOK_EVERY = 200_000, 10, 10_000
_PAGE = re.compile(r"\bpage (\d+)", re.IGNORECASE)
_INDEX = re.compile(r"\bindex (\w+)")
_COLUMN = re.compile(r"\b(?:value in|in) (\w+)\.\w+")


def first_damaged_page(db: sqlite3.Connection) -> int | None:
    """The lowest page (from 1) that SQLite finds wrong, by the index or table's first page where it names no page; None if whole."""
    try:
        said = [
            str(row[0], "utf-8", "replace") if isinstance(row[0], bytes) else str(row[0])
            for row in db.execute("PRAGMA integrity_check")
        ]
        roots = {_text(name): page for name, page in db.execute("SELECT name, rootpage FROM sqlite_master")}
    except DAMAGED:
        return 1
    pages = [_page(sentence, roots) for line in said for sentence in line.splitlines() if _is_damage(sentence)]
    return min(pages, default=None)


def foreign_schema(db: sqlite3.Connection) -> bool:
    """Whether what the check reads are other tables or indexes than a record's own. Asked before anything is read from them: a view in the place
    of a table may have no end, and an index may hide any work."""
    db.execute("PRAGMA trusted_schema = OFF")
    db.execute("PRAGMA cell_size_check = ON")
    wanted = {row for row in _wanted(db) if row[0] in ("table", "index")}
    found = {tuple(map(_text, row)) for row in db.execute(_GUARDS) if _text(row[0]) != "trigger"}
    tables = {row for row in wanted if row[0] == "table"}
    return not tables <= found <= wanted


def limited(db: sqlite3.Connection, size: int) -> None:
    """End whatever takes far longer than a whole record of so many bytes: then a statement raises `interrupted`. A row of a record takes some
    40 bytes at the least, and no look at it a hundred steps of SQLite's machine."""
    steps = iter(range((_STEPS_AT_LEAST + _STEPS_A_BYTE * size) // _LOOK_EVERY))
    db.set_progress_handler(lambda: next(steps, None) is None, _LOOK_EVERY)


def guards_differ(db: sqlite3.Connection) -> bool:
    """Whether tables, indexes or triggers are not those that every record of this version has."""
    return {tuple(map(_text, row)) for row in db.execute(_GUARDS)} != _wanted(db)


def _wanted(db: sqlite3.Connection) -> set[tuple[str, ...]]:
    """Type, name, table and text of everything that a record of this one's version is made with."""
    fresh = sqlite3.connect(":memory:")
    for name in SCHEMAS[: db.execute("PRAGMA user_version").fetchone()[0]]:
        fresh.executescript(files("webapp.record").joinpath(name).read_text("utf-8"))
    wanted = {tuple(map(_text, row)) for row in fresh.execute(_GUARDS)}
    fresh.close()
    return wanted


_GUARDS = "SELECT type, name, tbl_name, sql FROM sqlite_master WHERE name NOT LIKE 'sqlite_%'"


def _is_damage(sentence: str) -> bool:
    return sentence != "ok" and not sentence.startswith(("***", "CHECK constraint"))


def _page(sentence: str, roots: dict[str, int]) -> int:
    found = _PAGE.search(sentence)
    if found:
        return int(found[1])
    named = _INDEX.search(sentence) or _COLUMN.search(sentence)
    return roots.get(named[1], 1) if named else 1


def _text(value: object) -> str:
    return value.decode("utf-8", "replace") if isinstance(value, bytes) else str(value)
