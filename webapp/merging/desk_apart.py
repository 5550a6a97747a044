"""`desk.cose`: by it the office says that a key is the key of one of its desks apart.

A COSE_Sign1 of the office over {"v", "id", "office", "mode", "key", "from"} in deterministic CBOR; it proves itself,
in whatever folder it is.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey

from webapp import plain_file
from webapp.gate.refusals import GateRefused
from webapp.merging.refusals import BundleRefused
from webapp.packet import cose
from webapp.record import cbor

VERSION, FILE, LIMIT = 1, "desk.cose", 4096
FOLDER = "desks"
"""Of the office's folder: a folder a desk, with its certificates and its bundles."""
_SHAPE = {"v": int, "id": str, "office": str, "mode": str, "key": bytes, "from": int}


@dataclass(frozen=True, slots=True)
class DeskApart:
    """One desk apart: id, the office's id, mode (live | practice), public key (32 bytes), in force from (ms UTC)."""

    id: str
    office: str
    mode: str
    key: bytes
    since: int

    @property
    def public(self) -> Ed25519PublicKey:
        return Ed25519PublicKey.from_public_bytes(self.key)

    @property
    def kid(self) -> bytes:
        """The key's name, 8 bytes."""
        return cose.key_id(self.public)


def sealed(desk: DeskApart, office: Ed25519PrivateKey) -> bytes:
    """The bytes of the certificate, signed by the office."""
    told = {
        "v": VERSION,
        "id": desk.id,
        "office": desk.office,
        "mode": desk.mode,
        "key": desk.key,
        "from": desk.since,
    }
    return cose.sign(cbor.encode(told), office, context(desk.mode))


def opened(data: bytes, office: Iterable[Ed25519PublicKey]) -> DeskApart:
    """The desk that these bytes certify, where one of these keys of the office signed them. Raises BundleRefused."""
    try:
        envelope = cose.taken_apart(data)
        told, kid = cbor.decode(envelope.payload), cose.named_key(envelope)
    except (cose.PacketRefused, cbor.Malformed):
        raise BundleRefused("its desk.cose cannot be read") from None
    desk = _desk(told)
    if desk is None:
        raise BundleRefused("its desk.cose is of a form that this version does not read")
    if not any(cose.key_id(key) == kid and cose.holds(envelope, key, context(desk.mode)) for key in office):
        raise BundleRefused(f"this office did not certify its desk {desk.id}")
    return desk


def unproven(data: bytes) -> DeskApart:
    """What a certificate says of itself, its signature unchecked. Raises BundleRefused."""
    try:
        desk = _desk(cbor.decode(cose.taken_apart(data).payload))
    except (cose.PacketRefused, cbor.Malformed):
        desk = None
    if desk is None:
        raise BundleRefused("its desk.cose cannot be read")
    return desk


def _desk(told: Any) -> DeskApart | None:
    if type(told) is not dict or {name: type(value) for name, value in told.items()} != _SHAPE:
        return None
    if told["v"] != VERSION or len(told["key"]) != 32 or told["mode"] not in ("live", "practice"):
        return None
    return DeskApart(told["id"], told["office"], told["mode"], told["key"], told["from"])


def context(mode: str) -> str:
    """The text that the signature covers in addition to the bytes."""
    return f"tapeseal/desk/1/{mode}"


def of_folder(folder: Path) -> DeskApart | None:
    """The desk whose folder this is; None where it is the office's own. Raises GateRefused where its desk.cose cannot be read."""
    path = Path(folder) / FILE
    if not path.exists():
        return None
    try:
        return unproven(plain_file.read(path, LIMIT))
    except OSError as wrong:
        raise GateRefused(f"{FILE} cannot be read ({wrong.strerror}): make the desk's folder again.") from None
    except BundleRefused as wrong:
        raise GateRefused(f"{FILE} is not what the office made ({wrong}): make the desk's folder again.") from None


def issued(office_folder: Path, office: Iterable[Ed25519PublicKey]) -> dict[str, list[DeskApart]]:
    """Every desk that this office certified, by id, each with its keys, the newest last. One that was altered is left out."""
    keys, found = tuple(office), dict[str, list[DeskApart]]()
    for path in sorted((Path(office_folder) / FOLDER).glob("*/*.cose")):
        try:
            desk = opened(plain_file.read(path, LIMIT), keys)
        except (OSError, BundleRefused):
            continue
        found.setdefault(desk.id, []).append(desk)
    return {name: sorted(rows, key=lambda one: (one.since, one.kid)) for name, rows in found.items()}
