"""Keys of accuracy tests at the office, apart from those of places: by place, mode and kind. What one of them signs is refused at the desk."""

import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

from webapp.gate import keys
from webapp.gate.database import GateDatabase
from webapp.gate.keys import Enrolment
from webapp.gate.refusals import GateRefused
from webapp.packet.cose import key_id
from webapp.precinct.place.place import Place

TABLE = """CREATE TABLE IF NOT EXISTS enrolled_apart (    -- public keys whose figures reach no total. Rows are only ever closed, never removed
    kid          BLOB PRIMARY KEY,                    -- first 8 bytes of SHA-256 of the public key
    place        TEXT NOT NULL,
    mode         TEXT NOT NULL CHECK (mode IN ('live', 'practice')),
    kind         TEXT NOT NULL,                       -- of the place file: test
    public       BLOB NOT NULL,                       -- 32 bytes
    from_ms      INTEGER NOT NULL,                    -- ms UTC
    to_ms        INTEGER,                             -- NULL while it is in force
    replaced_by  BLOB,
    lost_at      INTEGER
) WITHOUT ROWID"""


def in_force(office: Path, place: Place) -> Enrolment | None:
    """The key of this place's test that is in force; None where there is none."""
    found = (row for row in enrolments(office) if (row.place, row.mode, row.to_ms) == (place.id, place.mode, None))
    return next(found, None)


def enrol(
    office: Path,
    place: Place,
    public: Ed25519PublicKey,
    now: int,
    replace: bool = False,
    lost: bool = False,
    also: Callable[[sqlite3.Connection], None] = lambda db: None,
) -> bytes:
    """Puts the public key of a test into force from `now` (ms UTC), and `also` what goes with it; returns its name (kid).

    As `keys.enrol`, in a table of its own. Raises GateRefused where another key is in force that is not to be
    replaced.
    """
    kid = key_id(public)
    with closing(GateDatabase(keys.file_of(office))) as drawer, drawer.change() as db:
        db.execute(TABLE)
        old = db.execute(
            "SELECT kid FROM enrolled_apart WHERE place = ? AND mode = ? AND kind = ? AND to_ms IS NULL",
            (place.id, place.mode, place.kind),
        ).fetchone()
        if old and not replace:
            raise GateRefused(keys.enrolled_already(place, old[0]))
        if old:
            db.execute(
                "UPDATE enrolled_apart SET to_ms = ?, replaced_by = ?, lost_at = ? WHERE kid = ?",
                (now, kid, now if lost else None, old[0]),
            )
        db.execute(
            "INSERT INTO enrolled_apart VALUES (?, ?, ?, ?, ?, ?, NULL, NULL, NULL)",
            (kid, place.id, place.mode, place.kind, public.public_bytes_raw(), now),
        )
        also(db)
    return kid


def enrolments(office: Path) -> tuple[Enrolment, ...]:
    """Every key of a test that the office enrolled, oldest first; none in a folder from before there were any."""
    if not keys.rows(office, "SELECT 1 FROM sqlite_schema WHERE name = 'enrolled_apart'"):
        return ()
    columns = "kid, place, mode, public, from_ms, to_ms, replaced_by, lost_at"
    return tuple(
        Enrolment(*row) for row in keys.rows(office, f"SELECT {columns} FROM enrolled_apart ORDER BY from_ms, kid")
    )
