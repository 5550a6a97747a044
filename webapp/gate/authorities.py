"""What the office's `gate.db` holds of its certificate authorities, and of every certificate that it made for a place's laptop.

The authority's key is read here for the one who certifies, at the office; no function gives it to a place's folder.
"""

import sqlite3
from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, cast

from cryptography import x509
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat, load_der_private_key

from webapp.gate import keys
from webapp.gate.database import GateDatabase

SCHEMA = Path(__file__).with_name("schema_authority.sql")


@dataclass(frozen=True, slots=True)
class Authority:
    """A certificate authority of the office. domain: it can certify this name and those below it only. made: ms UTC."""

    domain: str
    made: int
    certificate: x509.Certificate
    key: ec.EllipticCurvePrivateKey = field(repr=False)


@dataclass(frozen=True, slots=True)
class Certified:
    """One certificate of a place's laptop; `made` ms UTC."""

    place: str
    mode: str
    made: int
    certificate: x509.Certificate


def authorities(office: Path) -> tuple[Authority, ...]:
    """Every authority of this office, the newest first."""
    rows = _rows(office, "SELECT domain, made, certificate, key FROM authorities ORDER BY made DESC, domain")
    return tuple(
        Authority(
            domain,
            made,
            x509.load_der_x509_certificate(der),
            cast(ec.EllipticCurvePrivateKey, load_der_private_key(key, None)),
        )
        for domain, made, der, key in rows
    )


def certified(office: Path, place: str, mode: str) -> tuple[Certified, ...]:
    """Every certificate made for this place's laptop, the newest first."""
    rows = _rows(office, "SELECT place, mode, made, certificate FROM certified ORDER BY made DESC, serial")
    return tuple(
        Certified(place, mode, row[2], x509.load_der_x509_certificate(row[3]))
        for row in rows
        if row[:2] == (place, mode)
    )


def make_tables(db: sqlite3.Connection) -> None:
    """The tables of authorities and certificates, where they are not there yet."""
    for statement in SCHEMA.read_text(encoding="utf-8").split(";\n"):
        db.execute(statement)


def writing(authority: Authority, made: Certified) -> Callable[[sqlite3.Connection], None]:
    """A function that writes both into the office's file, inside the caller's transaction."""

    def write(db: sqlite3.Connection) -> None:
        make_tables(db)
        secret = authority.key.private_bytes(Encoding.DER, PrivateFormat.PKCS8, NoEncryption())
        db.execute(
            "INSERT OR IGNORE INTO authorities VALUES (?, ?, ?, ?)",
            (authority.domain, authority.made, _der(authority.certificate), secret),
        )
        db.execute(
            "INSERT INTO certified VALUES (?, ?, ?, ?, ?)",
            (made.certificate.serial_number.to_bytes(20), made.place, made.mode, made.made, _der(made.certificate)),
        )

    return write


def store(office: Path, authority: Authority, made: Certified) -> None:
    """Writes an authority and a certificate it made into the office's file, in a transaction of its own: for a certificate that is renewed."""
    with closing(GateDatabase(keys.file_of(office))) as drawer, drawer.change() as db:
        writing(authority, made)(db)


def _rows(office: Path, sql: str) -> list[tuple[Any, ...]]:
    """An office that has certified nothing yet has no such tables."""
    known = keys.rows(office, "SELECT 1 FROM sqlite_schema WHERE name = 'authorities'")
    return keys.rows(office, sql) if known else []


def _der(certificate: x509.Certificate) -> bytes:
    return certificate.public_bytes(Encoding.DER)
