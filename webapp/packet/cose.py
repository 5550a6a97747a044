"""The sealed envelope: what a place signs once, and what every reader checks with the enrolled key.

An envelope is a COSE_Sign1 (RFC 9052 section 4.2): tag 18, `[protected, {}, payload, signature]`, the protected header exactly
`{1: -8 (EdDSA), 4: kid}`, the signature Ed25519 over the Sig_structure of section 4.4. The context goes in as external_aad, so that bytes
signed for practice never hold in a live office. Stored bytes are never rebuilt: zlib differs between versions.

Packets (`envelope.py`) and place files are both signed so; only the context tells them apart.
"""

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import cbor2
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey

TAG, ALGORITHM, KEY_ID, EDDSA = 18, 1, 4, -8
Keys = Mapping[bytes, Ed25519PublicKey]


class PacketRefused(Exception):
    """Bytes that are not what they should be. Its text is one sentence: what is wrong, and what to do."""


class UnknownKey(PacketRefused):
    """Signed with a key that is not among those given. Has `payload` and `kid`, unproven."""

    def __init__(self, kid: bytes, payload: bytes):
        super().__init__(
            f"The key {kid.hex()} that signed this is not enrolled here. Keep the packet, and ask the office which place holds that key."
        )
        self.kid, self.payload = kid, payload


@dataclass(frozen=True, slots=True)
class Sign1:
    """The four members of a COSE_Sign1, as they are in the bytes."""

    protected: bytes
    unprotected: Mapping[str, Any]
    payload: bytes
    signature: bytes


def key_id(public: Ed25519PublicKey) -> bytes:
    """The `kid` of a key: the first 8 bytes of SHA-256 of the raw public key."""
    return hashlib.sha256(public.public_bytes_raw()).digest()[:8]


def to_be_signed(protected: bytes, context: bytes, payload: bytes) -> bytes:
    """The bytes that a signature covers: the Sig_structure of RFC 9052, section 4.4, for one signer.

    An empty header counts as no bytes, however it is written.
    """
    return cbor2.dumps(["Signature1", b"" if protected == b"\xa0" else protected, context, payload])


def composed(envelope: Sign1) -> bytes:
    """The bytes of an envelope, every length as short as it can be."""
    return cbor2.dumps(
        cbor2.CBORTag(TAG, [envelope.protected, dict(envelope.unprotected), envelope.payload, envelope.signature])
    )


def taken_apart(cose: bytes, more: bool = False) -> Sign1:
    """Split bytes into the members of one COSE_Sign1. Raises PacketRefused for any other bytes.

    `more`: others may follow. The signature is not checked.
    """
    try:
        tagged = cbor2.loads(cose, max_depth=8, allow_indefinite=False, allow_duplicate_keys=False)
    except Exception:  # a decoder of a stranger's bytes may fail in any way; here each of them is the same refusal
        raise PacketRefused(
            "These bytes are not a signed envelope, or are cut off. Take the file again from where it was written."
        ) from None
    if not isinstance(tagged, cbor2.CBORTag):
        raise PacketRefused(
            "These bytes do not carry the mark of a signed envelope (COSE_Sign1, tag 18). Choose the file that Tape & Seal wrote."
        )
    if tagged.tag != TAG:
        raise PacketRefused(
            f"These bytes carry the mark {tagged.tag}; a signed envelope carries {TAG}. Choose the file that Tape & Seal wrote."
        )
    if not _four(tagged.value):
        raise PacketRefused(
            "A signed envelope holds a header, an open header, its contents and a signature; this one does not. Take the file again."
        )
    envelope = Sign1(*tagged.value)
    try:
        exact = composed(envelope)
    except Exception:  # an open header may hold what can be read and not written
        exact = b""
    if not exact or exact != (cose[: len(exact)] if more else cose):
        raise PacketRefused(
            "This envelope is not written in the one way it may be, or more bytes follow it. Take the file again from where it was written."
        )
    return envelope


def _four(members: object) -> bool:
    """Whether these are the four members of a COSE_Sign1: bytes, a map, bytes, bytes."""
    return (
        isinstance(members, list | tuple)
        and len(members) == 4
        and isinstance(members[1], Mapping)
        and all(isinstance(members[i], bytes) for i in (0, 2, 3))
    )


def sign(payload: bytes, key: Ed25519PrivateKey, context: str) -> bytes:
    """Sign a payload under this context, such as `tapeseal/place/1/live`; gives the envelope's bytes."""
    protected = cbor2.dumps({ALGORITHM: EDDSA, KEY_ID: key_id(key.public_key())})
    return composed(Sign1(protected, {}, payload, key.sign(to_be_signed(protected, context.encode(), payload))))


def named_key(envelope: Sign1) -> bytes:
    """The `kid` an envelope names. Raises PacketRefused for every header that is not exactly ours."""
    try:
        header = (
            cbor2.loads(envelope.protected, max_depth=2, allow_indefinite=False, allow_duplicate_keys=False)
            if envelope.protected
            else {}
        )
    except (cbor2.CBORError, ValueError, TypeError):
        raise PacketRefused(
            "The signed header of this envelope cannot be read. Take the file again from where it was written."
        ) from None
    if not isinstance(header, Mapping) or header.get(ALGORITHM) != EDDSA:
        raise PacketRefused(
            "This envelope is not signed with Ed25519, the only signature used here. Choose the file that Tape & Seal wrote."
        )
    kid = header.get(KEY_ID)
    if (
        not isinstance(kid, bytes)
        or len(kid) != 8
        or envelope.unprotected
        or envelope.protected != cbor2.dumps({ALGORITHM: EDDSA, KEY_ID: kid})
    ):
        raise PacketRefused(
            "The header of this envelope holds more or less than the signature and its key. Choose the file that Tape & Seal wrote."
        )
    return kid


def verify(cose: bytes, keys: Keys, context: str) -> bytes:
    """The payload of an envelope whose signature holds under this context.

    Raises PacketRefused where it does not, and UnknownKey (with the unproven payload) where its key is not among those given.
    """
    return proven(taken_apart(cose), keys, context)


def proven(envelope: Sign1, keys: Keys, context: str) -> bytes:
    """As `verify`, of an envelope that was taken apart already. Raises PacketRefused; UnknownKey where the key is not among `keys`."""
    kid = named_key(envelope)
    if kid not in keys:
        raise UnknownKey(kid, envelope.payload)
    if holds(envelope, keys[kid], context):
        return envelope.payload
    for here, there in (("/live", "/practice"), ("/practice", "/live")):
        if here in context and holds(envelope, keys[kid], context.replace(here, there)):
            raise PacketRefused(
                f"This was signed for {there[1:]}, and {here[1:]} is asked for here. Take it to a {there[1:]} office."
            )
    raise PacketRefused(
        f"The signature of key {kid.hex()} does not hold: the bytes were changed, or signed for something else. Ask the place for it again."
    )


def holds(envelope: Sign1, key: Ed25519PublicKey, context: str) -> bool:
    """Whether this key signed these bytes for this context."""
    try:
        key.verify(envelope.signature, to_be_signed(envelope.protected, context.encode(), envelope.payload))
    except InvalidSignature:
        return False
    return True
