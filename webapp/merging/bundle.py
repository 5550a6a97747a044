"""The bytes of a bundle: what a desk apart kept, in one file that its key signs once.

    file     = "tapeseal/bundle/1" LF | length of the envelope, 4 bytes big-endian | envelope | part | part ...
    envelope = COSE_Sign1 of the desk, context "tapeseal/bundle/1/live" or ".../practice", over the contents (README)

Nothing of a part is read before the signature and the part's own digest hold.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from hashlib import sha256
from typing import Any

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from webapp.merging.desk_apart import DeskApart
from webapp.merging.refusals import BundleRefused
from webapp.packet import cose
from webapp.record import cbor
from webapp.stick.segment import NotASegment, Segment, read_segment

MAGIC, VERSION, RECORD = b"tapeseal/bundle/1\n", 1, "record"
LARGEST = 256 * 1024 * 1024  # bytes of a bundle
ENVELOPE = 64 * 1024 * 1024  # bytes of its contents list at most
BESIDE = re.compile(r"in/[0-9a-f]{64}(\.cose|-batches\.csv|-votes\.csv)")
_SHAPE: Mapping[str, type] = {
    "v": int, "desk": bytes, "office": str, "election": list, "places": dict, "record": bytes, "after": int,
    "before": bytes, "to": int, "head": bytes, "made": int, "version": str, "parts": list,
}  # fmt: skip
_LENGTHS = {"record": 16, "before": 32, "head": 32}


@dataclass(frozen=True, slots=True)
class Contents:
    """What a bundle says of itself. desk: the bytes of desk.cose. after, before: number and head of the entry before its first; made: ms UTC."""

    desk: bytes
    office: str
    election: tuple[str, str]
    places: Mapping[str, Sequence[bytes]]
    record: bytes
    after: int
    before: bytes
    to: int
    head: bytes
    made: int
    version: str


@dataclass(frozen=True, slots=True)
class Bundle:
    """A bundle whose signature and digests hold. digest: SHA-256 of the file; `beside`: the files of `in/` by name."""

    digest: bytes
    contents: Contents
    desk: DeskApart
    segment: Segment
    beside: Mapping[str, bytes]


def packed(contents: Contents, parts: Mapping[str, bytes], key: Ed25519PrivateKey, mode: str) -> bytes:
    """The bundle's bytes. parts: by name, the record first."""
    told = {
        "v": VERSION,
        "desk": contents.desk,
        "office": contents.office,
        "election": list(contents.election),
        "places": {place: list(digests) for place, digests in contents.places.items()},
        "record": contents.record,
        "after": contents.after,
        "before": contents.before,
        "to": contents.to,
        "head": contents.head,
        "made": contents.made,
        "version": contents.version,
        "parts": [[name, len(data), sha256(data).digest()] for name, data in parts.items()],
    }
    envelope = cose.sign(cbor.encode(told), key, context(mode))
    return b"".join((MAGIC, len(envelope).to_bytes(4, "big"), envelope, *parts.values()))


def context(mode: str) -> str:
    """The text that the signature covers in addition to the bytes."""
    return f"tapeseal/bundle/1/{mode}"


def certificate_in(data: bytes, name: str) -> bytes:
    """The desk.cose inside, of which nothing is proven yet. Raises BundleRefused."""
    return bytes(_taken_apart(data, name)[1]["desk"])


def names(data: bytes) -> list[str]:
    """The names of its parts, of which nothing is proven yet. Raises BundleRefused."""
    return [row[0] for row in _taken_apart(data, "This")[1]["parts"]]


def opened(data: bytes, name: str, desk: DeskApart) -> Bundle:
    """The bundle in these bytes, signed by this desk. `name`: of its file, for the sentences. Raises BundleRefused."""
    envelope, told, at = _taken_apart(data, name)
    if not cose.holds(envelope, desk.public, context(desk.mode)) or cose.named_key(envelope) != desk.kid:
        raise _changed(name, desk, "its list of contents")
    whole = at + sum(size for _, size, _ in told["parts"])
    if len(data) < whole:
        raise BundleRefused(
            f"{name} is cut off: {len(data):,} of {whole:,} bytes are here. Copy it again from desk {desk.id}; nothing of it was taken."
        )
    if len(data) > whole:
        raise _changed(name, desk, f"{len(data) - whole:,} bytes follow its end")
    parts: dict[str, bytes] = {}
    for part, size, digest in told["parts"]:
        piece, at = data[at : at + size], at + size
        if sha256(piece).digest() != digest:
            raise _changed(name, desk, f"its part {part}")
        parts[part] = piece
    segment = _segment(parts.pop(RECORD), told, name, desk)
    made = Contents(
        told["desk"], told["office"], tuple(told["election"]), told["places"], told["record"],
        told["after"], told["before"], told["to"], told["head"], told["made"], told["version"],
    )  # fmt: skip
    return Bundle(sha256(data).digest(), made, desk, segment, parts)


def _changed(name: str, desk: DeskApart, what: str) -> BundleRefused:
    return BundleRefused(
        f"{name} is not what desk {desk.id} signed ({what}). Make the bundle again at that desk; nothing of it was taken."
    )


def _taken_apart(data: bytes, name: str) -> tuple[cose.Sign1, dict[str, Any], int]:
    """(envelope, its contents, where the parts begin)."""
    if len(data) > LARGEST:
        raise BundleRefused(
            f"{name} has {len(data) // 1048576:,} MB, and a bundle has at most {LARGEST // 1048576}. Make smaller ones with --after."
        )
    head = len(MAGIC) + 4
    if not data.startswith(MAGIC[:-2]) and not (data and MAGIC.startswith(data)):
        raise BundleRefused(f"{name} is no bundle of a desk: give the file that `tapeseal office bundle` wrote.")
    if len(data) >= len(MAGIC) and not data.startswith(MAGIC):
        raise BundleRefused(f"{name} is a bundle of a later form than this version reads: use the newer program.")
    size = int.from_bytes(data[len(MAGIC) : head], "big")
    if len(data) < head + size or size > ENVELOPE or not size:
        raise BundleRefused(
            f"{name} is cut off, or its beginning was changed. Copy it again from the desk; nothing of it was taken."
        )
    try:
        envelope = cose.taken_apart(data[head : head + size])
        cose.named_key(envelope)
        told = cbor.decode(envelope.payload)
    except (cose.PacketRefused, cbor.Malformed):
        raise BundleRefused(
            f"The list of contents of {name} cannot be read: it was changed. Copy the file again from the desk; nothing of it was taken."
        ) from None
    if type(told) is dict and type(told.get("v")) is int and told["v"] != VERSION:
        raise BundleRefused(
            f"{name} is a bundle of form {told['v']}; this version reads {VERSION}. Use the newer program."
        )
    if not _is_contents(told):
        raise BundleRefused(f"{name} has another list of contents than a bundle has. Make it again at the desk.")
    return envelope, told, head + size


def _is_contents(told: Any) -> bool:
    if type(told) is not dict or {name: type(value) for name, value in told.items()} != dict(_SHAPE):
        return False
    if any(len(told[name]) != size for name, size in _LENGTHS.items()) or told["after"] < 0:
        return False
    names = [row[0] for row in told["parts"] if _is_part(row)]
    return (
        len(names) == len(told["parts"]) == len(set(names))
        and names[:1] == [RECORD]
        and all(BESIDE.fullmatch(name) for name in names[1:])
        and list(map(type, told["election"])) == [str, str]
        and all(
            type(rows) is list and all(type(one) is bytes and len(one) == 32 for one in rows)
            for rows in told["places"].values()
        )
    )


def _is_part(row: Any) -> bool:
    return type(row) is list and list(map(type, row)) == [str, int, bytes] and row[1] >= 0 and len(row[2]) == 32


def _segment(data: bytes, told: Mapping[str, Any], name: str, desk: DeskApart) -> Segment:
    """The entries, each continuing the one before, from `after` to `to`. Raises BundleRefused."""
    try:
        segment = read_segment(data, name)
    except NotASegment:
        raise BundleRefused(
            f"The record in {name} cannot be read. Make the bundle again at desk {desk.id}; nothing of it was taken."
        ) from None
    header, last = segment.header, segment.entries[-1].stored if segment.entries else None
    if segment.torn or last is None or (last.number, last.head) != (told["to"], told["head"]):
        number = last.number if last else header.after
        raise BundleRefused(
            f"The record in {name} does not go on after entry {number} of desk {desk.id}. Check it there with `tapeseal record verify`; nothing of it was taken."
        )
    if (header.record_id, header.after, header.head) != (told["record"], told["after"], told["before"]):
        raise BundleRefused(
            f"The record in {name} is another one than its list of contents names. Make it again at the desk."
        )
    return segment
