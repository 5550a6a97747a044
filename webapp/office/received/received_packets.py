"""The packets that were received, as they are in `in/DIGEST.cose`, and which of them counts for each place.

A file is whole before the record names it, and is checked against the digest in the record whenever it is read again:
also a packet whose key the office does not know cannot change here unseen. What the desk found is applied to a
packet's figures here, and never to its bytes.
"""

import hashlib
import threading
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path

from webapp import plain_file
from webapp.canvass.counts import Row
from webapp.office.checking.single_checks import Known, is_proven
from webapp.office.checking.what_counts import NOTHING, Aside, PacketsInForce, Received, Ruling, outcome
from webapp.office.keying.from_paper import KeyedPlace
from webapp.office.questions.findings import Finding, fits, overlaid
from webapp.office.questions.recounted import laid_on
from webapp.office.questions.withdrawn import Withdrawal, in_force
from webapp.office.setup.roster import Roster
from webapp.office.totals.over_all_places import OverAllPlaces
from webapp.office.totals.totals import PacketFigures
from webapp.packet.envelope import Opened, PacketRefused, file_digest, open_packet, parts_of
from webapp.precinct.place.place import Place

FOLDER = "in"
MARKS = ("held", "unproven", "paper", "against", "apart", "out", "differs")
"""A packet is held; one that is not proven counts; the place counts from paper; two packets disagree; paper disagrees; a difference holds the place
out of the totals, or stamps it."""


class ReceivedPackets:
    """One office's packets by place, in the order in which they came."""

    def __init__(self, folder: Path, roster: Roster):
        self.folder, self.roster = Path(folder) / FOLDER, roster
        self.folder.mkdir(mode=0o700, exist_ok=True)
        self.packets: dict[str, list[tuple[bytes, Opened]]] = {}
        self.lost: dict[str, list[str]] = {}  # place -> sentences about files that are not what was taken in
        self.found: dict[str, list[Finding]] = {}  # place -> every finding of the desk, in order,
        self.withdrawals: dict[str, list[Withdrawal]] = {}  # those that two parties withdrew,
        self.findings: dict[str, list[Finding]] = {}  # and what is left of them: no place without any
        self.rulings: dict[str, list[Ruling]] = {}  # place -> which packet two parties let count
        self.papers: dict[str, list[KeyedPlace]] = {}  # place -> what was keyed from its paper
        self.recounts: dict[str, Mapping[str, Row]] = {}  # place -> recounted rows of its return, by contest
        self.asides: dict[str, list[Aside]] = {}  # place -> packets that two parties set aside, or brought back
        self.marks: dict[str, set[str]] = {name: set() for name in MARKS}  # what is so of a place -> the places
        self.over_all = OverAllPlaces(roster)  # those in the totals
        self.lock = threading.RLock()  # pages ask for reports while a packet comes in
        self._in_force: dict[
            str, tuple[bytes, PacketFigures]
        ] = {}  # what counts for a place, also held out of the totals
        self._outcomes: dict[str, PacketsInForce] = {}
        self._known: dict[str, tuple[Known, ...]] = {}
        self._laid: dict[bytes, Opened] = {}  # digest -> what was verified of a file that no entry names yet

    def path(self, digest: bytes) -> Path:
        """Returns the file of the packet with this digest, whether it is there or not."""
        return self.folder / f"{digest.hex()}.cose"

    def lay(self, opened: Opened, parts: Sequence[bytes]) -> None:
        """Writes the packet's file, whole on the disk or not there. The same packet twice is the same file.

        opened: these very bytes, verified. Raises ValueError where they are others, OSError where the disk refuses.
        """
        data = b"".join(parts)
        if file_digest(data) != opened.file_digest:
            raise ValueError("a packet is laid down as the bytes that were verified, and these are others")
        plain_file.write(self.path(opened.digest), data)
        self._laid[opened.digest] = opened

    def take_out(self, place: str, digest: bytes) -> None:
        """Reads a packet that the record names from its file; what is wrong with the file is kept as a sentence."""
        name = f"{FOLDER}/{digest.hex()[:16]}….cose"
        try:
            opened = self._read(place, digest)
        except OSError as wrong:
            return self.lose(
                place,
                f"The file {name} that was taken in cannot be read ({wrong.strerror}). Put it back from a copy, or take the packet in again from paper.",
            )
        except PacketRefused as wrong:
            return self.lose(
                place,
                f"The file {name} is not what was taken in: {str(wrong).rstrip('.')}. Put it back from a copy, or take the packet in again from paper.",
            )
        self.count_in(place, digest, opened)

    def _read(self, place: str, digest: bytes) -> Opened:
        """The packet in its file: as it was verified when it was stored, if these are the same bytes still; else verified again."""
        data, laid = self.path(digest).read_bytes(), self._laid.pop(digest, None)
        if laid is not None and file_digest(data) == laid.file_digest:
            return laid
        parts = parts_of(data)
        if hashlib.sha256(parts[0]).digest() != digest:
            raise PacketRefused("other bytes lie there now")
        return open_packet(parts, self.roster.keys, self.roster.places[place].mode)

    def count_in(self, place: str, digest: bytes, opened: Opened) -> None:
        """Adds a packet of a place; the same one twice is one."""
        if digest not in [d for d, _ in self.packets.get(place, ())]:
            self.packets.setdefault(place, []).append((digest, opened))
            self._known[place] = tuple(
                Known(o.core["number"], d, o.core["amends"], is_proven(o, self.roster), o.core.get("restored"))
                for d, o in self.packets[place]
            )
            self._count(place)

    def find(self, place: str, finding: Finding) -> None:
        """Applies a finding of the desk to a place's figures from here on."""
        found = self.found.setdefault(place, [])
        found.append(finding)
        found.sort(key=lambda one: (one.kept, one.id))  # what counts is never a matter of which came first
        self._find(place)

    def withdraw(self, place: str, withdrawal: Withdrawal) -> None:
        """Applies a withdrawal: from here on these findings of the place change no figure."""
        self.withdrawals.setdefault(place, []).append(withdrawal)
        self._find(place)

    def _find(self, place: str) -> None:
        self.findings.pop(place, None)
        if left := in_force(self.found.get(place, ()), self.withdrawals.get(place, ())):
            self.findings[place] = left
        self._count(place)

    def recount(self, place: str, rows: Mapping[str, Row]) -> None:
        """Applies recounted rows: from here on they replace those of the place's return."""
        if dict(rows) != dict(self.recounts.get(place, {})):
            self.recounts[place] = rows
            self._count(place)

    def rule(self, place: str, ruling: Ruling) -> None:
        """Two parties signed which packet counts."""
        self.rulings.setdefault(place, []).append(ruling)
        self._count(place)

    def set_aside(self, place: str, aside: Aside) -> None:
        """Two parties set a packet aside, or brought it back."""
        self.asides.setdefault(place, []).append(aside)
        self._count(place)

    def key(self, place: str, keyed: KeyedPlace) -> None:
        """Two parties keyed the place from its paper."""
        self.papers.setdefault(place, []).append(keyed)
        self._count(place)

    def paper(self, place: str, digest: bytes) -> KeyedPlace | None:
        """The place as it was keyed, by the digest of its figures; of equal ones the newest."""
        return next((one for one in reversed(self.papers.get(place, ())) if one.digest == digest), None)

    def file_of(self, place: str, opened: Opened) -> Place:
        """The place file that a packet or a paper was made with; the newest one where that was never issued."""
        return self.roster.issued.get(opened.core["place_digest"], self.roster.places[place])

    def differs(self, place: str, so: bool) -> bool:
        """Memory not loaded, or a tape that says otherwise: by the office file the place is held out of the totals, or stamped. Whether that changed."""
        name = "out" if self.roster.office.on_difference == "hold" else "differs"
        if so == (place in self.marks[name]):
            return False
        (self.marks[name].add if so else self.marks[name].discard)(place)
        if name == "out":
            self._count(place)
        return True

    def outcome(self, place: str) -> PacketsInForce:
        """Which packet of a place counts, which are held, which contradict it."""
        return self._outcomes.get(place, NOTHING)

    def _decide(self, place: str) -> PacketsInForce:
        received = [
            Received(one.digest, one.number, opened.core["made"], one.amends, one.proven)
            for one, (_, opened) in zip(self._known.get(place, ()), self.packets.get(place, ()), strict=True)
        ]
        sent = self.packets.get(place, ())
        keyed = [one.as_paper(self.file_of(place, one.opened), sent) for one in self.papers.get(place, ())]
        found = outcome(received, self.rulings.get(place, ()), self.asides.get(place, ()), keyed)
        self._outcomes[place] = found
        so = {
            "held": bool(found.held),
            "unproven": not found.proven,
            "paper": found.paper,
            "against": found.contradicted and not keyed,
            "apart": found.contradicted and bool(keyed),
        }
        for name, holds in so.items():
            (self.marks[name].add if holds else self.marks[name].discard)(place)
        return found

    def _count(self, place: str) -> None:
        """What counts for a place may be another packet now, or have other figures: everything over all places moves with it."""
        with self.lock:
            self._moved(place)

    def _moved(self, place: str) -> None:
        self._decide(place)
        now = self._weighed(place)
        self._in_force.pop(place, None)
        self.over_all.take(place)
        if now is not None:
            self._in_force[place] = now
            if place not in self.marks["out"]:
                self.over_all.put(place, now)

    def lose(self, place: str, sentence: str) -> None:
        """Notes a sentence about a packet of this place that cannot be read again; the same sentence counts once."""
        if sentence not in self.lost.setdefault(place, []):
            self.lost[place].append(sentence)

    def holds(self, place: str, digest: bytes) -> bool:
        """Whether this very packet was received before."""
        return any(known == digest for known, _ in self.packets.get(place, ()))

    def known(self) -> Mapping[str, Sequence[Known]]:
        """Every packet received, by place, for the check of another one."""
        return self._known

    def counts(self, place: str) -> tuple[bytes, PacketFigures] | None:
        """The packet that counts for a place, with the desk's findings applied, also while it is held out of the totals."""
        return self._in_force.get(place)

    def sent(self, place: str) -> PacketFigures | None:
        """The packet that counts as the place sent it."""
        found = self._in_force.get(place)
        return self.packet(place, found[0]) if found else None

    def _weighed(self, place: str) -> tuple[bytes, PacketFigures] | None:
        digest = self.outcome(place).digest
        if digest is None:
            return None
        sent = self.packet(place, digest)
        core = overlaid(sent.core, sent.place, self.findings.get(place, ()))
        return digest, PacketFigures(sent.place, laid_on(core, self.recounts.get(place, {})))

    def packet(self, place: str, digest: bytes) -> PacketFigures:
        """One packet of a place as it was sent, or the place as it was keyed, with its place file. Raises KeyError."""
        opened = self.opened(place, digest)
        return PacketFigures(self.file_of(place, opened), opened.core)

    def opened(self, place: str, digest: bytes) -> Opened:
        """One packet of a place, or what was keyed from its paper. Raises KeyError."""
        keyed = self.paper(place, digest)
        return keyed.opened if keyed else dict(self.packets.get(place, ()))[digest]

    def current(self) -> list[tuple[bytes, PacketFigures]]:
        """What counts for each place that is in, in the order of the office's list."""
        return [found for place in self.roster.places if (found := self.over_all.counting.get(place))]

    def in_totals_now(self) -> Iterable[str]:
        """Every place that is in the totals."""
        return self.over_all.counting

    def stamps(self) -> dict[str, str]:
        """Place -> of which packet, how many packets, decisions and findings of it there are."""
        return {place: self.stamp(place) for place in self.over_all.counting}

    def stamp(self, place: str) -> str:
        """Returns a text that changes whenever the figures of this place do: packet in force, findings, rulings, papers, recounts, withdrawals."""
        found, more = self._in_force[place][0], self.found.get(place)
        decided = len(self.rulings.get(place, ())) + len(self.asides.get(place, ()))
        keyed = self.papers.get(place, ())
        came = f"{found.hex()}/{len(self.packets.get(place, ()))}/{_told(more)}/{decided}"
        rows = sorted((contest, *row) for contest, row in self.recounts.get(place, {}).items())
        again = f"/r{hashlib.sha256(repr(rows).encode()).hexdigest()[:8]}" if rows else ""
        left = self.withdrawals.get(place)
        gone = f"/w{len(left)}-{max(one.number for one in left)}" if left else ""
        return came + (f"/{keyed[-1].number}" if keyed else "") + again + gone

    def corrected(self, place: str) -> bool:
        """Whether figures that the desk found otherwise are in what counts for this place; one that fits no packet that counts is in no figure."""
        sent = self.sent(place)
        return sent is not None and any(fits(sent.core, sent.place, one) for one in self.findings.get(place, ()))

    def in_totals(self, place: str) -> bool:
        """Whether the place is in the totals: something counts for it, and nothing holds it out of them."""
        return place in self.over_all.counting


def _told(findings: Sequence[Finding] | None) -> str:
    """Findings of a place in a stamp: how many there are and the newest entry among them."""
    return f"{len(findings)}-{max(one.number for one in findings)}" if findings else "0"
