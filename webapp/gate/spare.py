"""The second set of keys of a place: made at enrolment and locked into its kit, taken out on a spare laptop, known at the office along with the first.

Both keys are in force, and each says which it is: what a spare laptop signs is proven, and the desk sees that it was
the spare's.
"""

import secrets
import sqlite3
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey

from webapp.gate import keys, signed_place_file, slip_code, verifier
from webapp.gate.keys import FolderIdentity
from webapp.gate.kit import Kit
from webapp.packet.cose import key_id
from webapp.precinct.place.place import Place

TABLE = """CREATE TABLE IF NOT EXISTS spares (        -- public keys in kits. Rows are only ever closed, never removed
    kid      BLOB PRIMARY KEY,                    -- first 8 bytes of SHA-256 of the public key
    place    TEXT NOT NULL,
    mode     TEXT NOT NULL CHECK (mode IN ('live', 'practice')),
    public   BLOB NOT NULL,                       -- 32 bytes
    from_ms  INTEGER NOT NULL,                    -- ms UTC
    to_ms    INTEGER                              -- NULL while it is in force
) WITHOUT ROWID"""


@dataclass(frozen=True, slots=True)
class Spare:
    """The public key of a place's kit, in force from `from_ms` (ms UTC) to `to_ms`, None while it is."""

    kid: bytes
    place: str
    mode: str
    public: bytes
    from_ms: int
    to_ms: int | None


def mint(place: Place, office: Ed25519PublicKey, tls: dict[str, bytes]) -> tuple[Kit, dict[str, str]]:
    """Makes a new kit for this place and the second code of each of its officials; the codes are given out this once. tls: rows of the certificate, or none."""
    own, pepper = Ed25519PrivateKey.generate(), secrets.token_bytes(32)
    codes = {official.id: slip_code.mint() for official in place.officials}
    slips = {person: verifier.make(pepper, code.replace("-", "")) for person, code in codes.items()}
    rows = {"own": own.private_bytes_raw(), "office": office.public_bytes_raw(), "pepper": pepper, **tls}
    return Kit(place.id, place.mode, place.digest, rows, slips), codes


def writing(place: Place, kit: Kit, now: int) -> Callable[[sqlite3.Connection], None]:
    """A function that writes the kit's public key into the office's file and closes the one before, inside the caller's transaction."""

    def write(db: sqlite3.Connection) -> None:
        public = kit.own.public_key()
        db.execute(TABLE)
        db.execute(
            "UPDATE spares SET to_ms = ? WHERE place = ? AND mode = ? AND to_ms IS NULL", (now, place.id, place.mode)
        )
        db.execute(
            "INSERT INTO spares VALUES (?, ?, ?, ?, ?, NULL)",
            (key_id(public), place.id, place.mode, public.public_bytes_raw(), now),
        )

    return write


def spares(office: Path) -> tuple[Spare, ...]:
    """Every kit's public key that the office ever made, oldest first; none in a folder from before there were kits."""
    if not keys.rows(office, "SELECT 1 FROM sqlite_schema WHERE name = 'spares'"):
        return ()
    return tuple(Spare(*row) for row in keys.rows(office, "SELECT * FROM spares ORDER BY from_ms, kid"))


def lay_down(folder: Path, place: Place, kit: Kit) -> None:
    """Make the gate of the spare's folder out of its kit."""
    keys.make(folder, FolderIdentity("place", place.id, place.mode), kit.keys, kit.slips)
    keys.settle(folder)


def lay_down_fresh(folder: Path, place: Place) -> None:
    """Make a gate without a kit: a key that no office knows, nobody's code, and which place file the record was opened with."""
    rows = {
        "own": Ed25519PrivateKey.generate().private_bytes_raw(),
        "pepper": secrets.token_bytes(32),
        signed_place_file.PINNED: place.digest,
    }
    keys.make(folder, FolderIdentity("place", place.id, place.mode), rows, {})
    keys.settle(folder)
