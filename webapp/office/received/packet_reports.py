"""Every check of the packets that came in, their balances and explanations: worked out when somebody looks, and kept for as long as they are true."""

from collections import OrderedDict

from webapp.office.checking import packet_checks
from webapp.office.checking.packet_checks import Report
from webapp.office.keying import from_paper
from webapp.office.questions.canvass_board import PlaceComparison, gaps, three
from webapp.office.questions.found_explained import after_findings
from webapp.office.received.packets_being_read import PacketsBeingRead
from webapp.office.received.place_questions import of_packet
from webapp.office.received.received_packets import ReceivedPackets
from webapp.office.totals import totals
from webapp.office.totals.totals import PacketFigures
from webapp.packet import contents
from webapp.packet.envelope import Opened, PacketRefused
from webapp.precinct.balance.balance import Balance, balance
from webapp.precinct.explain.explain import explained

LOOKED_AT = 64  # places whose explanations are kept at hand


class PacketReports:
    """The checked packets of `tray`. Pages ask while packets come in: none is ever half checked."""

    def __init__(self, tray: ReceivedPackets):
        self.tray = tray
        self._reports: dict[tuple[bytes, int], Report] = {}
        self.being_read = PacketsBeingRead(tray)
        self._explained: OrderedDict[str, tuple[Balance, Balance | None]] = OrderedDict()

    def _judged(self, place: str, opened: Opened) -> Report:
        """Every check of an accepted packet: as it was looked over before, where nothing else of its place came since."""
        known = tuple(one for one in self.tray.known().get(place, ()) if one.digest != opened.digest)
        return self.being_read.report(opened, known) or packet_checks.judged(opened, self.tray.roster, {place: known})

    def of(self, place: str) -> Report | None:
        """Every check of the packet that counts for a place, drawn once for as long as no other packet of it comes in."""
        with self.tray.lock:
            found = self.tray.counts(place)
            return self.of_packet(place, found[0]) if found else None

    def of_packet(self, place: str, digest: bytes) -> Report | None:
        """Every check of one packet of a place, whether it counts or not; None where its form can no longer be read."""
        with self.tray.lock:
            keyed = self.tray.paper(place, digest)
            key = digest, -keyed.number if keyed else len(self.tray.packets[place])
            if keyed and key not in self._reports:
                self._reports[key] = from_paper.report(keyed, self.tray.file_of(place, keyed.opened))
            if key not in self._reports:
                try:
                    self._reports[key] = self._judged(place, dict(self.tray.packets[place])[digest])
                except PacketRefused as wrong:  # taken in by an earlier edition of this program
                    self.tray.lose(place, str(wrong))
                    return None
            return self._reports[key]

    def weighed(self, place: str) -> tuple[PacketFigures, PlaceComparison] | None:
        """(what counts for a place, how it compares at the canvass); None where no packet of it can be read."""
        with self.tray.lock:
            report, found, sent = self.of(place), self.tray.counts(place), self.tray.sent(place)
            if report is None or found is None or sent is None:
                return None
            packet, awaited = found[1], self.tray.roster.office.place(place)
            drawn = report.balance if packet.core == sent.core else balance(contents.figures(packet.core, packet.place))
            cast, off = totals.ballots(packet.core), gaps(drawn, report.opened.remarks)
            asks = of_packet(report, off)
            return packet, PlaceComparison(
                place,
                packet.place.name,
                awaited.room if awaited else "",
                self.tray.stamp(place),
                cast,
                len(asks),
                *three(drawn, cast),
                off,
                asks,
            )

    def explained(self, place: str) -> tuple[Balance, Balance | None]:
        """The balance with its explanations: as the place sent it, and with what the desk found, where it found anything that fits. Kept for the places
        looked at last. Raises KeyError where nothing counts for the place."""
        with self.tray.lock:
            stamp = self.tray.stamp(place)
            sent, now = self.tray.sent(place), self.tray.counts(place)
            if stamp not in self._explained and sent and now:
                drawn, packet = explained(contents.figures(sent.core, sent.place)), now[1]
                found = self.tray.findings.get(place, ())
                again = (
                    None
                    if packet.core == sent.core
                    else after_findings(explained(contents.figures(packet.core, packet.place)), found)
                )
                self._explained[stamp] = drawn, again
            self._explained.move_to_end(stamp)
            while len(self._explained) > LOOKED_AT:
                self._explained.popitem(last=False)
            return self._explained[stamp]
