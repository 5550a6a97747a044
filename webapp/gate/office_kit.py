"""The office's own locked file: with it another laptop becomes the office's desk. It is kept in the safe, its code on a sheet in another place.

    kit = ["tapeseal/office-kit/1", office, salt, nonce, ciphertext]

Locked as a place's kit is (`kit.py`). Inside: {"keys": {"own", "pepper", and of further desks "tls_key", "tls_leaf",
"authority"}, "authorities": [[domain, made, certificate, key] ...], "slips": {person: verifier}}.
"""

import secrets
import sqlite3
from collections.abc import Mapping, Sequence
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from cryptography.hazmat.primitives.ciphers.aead import AESGCM

from webapp.gate import authorities, keys, kit, slip_code, verifier
from webapp.gate.database import GateDatabase
from webapp.gate.keys import FolderIdentity
from webapp.gate.refusals import GateRefused, WrongCode
from webapp.record import cbor

FORMAT = "tapeseal/office-kit/1"
TLS = ("tls_key", "tls_leaf", "authority")  # of further desks, where the office has a host
_OUTER = (str, str, bytes, bytes, bytes)
_LENGTHS = ((2, 16), (3, 12))


@dataclass(frozen=True, slots=True)
class OfficeKit:
    """What is in it: the office's key and pepper by name, its authorities as rows, the verifier of each second code."""

    office: str
    keys: Mapping[str, bytes] = field(repr=False)
    authorities: Sequence[Sequence[object]] = field(repr=False)
    slips: Mapping[str, str] = field(repr=False)

    @property
    def public(self) -> bytes:
        """The office's public key, 32 bytes."""
        return Ed25519PrivateKey.from_private_bytes(self.keys["own"]).public_key().public_bytes_raw()


def mint(office: Path, people: Sequence[str]) -> tuple[OfficeKit, dict[str, str]]:
    """Makes the kit of this office and a second code for each of these people; the codes are given out this once."""
    own, pepper = keys.office_key(office).private_bytes_raw(), secrets.token_bytes(32)
    codes = {person: slip_code.mint() for person in people}
    slips = {person: verifier.make(pepper, code.replace("-", "")) for person, code in codes.items()}
    there = keys.rows(office, "SELECT 1 FROM sqlite_schema WHERE name = 'authorities'")
    rows = keys.rows(office, "SELECT * FROM authorities ORDER BY made, domain") if there else []
    desks = {name: value for name in TLS if (value := keys.held(office, name))}
    secret = {"own": own, "pepper": pepper, **desks}
    return OfficeKit(keys.whose(office).id, secret, [list(row) for row in rows], slips), codes


def locked(found: OfficeKit, code: str) -> bytes:
    """The kit's bytes, to be opened with this code alone."""
    head, salt, nonce = [FORMAT, found.office], secrets.token_bytes(16), secrets.token_bytes(12)
    inside = {
        "keys": dict(found.keys),
        "authorities": [list(row) for row in found.authorities],
        "slips": dict(found.slips),
    }
    sealed = AESGCM(kit.key_of(code, salt)).encrypt(nonce, cbor.encode(inside), cbor.encode(head))
    return cbor.encode([*head, salt, nonce, sealed])


def named_in(data: bytes, name: str) -> str:
    """The office that a kit is for, which anybody may read. Raises GateRefused where it is no office's kit."""
    return str(_outer(data, name)[1])


def opened(data: bytes, code: str, name: str) -> OfficeKit:
    """What the kit holds. Raises GateRefused where it is none, where it was cut or changed, or where the code is another."""
    outer, symbols = _outer(data, name), slip_code.normal(code)
    if symbols is None:
        raise WrongCode(kit.code_has_symbols())
    try:
        inside = cbor.decode(AESGCM(kit.key_of(symbols, outer[2])).decrypt(outer[3], outer[4], cbor.encode(outer[:2])))
        return OfficeKit(outer[1], inside["keys"], inside["authorities"], inside["slips"])
    except InvalidTag:
        raise WrongCode(
            f"The code does not open {name}: type it again from the office's spare sheet. If it is right, the file was cut or changed: take the kit from another copy."
        ) from None
    except (KeyError, TypeError):
        raise GateRefused(f"{name} opens, and lacks keys of this version: make a new kit at the office.") from None


def lay_down(folder: Path, found: OfficeKit) -> None:
    """Make the gate of the new office folder out of its kit."""
    keys.make(folder, FolderIdentity("office", found.office, None), found.keys, found.slips)
    with closing(GateDatabase(keys.file_of(folder))) as gate, gate.change() as db:
        authorities.make_tables(db)
        _add(db, found.authorities)


def _add(db: sqlite3.Connection, rows: Sequence[Sequence[object]]) -> None:
    db.executemany("INSERT INTO authorities VALUES (?, ?, ?, ?)", [tuple(row) for row in rows])


def lay_down_fresh(folder: Path, office: str, before: bytes, earlier: bytes | None = None) -> None:
    """Make a gate without a kit: a new key for the office; before: its public key until now, whose place files still hold. earlier: one more
    such key, where a desk apart is made of an office that lost one."""
    rows = {
        "own": Ed25519PrivateKey.generate().private_bytes_raw(),
        "pepper": secrets.token_bytes(32),
        keys.BEFORE: before,
        **({keys.EARLIER: earlier} if earlier else {}),
    }
    keys.make(folder, FolderIdentity("office", office, None), rows, {})


def _outer(data: bytes, name: str) -> list[Any]:
    if (item := kit.outer_list(data, FORMAT, _OUTER, _LENGTHS)) is None:
        raise GateRefused(
            f"{name} is not a kit of an office, or only part of one: give the whole file that `tapeseal office DIR --make-kit` wrote."
        )
    return item
