"""Frames: a packet cut into the texts of its codes, and put together again from any sufficient part of them.

One set serves paper, screen and file. A text is "TS1:" and the base45 of 281 bytes, exactly what a QR code of version 15-Q holds:

    version 1 | part 1 | digest 8 | k 1 | n 1 | index 1 | last length 2 | payload 262 | CRC-32 4        (numbers big-endian)

`digest` = the first 8 bytes of the packet's, in the frames of both parts; `index` 0 ... n-1, data first, then parity; `last length` = bytes of
frame k-1 that count, the rest is zero; n = k + max(2, ceil(k/3)). People count codes from 1, on through both parts.
"""

import hashlib
import zlib
from collections.abc import Sequence
from dataclasses import dataclass, field
from struct import Struct

from webapp.packet import base45, parity
from webapp.packet.cose import PacketRefused

PREFIX, VERSION = "TS1:", 1
LOAD, SIZE, TEXT = 262, 281, 426  # bytes of payload, bytes of a frame, characters of a code
LEAST = 3  # codes of the smallest part: one of data, two spare
NAMES = ("figures", "remarks")
TAKEN = ("new", "again")  # what comes of a code that a collector takes
_HEAD, _SUM = Struct(">BB8sBBBH"), Struct(">I")


@dataclass(frozen=True, slots=True)
class Frame:
    """The part of a packet that one code holds."""

    part: int
    digest: bytes
    k: int
    n: int
    index: int
    last: int
    payload: bytes

    @property
    def text(self) -> str:
        """The text of the code."""
        body = _HEAD.pack(VERSION, self.part, self.digest, self.k, self.n, self.index, self.last) + self.payload
        return PREFIX + base45.encode(body + _SUM.pack(zlib.crc32(body)))


def spare_frames(k: int) -> int:
    """How many of a part's k + spare codes may be lost: max(2, ceil(k / 3))."""
    return max(2, -(-k // 3))


def split(parts: Sequence[bytes]) -> tuple[str, ...]:
    """The texts of all codes of a packet: part 0, then part 1, in the order of their printed numbers."""
    return tuple(frame.text for frame in cut(parts))


def cut(parts: Sequence[bytes]) -> tuple[Frame, ...]:
    """The frames of both parts, in the order of their printed numbers. Raises PacketRefused where a part is empty or too long for its codes."""
    digest = digest_of(parts)
    return tuple(frame for part, data in enumerate(parts) for frame in _frames(part, data, digest))


def digest_of(parts: Sequence[bytes]) -> bytes:
    """What the codes of a packet name it by: the first 8 bytes of its digest."""
    return hashlib.sha256(parts[0]).digest()[:8]


def count(parts: Sequence[bytes]) -> int:
    """How many codes a packet has. Raises PacketRefused as `cut` does."""
    return sum(sum(_sizes(part, data)) for part, data in enumerate(parts))


def needed(parts: Sequence[bytes]) -> int:
    """How many codes must be read at least, over both parts."""
    return sum(-(-len(data) // LOAD) for data in parts)


def _frames(part: int, data: bytes, digest: bytes) -> tuple[Frame, ...]:
    k, spare = _sizes(part, data)
    rows = [data[start : start + LOAD].ljust(LOAD, b"\0") for start in range(0, len(data), LOAD)]
    rows += parity.spare(rows, spare)
    last = len(data) - (k - 1) * LOAD
    return tuple(Frame(part, digest, k, k + spare, index, last, row) for index, row in enumerate(rows))


def _sizes(part: int, data: bytes) -> tuple[int, int]:
    """(codes of data, spare codes) of a part."""
    k = -(-len(data) // LOAD)
    if not k or k + spare_frames(k) > 255:
        raise PacketRefused(
            f"The {NAMES[part]} fill {len(data)} bytes; the codes of a packet carry 1 to {191 * LOAD}. Shorten the longest remarks."
        )
    return k, spare_frames(k)


def is_ours(text: str) -> bool:
    """Whether this text claims to be a code of a packet."""
    return text.startswith(PREFIX)


def read(text: str) -> Frame:
    """Read a text as a frame. Raises PacketRefused where it is no code of a packet, is damaged, or is of a later version."""
    if not is_ours(text):
        raise PacketRefused("This is not a code of a summary packet. Read the codes of the packet's pages.")
    try:
        body = base45.decode(text[len(PREFIX) :])
    except base45.NotBase45:
        raise PacketRefused(
            "This code holds characters that no code of a packet has. Read it again, or check the scanner's keyboard layout."
        ) from None
    if len(body) != SIZE:
        raise PacketRefused(
            f"This code holds {len(body)} bytes; a code of a packet holds {SIZE}. Read it again, whole."
        )
    if zlib.crc32(body[:-4]) != _SUM.unpack(body[-4:])[0]:
        raise PacketRefused("This code was changed on its way: its check sum differs. Read it again.")
    version, part, digest, k, n, index, last = _HEAD.unpack_from(body)
    if version != VERSION:
        raise PacketRefused(
            f"This code is of form {version}; this desk reads form {VERSION}. Read it with the newer Tape & Seal."
        )
    if part > 1 or not k or n != k + spare_frames(k) or index >= n or not 0 < last <= LOAD:
        raise PacketRefused(
            "This code's numbers do not fit together, though its check sum holds. It was not written by Tape & Seal: set it aside."
        )
    return Frame(part, digest, k, n, index, last, body[_HEAD.size : -4])


@dataclass(slots=True)
class Collector:
    """Collects codes of one packet in any order, also repeated, or the packet whole. The first code says which packet it is."""

    digest: bytes | None = None
    frames: tuple[dict[int, Frame], dict[int, Frame]] = field(default_factory=lambda: ({}, {}))

    def add(self, text: str) -> str:
        """Add a text: `"new"`, `"again"` or `"foreign"` (no code of a packet); else the sentence why it is not taken."""
        text = text.strip("\r\n")
        if not is_ours(text):
            return "foreign"
        try:
            return self.take(read(text))
        except PacketRefused as refusal:
            return str(refusal)

    def take_parts(self, parts: Sequence[bytes]) -> tuple[str, ...]:
        """Add a whole packet, as its file holds it: what came of each of its codes, as `add` says it. Raises PacketRefused as `cut` does."""
        return tuple(self._taken(frame) for frame in cut(parts))

    def _taken(self, frame: Frame) -> str:
        try:
            return self.take(frame)
        except PacketRefused as refusal:
            return str(refusal)

    def take(self, frame: Frame) -> str:
        """Add a frame that was read already: `"new"` or `"again"`. Raises PacketRefused where it does not belong to the others."""
        if self.digest is not None and frame.digest != self.digest:
            raise PacketRefused(
                f"This code is of packet {frame.digest.hex()}, the others are of {self.digest.hex()}. Read one packet at a time."
            )
        have = self.frames[frame.part]
        for other in have.values():
            if (frame.k, frame.n, frame.last) != (other.k, other.n, other.last):
                raise PacketRefused(
                    f"This code counts {frame.n} codes of the {NAMES[frame.part]}, the others {other.n}. Set both aside and ask the place."
                )
            break
        if frame.index in have:
            if have[frame.index] != frame:
                raise PacketRefused(
                    "This code was read before with other contents. Set both aside and ask the place for the packet again."
                )
            return "again"
        self.digest = frame.digest
        have[frame.index] = frame
        return "new"

    @property
    def read(self) -> int:
        """How many different codes were read."""
        return sum(map(len, self.frames))

    def lacking(self, part: int) -> int:
        """How many more codes of a part are needed; at least 1 while none of it was read."""
        have = self.frames[part]
        return max(0, self._of(part).k - len(have)) if have else 1

    @property
    def complete(self) -> bool:
        """Whether both parts can be restored."""
        return not self.lacking(0) and not self.lacking(1)

    @property
    def wanted(self) -> tuple[tuple[int, ...], tuple[int, ...]]:
        """For each part the printed numbers of the codes not read; any `lacking(part)` of them complete it. Empty once it is complete.

        Of a part nobody read a code of, the first three are named. The remarks' numbers are known once a code of the figures was read.
        """
        return self._wanted(0), self._wanted(1)

    @property
    def missing(self) -> tuple[int, ...]:
        """The numbers of `wanted`, both parts together."""
        return tuple(number for part in self.wanted for number in part)

    @property
    def says(self) -> str:
        """A sentence: which codes are still wanted."""
        return (
            " ".join(filter(None, (self._says(part) for part in (0, 1))))
            or f"All of the packet is in: {self.read} codes read."
        )

    def parts(self) -> tuple[bytes, bytes]:
        """The bytes of both parts. Raises PacketRefused while codes are wanted, or where they do not give the packet they name."""
        if not self.complete:
            raise PacketRefused(self.says)
        core, remarks = self._restored(0), self._restored(1)
        if self.digest is not None and hashlib.sha256(core).digest()[:8] != self.digest:
            raise PacketRefused(
                f"These codes do not give the packet {self.digest.hex()} that they name. Set them aside and ask the place for the packet again."
            )
        return core, remarks

    def _of(self, part: int) -> Frame:
        return next(iter(self.frames[part].values()))

    def _restored(self, part: int) -> bytes:
        one, rows = self._of(part), {index: frame.payload for index, frame in self.frames[part].items()}
        data = b"".join(parity.restored(rows, one.k, one.n - one.k))
        return data[: (one.k - 1) * LOAD + one.last]

    def _wanted(self, part: int) -> tuple[int, ...]:
        have = self.frames[part]
        if not self.lacking(part) or (part and not self.frames[0]):
            return ()
        before = self._of(0).n if part else 0
        count = self._of(part).n if have else LEAST
        return tuple(before + index + 1 for index in range(count) if index not in have)

    def _says(self, part: int) -> str:
        lacking, numbers = self.lacking(part), self._wanted(part)
        if not lacking:
            return ""
        if not self.frames[part]:
            return f"No code of the {NAMES[part]} was read yet" + (
                f": they begin at code {numbers[0]}." if numbers else "."
            )
        if not numbers:
            return f"{lacking} more of the {NAMES[part]} wanted; their numbers show once a code of the figures is read."
        listed = ", ".join(map(str, numbers[:-1])) + (" and " if numbers[1:] else "") + str(numbers[-1])
        return (
            f"{lacking} more of the codes {listed} {'are' if lacking > 1 else 'is'} still wanted: any of them will do."
        )
