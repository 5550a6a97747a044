"""Codes of a small bundle of a desk apart: the frames of a packet with one part, under a prefix of their own, so that neither is taken for the other.

A text is "TB1:" and the base45 of the same 281 bytes as a packet's (`frames.py`): part 0, `digest` the first 8 bytes of the bundle's SHA-256. A
bundle of more than `MOST` data codes goes on a stick.
"""

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass, field

from webapp.packet import frames, parity
from webapp.packet.cose import PacketRefused
from webapp.packet.frames import LOAD, Frame

PREFIX = "TB1:"
MOST = 150  # data codes of one bundle; with the spare ones 200
LARGEST = MOST * LOAD  # bytes


def fits(data: bytes) -> bool:
    """Whether this bundle is small enough for codes."""
    return 0 < len(data) <= LARGEST


def spare(count: int) -> int:
    """How many of this many codes may be lost."""
    return next(frames.spare_frames(k) for k in range(1, MOST + 1) if k + frames.spare_frames(k) == count)


def split(data: bytes) -> tuple[str, ...]:
    """The texts of its codes in the order of their numbers. Raises PacketRefused where it is too large."""
    if not fits(data):
        raise PacketRefused(
            f"This bundle has {len(data):,} bytes, and codes carry {LARGEST:,}. Bring it to the office on a stick."
        )
    digest = hashlib.sha256(data).digest()[:8]
    rows = [data[start : start + LOAD].ljust(LOAD, b"\0") for start in range(0, len(data), LOAD)]
    k, last = len(rows), len(data) - (len(rows) - 1) * LOAD
    rows += parity.spare(rows, frames.spare_frames(k))
    return tuple(_text(Frame(0, digest, k, len(rows), index, last, row)) for index, row in enumerate(rows))


def _text(frame: Frame) -> str:
    return PREFIX + frame.text[len(frames.PREFIX) :]


def read(text: str) -> Frame:
    """Read a text as a frame. Raises PacketRefused where it is no code of a bundle or is damaged."""
    if not text.startswith(PREFIX):
        raise PacketRefused("This is not a code of a bundle. Read the codes that the desk's page Bundle shows.")
    try:
        frame = frames.read(frames.PREFIX + text[len(PREFIX) :])
    except PacketRefused as wrong:
        raise PacketRefused(str(wrong).replace("a packet", "a bundle")) from None
    if frame.part or frame.k > MOST:
        raise PacketRefused(
            "This code's numbers are not those of a bundle. Set it aside, and bring the bundle on a stick."
        )
    return frame


@dataclass(slots=True)
class BundleCodes:
    """Collects the codes of one bundle in any order, also repeated. The first code says which bundle it is."""

    have: dict[int, Frame] = field(default_factory=dict)

    def add(self, text: str) -> str:
        """Add a text: "new" or "again"; else the sentence why it is not taken."""
        try:
            return self._take(read(text.strip("\r\n")))
        except PacketRefused as wrong:
            return str(wrong)

    def _take(self, frame: Frame) -> str:
        for other in self.have.values():
            if (frame.digest, frame.k, frame.last) != (other.digest, other.k, other.last):
                raise PacketRefused(
                    "This code is of another bundle than those before. Read one bundle at a time, or begin again."
                )
            break
        known = self.have.get(frame.index)
        if known is not None and known != frame:
            raise PacketRefused(
                "This code was read before with other contents. Begin again, or bring the bundle on a stick."
            )
        self.have[frame.index] = frame
        return "again" if known else "new"

    @property
    def count(self) -> int:
        """How many codes the bundle has; 0 before the first."""
        return next(iter(self.have.values())).n if self.have else 0

    @property
    def lacking(self) -> int:
        """How many more codes are needed; at least 1 before the first."""
        return max(0, next(iter(self.have.values())).k - len(self.have)) if self.have else 1

    @property
    def says(self) -> str:
        """Which codes are still missing, in one sentence."""
        if not self.have:
            return "No code of a bundle was read yet."
        if not self.lacking:
            return f"Enough codes are in: {len(self.have)} of {self.count} read."
        missing = [str(index + 1) for index in range(self.count) if index not in self.have]
        named = ", ".join(missing[:12]) + (" ..." if len(missing) > 12 else "")
        return f"{self.lacking} more wanted, any of these: {named}."

    def whole(self) -> bytes:
        """The bundle's bytes. Raises PacketRefused while codes are wanted, or where they do not give the bundle that they name."""
        if self.lacking:
            raise PacketRefused(self.says)
        one = next(iter(self.have.values()))
        data = _restored(one, {index: frame.payload for index, frame in self.have.items()})
        if hashlib.sha256(data).digest()[:8] != one.digest:
            raise PacketRefused(
                "These codes do not give the bundle that they name. Begin again, or bring the bundle on a stick."
            )
        return data


def _restored(one: Frame, rows: dict[int, bytes]) -> bytes:
    data: Sequence[bytes] = parity.restored(rows, one.k, one.n - one.k)
    return b"".join(data)[: (one.k - 1) * LOAD + one.last]
