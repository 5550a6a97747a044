"""Held entries as codes: what a tablet holds, cut into the texts of QR codes when it cannot reach the laptop any more.

A text is "TH1:" and the base45 (RFC 9285) of

    form 1 | index 1 | count 1 | set 4 | load 1 to 384 | CRC-32 4        (numbers big-endian)

`index` 0 ... count-1, all of them are needed; every load but the last has 384 bytes. `set` = CRC-32 of the whole, which is the deterministic CBOR of

    [1, record, tablet, clock, [[seq, id, salt, kind, at, form, made, holder] ...]]

record 16 bytes; clock: the tablet's when the codes were drawn, ms UTC; id and salt 16 bytes each; form: texts by name; made: ms UTC as the
tablet holds it; holder: an official's id or null. Nothing is packed smaller, so nothing has to be inflated.
"""

import zlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from struct import Struct
from typing import Any

from webapp.packet import base45
from webapp.packet.cose import PacketRefused
from webapp.record import cbor

PREFIX, FORM = "TH1:", 1
LOAD = 384  # bytes; with its head and sums 395, as 597 characters a code of version 15-M
MOST = 255  # codes of one set
_HEAD, _SUM = Struct(">BBBI"), Struct(">I")
_ROW = (int, bytes, bytes, str, str, dict, int)


@dataclass(frozen=True, slots=True)
class HeldRow:
    """One entry as the tablet holds it. form: the text of each control. made: ms UTC by the tablet's clock."""

    seq: int
    id: bytes
    salt: bytes
    kind: str
    at: str
    form: Mapping[str, str]
    made: int
    holder: str | None


@dataclass(frozen=True, slots=True)
class HeldSet:
    """Everything one tablet holds. clock: the tablet's own when the codes were drawn, ms UTC."""

    record: bytes
    tablet: str
    clock: int
    rows: tuple[HeldRow, ...]

    def pack(self) -> bytes:
        """The set as deterministic CBOR, form 1."""
        rows = [[r.seq, r.id, r.salt, r.kind, r.at, dict(r.form), r.made, r.holder] for r in self.rows]
        return cbor.encode([FORM, self.record, self.tablet, self.clock, rows])


@dataclass(frozen=True, slots=True)
class HeldFrame:
    """What one code holds."""

    index: int
    count: int
    set: int
    load: bytes

    @property
    def text(self) -> str:
        """The text of the code."""
        body = _HEAD.pack(FORM, self.index, self.count, self.set) + self.load
        return PREFIX + base45.encode(body + _SUM.pack(zlib.crc32(body)))


def split(data: bytes) -> tuple[str, ...]:
    """The texts of all codes of these bytes, in order. Raises PacketRefused where they need more than one set has (255)."""
    loads = [data[start : start + LOAD] for start in range(0, len(data), LOAD)]
    if not 1 <= len(loads) <= MOST:
        raise PacketRefused(
            f"{len(data)} bytes; the codes of held entries carry 1 to {MOST * LOAD}. Bring the tablet into reach instead."
        )
    return tuple(HeldFrame(index, len(loads), zlib.crc32(data), load).text for index, load in enumerate(loads))


def is_held(text: str) -> bool:
    """Whether this text claims to be a code of held entries."""
    return text.startswith(PREFIX)


def codes_in(text: str) -> tuple[str, ...]:
    """Split what a scanner typed into codes: one a line, separated by tabs, or run together.

    Letters may have come in lower case; spaces belong to a code.
    """
    found = []
    for line in text.replace("\t", "\n").splitlines():
        parts = line.upper().split(PREFIX)
        found += (
            [PREFIX + part for part in parts[1:]]
            if len(parts) > 1 and not parts[0].strip()
            else [line]
            if line.strip()
            else []
        )
    return tuple(found)


def read(text: str) -> HeldFrame:
    """Read a text as a frame. Raises PacketRefused where it is no code of held entries, is damaged, or is of a later form."""
    if not is_held(text):
        raise PacketRefused("This is not a code of held entries. On the tablet open Held here, then Show as codes.")
    try:
        body = base45.decode(text[len(PREFIX) :])
    except base45.NotBase45:
        raise PacketRefused(
            "This code holds characters that no code of held entries has. Read it again, or check the scanner's keyboard layout."
        ) from None
    if not _HEAD.size + 1 + _SUM.size <= len(body) <= _HEAD.size + LOAD + _SUM.size:
        raise PacketRefused(
            f"This code holds {len(body)} bytes; a code of held entries holds {_HEAD.size + 1 + _SUM.size} to {_HEAD.size + LOAD + _SUM.size}. Read it again, whole."
        )
    if zlib.crc32(body[:-4]) != _SUM.unpack(body[-4:])[0]:
        raise PacketRefused("This code was changed on its way: its check sum differs. Read it again.")
    form, index, count, whole = _HEAD.unpack_from(body)
    load = body[_HEAD.size : -4]
    if form != FORM:
        raise PacketRefused(
            f"This code is of form {form}; this laptop reads form {FORM}. Bring the tablet into reach, or use the newer Tape & Seal."
        )
    if index >= count or (index < count - 1 and len(load) != LOAD):
        raise PacketRefused(
            "This code's numbers do not fit together, though its check sum holds. It was not written by Tape & Seal: set it aside."
        )
    return HeldFrame(index, count, whole, load)


@dataclass(slots=True)
class HeldCollector:
    """Collects codes of one set in any order, also repeated. The first code says which set it is."""

    frames: dict[int, HeldFrame] = field(default_factory=dict)

    def add(self, text: str) -> str:
        """Add a text: `"new"` or `"again"`; else the sentence why it is not taken."""
        try:
            return self.take(read(text))
        except PacketRefused as refusal:
            return str(refusal)

    def take(self, frame: HeldFrame) -> str:
        """Add a frame that was read already. Raises PacketRefused where it does not belong to the others."""
        one = next(iter(self.frames.values()), frame)
        if (frame.set, frame.count) != (one.set, one.count):
            raise PacketRefused(
                "This code is of another set: the tablet's entries changed, or it is another tablet. Begin again with the codes it shows now."
            )
        if frame.index in self.frames:
            if self.frames[frame.index] != frame:
                raise PacketRefused(
                    "This code was read before with other contents. Begin again with the codes the tablet shows now."
                )
            return "again"
        self.frames[frame.index] = frame
        return "new"

    @property
    def count(self) -> int:
        """How many codes the set has; 0 before the first was read."""
        return next((frame.count for frame in self.frames.values()), 0)

    @property
    def missing(self) -> tuple[int, ...]:
        """The numbers, from 1, of the codes still wanted."""
        return tuple(index + 1 for index in range(self.count) if index not in self.frames)

    @property
    def complete(self) -> bool:
        """Whether every code of the set was read."""
        return bool(self.frames) and not self.missing

    def whole(self) -> HeldSet:
        """The set. Raises PacketRefused while codes are wanted, or where they do not give the checksum they name."""
        if not self.complete:
            raise PacketRefused("Codes are still wanted.")
        data = b"".join(self.frames[index].load for index in range(self.count))
        if zlib.crc32(data) != self.frames[0].set:
            raise PacketRefused(
                "These codes do not give the entries that they name. Begin again with the codes the tablet shows now."
            )
        return unpack(data)


def unpack(data: bytes) -> HeldSet:
    """Read a set out of its bytes. Raises PacketRefused where they are not exactly one set of form 1."""
    try:
        said = cbor.decode(data)
    except cbor.Malformed:
        said = None
    if (
        not _shaped(said, (int, bytes, str, int, list))
        or said[0] != FORM
        or len(said[1]) != 16
        or not all(map(_is_row, said[4]))
    ):
        raise PacketRefused(
            "These codes hold no entries of a tablet, though their check sums hold. They were not written by Tape & Seal: set them aside."
        )
    return HeldSet(said[1], said[2], said[3], tuple(HeldRow(*row) for row in said[4]))


def _is_row(row: Any) -> bool:
    if (
        not isinstance(row, list)
        or len(row) != len(_ROW) + 1
        or not _shaped(row[:-1], _ROW)
        or not isinstance(row[-1], str | None)
    ):
        return False
    return len(row[1]) == len(row[2]) == 16 and all(isinstance(value, str) for value in row[5].values())


def _shaped(value: Any, kinds: Sequence[type]) -> bool:
    return (
        isinstance(value, list)
        and len(value) == len(kinds)
        and all(type(item) is kind for item, kind in zip(value, kinds, strict=True))
    )
