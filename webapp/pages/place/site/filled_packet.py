"""A packet that was filled and signed once, held against the record as it is when the second party signs."""

from collections.abc import Callable, Sequence

from webapp.packet.envelope import open_packet, parts_of
from webapp.precinct.day.day import Day
from webapp.precinct.reports.packet_age import first_after
from webapp.record.entry import Claim


def behind(day: Day, mode: str, attachment: Callable[[bytes], bytes], claims: Sequence[Claim]) -> str:
    """Why a packet of these claims cannot be signed: an entry that was kept since it was filled is not in it; "" for no reason.

    attachment: from a digest to the bytes that wait under it."""
    for claim in claims:
        data = attachment(bytes(claim.body["digest"])) if claim.kind == "packet-made" else b""
        if data and (entry := first_after(day, open_packet(parts_of(data), {}, mode).core["length"])):
            return f"Entry {entry} was kept since this packet was filled, and is not in it. Take the first signature back, and make the packet again."
    return ""
