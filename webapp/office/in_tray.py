"""The packets that were taken in, as they lie in `in/DIGEST.cose`, and which of them counts for each place.

A file is whole before the record names it, and is held against the digest in the record whenever it is read again: also a packet whose key the
office does not know cannot change here unseen.
"""

import hashlib
import os
from collections.abc import Mapping, Sequence
from pathlib import Path

from webapp.office import canvass, receive
from webapp.office.canvass import Packet
from webapp.office.receive import Known, Report
from webapp.office.roster import Roster
from webapp.packet.envelope import Opened, Refused, open_packet, parts_of

FOLDER = "in"


class InTray:
    """One office's packets by place, in the order in which they came."""

    def __init__(self, folder: Path, roster: Roster):
        self.folder, self.roster = Path(folder) / FOLDER, roster
        self.folder.mkdir(exist_ok=True)
        self.packets: dict[str, list[tuple[bytes, Opened]]] = {}
        self.lost: dict[str, list[str]] = {}                # place -> sentences about files that are not what was taken in
        self._reports: dict[tuple[bytes, int], Report] = {}
        self._groups: dict[str, canvass.Groups] = {}
        self._current: list[tuple[bytes, Packet]] | None = None

    def path(self, digest: bytes) -> Path:
        return self.folder / f"{digest.hex()}.cose"

    def lay(self, digest: bytes, parts: Sequence[bytes]) -> None:
        """The packet's file, whole on the disk or not there. The same packet twice is the same file."""
        whole, half = self.path(digest), self.path(digest).with_suffix(".part")
        with half.open("wb") as file:
            file.write(b"".join(parts))
            file.flush()
            os.fsync(file.fileno())
        half.replace(whole)

    def take_out(self, place: str, digest: bytes) -> None:
        """A packet that the record names, read from its file; what is wrong with the file is kept as a sentence."""
        name = f"{FOLDER}/{digest.hex()[:16]}….cose"
        try:
            parts = parts_of(self.path(digest).read_bytes())
            if hashlib.sha256(parts[0]).digest() != digest:
                raise Refused("other bytes lie there now")
            opened = open_packet(parts, self.roster.keys, self.roster.places[place].mode)
        except OSError as wrong:
            return self._lose(place, f"The file {name} that was taken in cannot be read ({wrong.strerror}). Put it back from a copy, or take the packet in again from paper.")
        except Refused as wrong:
            return self._lose(place, f"The file {name} is not what was taken in: {str(wrong).rstrip('.')}. Put it back from a copy, or take the packet in again from paper.")
        if digest not in [d for d, _ in self.packets.get(place, ())]:
            self.packets.setdefault(place, []).append((digest, opened))
            self.forget()

    def forget(self) -> None:
        """What was worked out over all places, as soon as another packet is in."""
        self._groups.clear()
        self._current = None

    def _lose(self, place: str, sentence: str) -> None:
        if sentence not in self.lost.setdefault(place, []):
            self.lost[place].append(sentence)

    def holds(self, place: str, digest: bytes) -> bool:
        """Whether this very packet was taken in before."""
        return any(known == digest for known, _ in self.packets.get(place, ()))

    def known(self) -> Mapping[str, Sequence[Known]]:
        """Every packet taken in, by place, for the check of another one."""
        return {place: self._known(place) for place in self.packets}

    def _known(self, place: str) -> tuple[Known, ...]:
        return tuple(Known(opened.core["number"], digest, opened.core["amends"]) for digest, opened in self.packets.get(place, ()))

    def standing(self, place: str) -> list[bytes]:
        """Digests of the packets that nobody amends; more than one is a contradiction."""
        return [digest for digest, _ in canvass.current([(digest, opened.core) for digest, opened in self.packets.get(place, ())])]

    def counts(self, place: str) -> tuple[bytes, Packet] | None:
        """The packet that counts for a place: of two that stand against each other the newest, until it is settled."""
        standing = self.standing(place)
        if not standing:
            return None
        opened = dict(self.packets[place])[standing[-1]]
        issued = self.roster.issued.get(opened.core["place_digest"], self.roster.places[place])
        return standing[-1], Packet(issued, opened.core)

    def current(self) -> list[tuple[bytes, Packet]]:
        """What counts for each place that is in, in the order of the office's list."""
        if self._current is None:
            self._current = [found for place in self.roster.places if (found := self.counts(place))]
        return self._current

    def report(self, place: str) -> Report | None:
        """Every check of the packet that counts for a place, drawn once for as long as no other packet of it comes in."""
        found = self.counts(place)
        if found is None:
            return None
        digest, _ = found
        key = digest, len(self.packets[place])
        if key not in self._reports:
            before = {place: [known for known in self._known(place) if known.digest != digest]}
            try:
                self._reports[key] = receive.judged(dict(self.packets[place])[digest], self.roster, before)
            except Refused as wrong:                    # taken in by an earlier edition of this program
                self._lose(place, str(wrong))
                return None
        return self._reports[key]

    def groups(self, contest: str) -> canvass.Groups:
        """The places whose ballots carry a contest, small ones joined with a neighbour."""
        if contest not in self._groups:
            self._groups[contest] = canvass.joined([p for _, p in self.current() if contest in p.core["contests"]], self.roster.office, contest)
        return self._groups[contest]

    def alone(self, place: str) -> frozenset[str]:
        """Contests whose votes may be shown for this place by itself: it has ballots enough, and no small place leans on it."""
        found = self.counts(place)
        if found is None:
            return frozenset()
        small = self.roster.office.small
        return frozenset(contest for contest in found[1].core["contests"]
                         for group, size in self.groups(contest) if [p.place.id for p in group] == [place] and not 0 < size < small)
