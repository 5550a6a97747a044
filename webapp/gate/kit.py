"""The locked file with which a spare laptop becomes a place's own: a second key, a pepper, a certificate and the second codes of its people.

    kit = ["tapeseal/kit/1", place, mode, place_digest, salt, nonce, ciphertext]

The code that opens it is printed on the spare sheet, which is sealed in the place's case. Neither is worth anything
without the other. Key: argon2id (RFC 9106) of the 12 symbols of the code, 128 MiB, 3 passes, 1 lane; AES-256-GCM
(NIST SP 800-38D) over the contents, with the first four items as associated data. The code has 60 random bits, and
each try costs a third of a second: nobody can guess it.
"""

import secrets
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from argon2.low_level import Type, hash_secret_raw
from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey
from cryptography.hazmat.primitives.ciphers.aead import AESGCM

from webapp import plain_file
from webapp.gate import slip_code
from webapp.gate.refusals import GateRefused, WrongCode
from webapp.record import cbor

FORMAT = "tapeseal/kit/1"
MEMORY_KIB = 128 * 1024  # tests alone may lower it, to be quick
LIMIT = 64 * 1024  # bytes of a kit
_OUTER = (str, str, str, bytes, bytes, bytes, bytes)
_LENGTHS = ((3, 32), (4, 16), (5, 12))
_KEYS = frozenset({"own", "office", "pepper"})
_TLS = frozenset({"tls_key", "tls_leaf", "authority"})


@dataclass(frozen=True, slots=True)
class Kit:
    """What is in it. keys: rows for the gate of the spare's folder, by name. slips: verifier of each person's second code."""

    place: str
    mode: str
    digest: bytes
    keys: Mapping[str, bytes] = field(repr=False)
    slips: Mapping[str, str] = field(repr=False)

    @property
    def office(self) -> Ed25519PublicKey:
        """The key that must have signed the place file."""
        return Ed25519PublicKey.from_public_bytes(self.keys["office"])

    @property
    def own(self) -> Ed25519PrivateKey:
        return Ed25519PrivateKey.from_private_bytes(self.keys["own"])


def locked(kit: Kit, code: str) -> bytes:
    """The kit's bytes, to be opened with this code alone."""
    head: list[Any] = [FORMAT, kit.place, kit.mode, kit.digest]
    salt, nonce = secrets.token_bytes(16), secrets.token_bytes(12)
    inside = cbor.encode({"keys": dict(kit.keys), "slips": dict(kit.slips)})
    return cbor.encode([*head, salt, nonce, AESGCM(key_of(code, salt)).encrypt(nonce, inside, cbor.encode(head))])


def named_in(data: bytes, name: str = "This file") -> tuple[str, str, bytes]:
    """Place, mode and place file's digest that a kit is for, which anybody may read. Raises GateRefused where it is no kit."""
    return tuple(_outer(data, name)[1:4])  # type: ignore[return-value]


def opened(data: bytes, code: str, name: str = "This file") -> Kit:
    """What the kit holds. Raises GateRefused where it is none, where it was cut or changed, or where the code is another."""
    outer = _outer(data, name)
    symbols = slip_code.normal(code)
    if symbols is None:
        raise WrongCode(code_has_symbols())
    try:
        inside = cbor.decode(AESGCM(key_of(symbols, outer[4])).decrypt(outer[5], outer[6], cbor.encode(outer[:4])))
    except InvalidTag:
        raise WrongCode(
            f"The code does not open {name}: type it again from the spare sheet of {outer[1]}. If it is right, the file was cut or changed: take the kit from another copy."
        ) from None
    return _kit(outer, inside, name)


def read(path: Path) -> bytes:
    """The bytes of a kit's file. Raises GateRefused where it cannot be read."""
    try:
        return plain_file.read(path, LIMIT)
    except OSError as wrong:
        raise GateRefused(
            f"{path} cannot be read ({wrong.strerror}): give the kit that the office made for this place, a file that ends in .kit."
        ) from None


def _kit(outer: list[Any], inside: Any, name: str) -> Kit:
    keys, slips = (inside.get("keys"), inside.get("slips")) if type(inside) is dict else (None, None)
    if (
        type(keys) is not dict
        or type(slips) is not dict
        or not _KEYS <= set(keys) <= _KEYS | _TLS
        or not all(type(v) is bytes for v in keys.values())
    ):
        raise GateRefused(f"{name} opens, and lacks keys of this version: make a new kit at the office.")
    return Kit(outer[1], outer[2], outer[3], keys, slips)


def _outer(data: bytes, name: str) -> list[Any]:
    if (item := outer_list(data, FORMAT, _OUTER, _LENGTHS)) is None:
        raise GateRefused(
            f"{name} is not a kit, or only part of one: give the whole file that the office made for this place, which ends in .kit."
        )
    return item


def outer_list(
    data: bytes, form: str, types: tuple[type, ...], lengths: tuple[tuple[int, int], ...]
) -> list[Any] | None:
    """What may be read of a locked file without its code: a list of these types, with these lengths by index; None where it is none of this form."""
    try:
        item = cbor.decode(data) if len(data) <= LIMIT else None
    except cbor.Malformed:
        return None
    if type(item) is not list or tuple(map(type, item)) != types or item[0] != form:
        return None
    return item if all(len(item[at]) == size for at, size in lengths) else None


def code_has_symbols() -> str:
    """The sentence that says what a code looks like, for people who typed something else."""
    return f"The code of the kit has {slip_code.LENGTH} letters and digits, as in 7K3M-0QXT-94HB: type it again from the spare sheet."


def key_of(code: str, salt: bytes) -> bytes:
    """The key that this code makes with this salt."""
    symbols = slip_code.normal(code) or ""
    return hash_secret_raw(
        symbols.encode(),
        salt,
        time_cost=3,
        memory_cost=MEMORY_KIB,
        parallelism=1,
        hash_len=32,
        type=Type.ID,
        version=19,
    )
