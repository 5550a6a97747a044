"""The summary packet as bytes: two signed parts, the core and the remarks, sealed once and kept as they are.

`packet.cose` is a CBOR sequence (RFC 8742): the envelope of the core, then that of the remarks. The payload of each
is zlib (level 9) of deterministic CBOR; the contexts are `tapeseal/packet/1/live/0` and `.../1` (or `practice`). The
core holds the SHA-256 of the remarks' payload, and the packet's digest is the SHA-256 of the core's envelope: so the
digest names all of it.

Nothing is inflated before the signature is checked. Without a key, only the size limits protect memory from a
stranger's bytes.
"""

import hashlib
import zlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from webapp.packet.cose import (
    Keys,
    PacketRefused,
    UnknownKey,
    composed,
    holds,
    key_id,
    named_key,
    proven,
    sign,
    taken_apart,
    verify,
)
from webapp.record import cbor

__all__ = [
    "Keys",
    "Opened",
    "Packet",
    "PacketRefused",
    "UnknownKey",
    "core_digest",
    "key_id",
    "open_packet",
    "parts_of",
    "seal_packet",
    "sign",
    "verify",
]

PART_LIMIT = 48 * 1024  # bytes of one signed part: what 188 data codes and 63 spare ones hold
INFLATED_LIMIT = 256 * 1024  # bytes of a part once inflated
MODES = ("live", "practice")
NAMES = ("figures", "remarks")


@dataclass(frozen=True, slots=True)
class Packet:
    """A sealed packet: the bytes of its two parts, which are stored, drawn as codes and carried."""

    parts: tuple[bytes, bytes]

    @property
    def digest(self) -> bytes:
        """SHA-256 of the core's envelope, 32 bytes."""
        return hashlib.sha256(self.parts[0]).digest()

    @property
    def data(self) -> bytes:
        """The file `packet.cose`."""
        return b"".join(self.parts)


@dataclass(frozen=True, slots=True)
class Opened:
    """A packet that was read. `verified`: True, the signature holds; False, keys were given and none fits; None, no keys were given."""

    core: dict[str, Any]
    remarks: dict[str, Any]
    verified: bool | None
    kid: bytes
    digest: bytes
    mode: str
    file_digest: bytes = b""  # SHA-256 of both parts: of these very bytes it was read; b"" where no file was


def core_digest(core: Mapping[str, Any]) -> bytes:
    """SHA-256 of these figures as deterministic CBOR, 32 bytes: how a core that was keyed from paper, and signed by no key, is named."""
    return hashlib.sha256(cbor.encode(dict(core))).digest()


def context(mode: str, part: int) -> str:
    """The signing context (external_aad) of a part: `tapeseal/packet/1/MODE/PART`."""
    return f"tapeseal/packet/1/{mode}/{part}"


def seal_packet(core: Mapping[str, Any], remarks: Mapping[str, Any], key: Ed25519PrivateKey, mode: str) -> Packet:
    """Deflate and sign both parts; puts `remarks_digest` into the core. Raises PacketRefused where a part is too large for its codes."""
    if mode not in MODES:
        raise ValueError(f"a packet is live or practice, not {mode}")
    notes = _deflated(remarks, 1)
    figures = _deflated({**core, "remarks_digest": hashlib.sha256(notes).digest()}, 0)
    packet = Packet((sign(figures, key, context(mode, 0)), sign(notes, key, context(mode, 1))))
    for part, name in enumerate(NAMES):
        if len(packet.parts[part]) > PART_LIMIT:
            raise PacketRefused(
                f"The {name} fill {len(packet.parts[part])} bytes; the codes of a packet carry {PART_LIMIT}. Shorten the longest remarks."
            )
    return packet


def parts_of(data: bytes) -> tuple[bytes, bytes]:
    """Split the bytes of a `packet.cose` into its two parts. Raises PacketRefused for anything cut off, run on or else.

    The signature is not checked.
    """
    if len(data) > 2 * PART_LIMIT:
        raise PacketRefused(
            f"This file holds {len(data)} bytes; a packet holds at most {2 * PART_LIMIT}. Choose the packet.cose of the place."
        )
    first = composed(taken_apart(data, more=True))
    if len(first) == len(data):
        raise PacketRefused(
            "This file holds one envelope; a packet holds two, figures and remarks. Take the file again from where it was written."
        )
    second = data[len(first) :]
    taken_apart(second)
    return first, second


def open_packet(packet: Sequence[bytes] | bytes, keys: Keys | None, mode: str | None) -> Opened:
    """Read a packet for an office of this mode (None: whichever it says). Raises PacketRefused.

    `keys` None asks for no proof. With keys, an enrolled one must fit, else `verified` is False; one that fits and does not hold is refused.
    """
    parts = parts_of(packet) if isinstance(packet, bytes) else tuple(packet)
    if len(parts) != 2:
        raise PacketRefused(
            f"{len(parts)} parts were given; a packet has two, figures and remarks. Read the codes that are still wanted."
        )
    for part, name in zip(parts, NAMES, strict=True):
        if len(part) > PART_LIMIT:
            raise PacketRefused(
                f"The {name} fill {len(part)} bytes; a packet carries {PART_LIMIT}. This was not written by Tape & Seal: set it aside."
            )
    return _opened(parts, keys, mode)


def _opened(parts: Sequence[bytes], keys: Keys | None, mode: str | None) -> Opened:
    kid, figures, signed = _payload(parts[0], keys, mode, 0)
    other, notes, _ = _payload(parts[1], keys, mode, 1)
    if kid != other:
        raise PacketRefused(
            f"The figures are signed with key {kid.hex()}, the remarks with {other.hex()}. Read both parts from one packet."
        )
    core = _inflated(figures, 0)
    if core.get("remarks_digest") != hashlib.sha256(notes).digest():
        raise PacketRefused(
            "These remarks do not belong to these figures. Read the remarks' codes from the same packet as the figures."
        )
    said = core.get("mode")
    if said not in MODES or (mode and said != mode):
        raise PacketRefused(
            f"This packet says it is for {said}, and {mode or 'live or practice'} is asked for here. Take it to the office it is meant for."
        )
    verified = None if keys is None else signed
    return Opened(
        core, _inflated(notes, 1), verified, kid, hashlib.sha256(parts[0]).digest(), said, file_digest(b"".join(parts))
    )


def file_digest(data: bytes) -> bytes:
    """SHA-256 of all bytes of a packet, 32 bytes: its digest names what it says, this also how it is signed."""
    return hashlib.sha256(data).digest()


def _payload(cose: bytes, keys: Keys | None, mode: str | None, part: int) -> tuple[bytes, bytes, bool]:
    """(kid, payload still deflated, whether the signature holds or None)."""
    envelope = taken_apart(cose)
    kid = named_key(envelope)
    if keys is None or kid not in keys:
        return kid, envelope.payload, False
    asked = mode or next((m for m in MODES if holds(envelope, keys[kid], context(m, part))), "live")
    return kid, proven(envelope, keys, context(asked, part)), True


def _deflated(value: Mapping[str, Any], part: int) -> bytes:
    plain = cbor.encode(dict(value))
    if len(plain) > INFLATED_LIMIT:
        raise PacketRefused(
            f"The {NAMES[part]} fill {len(plain)} bytes; a packet carries {INFLATED_LIMIT}. Shorten the longest remarks."
        )
    return zlib.compress(plain, 9)


def _inflated(payload: bytes, part: int) -> dict[str, Any]:
    """The map inside a payload; inflating stops one byte past the limit. Raises PacketRefused."""
    try:
        stream = zlib.decompressobj()
        plain = stream.decompress(payload, INFLATED_LIMIT + 1)
    except zlib.error:
        raise PacketRefused(
            f"The {NAMES[part]} of this packet cannot be unpacked. Read its codes again, or key the place from paper."
        ) from None
    if len(plain) > INFLATED_LIMIT:
        raise PacketRefused(
            f"The {NAMES[part]} of this packet unpack to more than {INFLATED_LIMIT} bytes. This was not written by Tape & Seal: set it aside."
        )
    if not stream.eof or stream.unused_data:
        raise PacketRefused(
            f"The {NAMES[part]} of this packet are cut off or run on. Read its codes again, or key the place from paper."
        )
    try:
        value = cbor.decode(plain)
    except cbor.Malformed:
        raise PacketRefused(
            f"The {NAMES[part]} of this packet are not in the form this program writes: the file was altered or made by something else. Key the place from its paper."
        ) from None
    if not isinstance(value, Mapping):
        raise PacketRefused(
            f"The {NAMES[part]} of this packet are not a list of named things. Key the place from its paper."
        )
    return dict(value)
