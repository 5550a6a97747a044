"""The public keys of places that an office enrolled, as one signed file that is kept with its record and goes onto its stick.

    list = ["tapeseal/office-keys/1", office, public b32, made ms, {table: [row ...]}, signature b64]

A row is as the office's `gate.db` has it: `enrolled`, `spares`, `enrolled_apart`, `certified`. Nothing of it is
secret. The signature is the office's Ed25519 over the deterministic CBOR of the first five items.
"""

import sqlite3
from collections.abc import Mapping, Sequence
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

from webapp import plain_file
from webapp.gate import apart, authorities, keys, spare
from webapp.gate.database import GateDatabase
from webapp.gate.refusals import GateRefused
from webapp.record import cbor

FORMAT, FILE = "tapeseal/office-keys/1", "keys.cbor"
LIMIT = 64 * 1024 * 1024
WIDTHS = {"enrolled": 8, "spares": 6, "enrolled_apart": 9, "certified": 5}


@dataclass(frozen=True, slots=True)
class PublicKeys:
    """What the list says. public: of the office, 32 bytes. made: ms UTC. tables: rows by table."""

    office: str
    public: bytes
    made: int
    tables: Mapping[str, Sequence[Sequence[Any]]]


def written(office: Path, now: int) -> Path:
    """Bcall the office's list up to what its gate holds (`now` ms UTC); the file. An unchanged list stays as it is."""
    file, own = office / FILE, keys.office_key(office)
    there = {row[0] for row in keys.rows(office, "SELECT name FROM sqlite_schema")}
    tables = {
        name: [list(row) for row in keys.rows(office, f"SELECT * FROM {name} ORDER BY 1")]
        for name in WIDTHS
        if name in there
    }
    if file.is_file() and (before := read(file)) and before.tables == tables:
        return file
    told = [FORMAT, keys.whose(office).id, own.public_key().public_bytes_raw(), now, tables]
    part = file.with_name(FILE + ".part")
    part.write_bytes(cbor.encode([*told, own.sign(cbor.encode(told))]))
    part.replace(file)
    return file


def read(file: Path) -> PublicKeys | None:
    """The list in this file; None where it is none, was cut or altered, or was signed by another key than it names."""
    try:
        item = cbor.decode(plain_file.read(file, LIMIT))
    except (OSError, cbor.Malformed):
        return None
    if type(item) is not list or tuple(map(type, item)) != (str, str, bytes, int, dict, bytes) or item[0] != FORMAT:
        return None
    if not all(WIDTHS.get(name) == len(row) for name, rows in item[4].items() for row in rows):
        return None
    try:
        Ed25519PublicKey.from_public_bytes(item[2]).verify(item[5], cbor.encode(item[:5]))
    except (InvalidSignature, ValueError):
        return None
    return PublicKeys(*item[1:5])


def lay_down(office: Path, found: PublicKeys) -> None:
    """Writes the rows into a new gate of the office. Raises GateRefused for a table that this version does not know."""
    with closing(GateDatabase(keys.file_of(office))) as gate, gate.change() as db:
        db.execute(spare.TABLE)
        db.execute(apart.TABLE)
        authorities.make_tables(db)
        for name, rows in found.tables.items():
            if name not in WIDTHS:
                raise GateRefused(
                    f"The list of keys has a table {name}, which this version does not know: use the newer program."
                )
            _insert(db, name, rows)


def _insert(db: sqlite3.Connection, name: str, rows: Sequence[Sequence[Any]]) -> None:
    marks = ", ".join("?" * WIDTHS[name])
    db.executemany(f"INSERT OR IGNORE INTO {name} VALUES ({marks})", [tuple(row) for row in rows])
