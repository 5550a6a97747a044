"""Packets that are being read and that nobody accepted yet: each that an enrolled key signed is verified once, and goes into the office as it was verified."""

from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import dataclass

from webapp.office.checking import packet_checks
from webapp.office.checking.packet_checks import Report
from webapp.office.checking.single_checks import Known
from webapp.office.received.received_packets import ReceivedPackets
from webapp.packet.envelope import Opened, file_digest

MOST = 512  # packets kept at hand, those asked for last


@dataclass(slots=True)
class Verified:
    """One packet whose signatures hold, with its report against the packets of its place that were `known` then."""

    opened: Opened
    report: Report | None = None
    known: Sequence[Known] = ()


class PacketsBeingRead:
    """By SHA-256 of all their bytes, so that no other bytes are taken for those that were verified."""

    def __init__(self, tray: ReceivedPackets):
        self.tray = tray
        self._verified: OrderedDict[bytes, Verified] = OrderedDict()

    def check(self, parts: Sequence[bytes]) -> Report:
        """Every check of the packet of these two parts. Its lines are drawn once for as long as no other packet of its place is accepted.

        Raises `PacketRefused`, one sentence."""
        with self.tray.lock:
            one = self._of(parts)
            if one.report is None or one.known != self._known(one.report):
                one.report = packet_checks.judged(one.opened, self.tray.roster, self.tray.known())
                one.known = self._known(one.report)
            return one.report

    def report(self, opened: Opened, known: Sequence[Known]) -> Report | None:
        """Its report, where it was checked here against just these packets of its place; None where it was not."""
        one = self._verified.get(opened.file_digest)
        return one.report if one and one.opened is opened and one.known == known else None

    def _of(self, parts: Sequence[bytes]) -> Verified:
        key = file_digest(b"".join(parts))
        if key not in self._verified:
            one = Verified(packet_checks.opened_for(parts, self.tray.roster))
            if (
                not one.opened.verified
            ):  # a stranger's: whoever wants to fill this computer's memory can make any number of them
                return one
            self._verified[key] = one
        self._verified.move_to_end(key)
        while len(self._verified) > MOST:
            self._verified.popitem(last=False)
        return self._verified[key]

    def _known(self, report: Report) -> Sequence[Known]:
        return self.tray.known().get(report.place.id, ())
