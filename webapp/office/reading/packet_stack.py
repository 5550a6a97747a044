"""Codes of any number of packets as they come in at one tablet, sorted by the packet that each code names."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from webapp.packet import frames
from webapp.packet.cose import PacketRefused
from webapp.packet.frames import Collector

MOST = 400  # packets in one stack; a county's night is taken in in several


@dataclass(slots=True)
class PacketStack:
    """The packets being read at one tablet, in the order in which their first code came. A code that cannot be taken stops no other."""

    packets: dict[bytes, Collector] = field(default_factory=dict)

    def add(self, text: str) -> str:
        """ "new", "again" or "foreign" (no code of ours); else the sentence that says why this code is not taken."""
        text = text.strip("\r\n")
        if not frames.is_ours(text):
            return "foreign"
        try:
            frame = frames.read(text)
            return self._packet(frame.digest).take(frame)
        except PacketRefused as refusal:
            return str(refusal)

    def add_parts(self, parts: Sequence[bytes]) -> tuple[str, ...]:
        """A whole packet, as its file holds it: what came of each of its codes, as `add` says it."""
        try:
            return self._packet(frames.digest_of(parts)).take_parts(parts)
        except PacketRefused as refusal:
            return (str(refusal),)

    def _packet(self, digest: bytes) -> Collector:
        if digest not in self.packets and len(self.packets) >= MOST:
            raise PacketRefused(f"{MOST} packets are here already. Accept these or begin again, then read the others.")
        return self.packets.setdefault(digest, Collector())

    def drop(self, digest: bytes) -> None:
        """One packet out of the stack: accepted, or set aside."""
        self.packets.pop(digest, None)

    @property
    def complete(self) -> list[Collector]:
        return [one for one in self.packets.values() if one.complete]

    @property
    def partial(self) -> list[Collector]:
        """Packets of which codes are still wanted."""
        return [one for one in self.packets.values() if one.read and not one.complete]

    @property
    def read(self) -> int:
        """How many different codes were read, over all packets."""
        return sum(one.read for one in self.packets.values())

    @property
    def says(self) -> str:
        """Which codes are still missing, in one sentence."""
        if not self.packets:
            return Collector().says
        if len(self.packets) == 1:
            return next(iter(self.packets.values())).says
        whole, more = len(self.complete), len(self.partial)
        return f"{whole} {'packet is' if whole == 1 else 'packets are'} whole" + (
            f"; of {more} more codes are wanted." if more else "."
        )
