"""Merges bundles into an office's folder: everything of a bundle is checked first, then its files are written, then its entries are recorded in one commit.

The order in which bundles come decides nothing. What is refused leaves the folder and the record as they were.
"""

import uuid
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from webapp import plain_file
from webapp.canvass import certifying as rules
from webapp.gate.refusals import GateRefused
from webapp.merging import bundle as bundles
from webapp.merging import bundling, desk_apart, desk_folder
from webapp.merging.brought import BROUGHT, MERGED, Brought
from webapp.merging.bundle import BESIDE, Bundle
from webapp.merging.continuing import Continued, continued
from webapp.merging.desk_apart import DeskApart
from webapp.merging.refusals import BundleRefused
from webapp.office.canvassing import editions
from webapp.office.canvassing.certifying import LOCKED, Certifying
from webapp.office.checking import packet_checks
from webapp.office.received.received_packets import FOLDER
from webapp.office.setup.roster import Roster
from webapp.packet.envelope import PacketRefused, parts_of
from webapp.precinct.numbers import few
from webapp.record.entry import Claim, Entry, Text

WAITING = "waiting-"
ById = Callable[[bytes], Entry | None]
"""The entry of the office's record that has this id, if any."""


@dataclass(frozen=True)
class Prepared:
    """A bundle that may be merged: its claims, one commit; () where it brings nothing new, or waits for an earlier one (`hole`)."""

    bundle: Bundle
    claims: tuple[Claim, ...]
    hole: tuple[int, int] | None
    says: str


class MergingTable:
    """An office's folder at the merging table. `locked`: the certified edition that nothing changes, None where there is none."""

    def __init__(self, folder: Path, roster: Roster, brought: Brought, known: ById, locked: int | None = None):
        if desk := desk_apart.of_folder(folder):
            raise GateRefused(
                f"This is the folder of desk {desk.id}: bundles are merged at the office, and nowhere else."
            )
        self.folder, self.roster, self.brought, self.known, self.locked = folder, roster, brought, known, locked
        self.office = desk_folder.office_publics(folder)

    def prepared(self, data: bytes, name: str, by: str = "") -> Prepared:
        """What this file brings, everything of it checked. `by`: who holds the tablet, "" where a command merges. Raises BundleRefused."""
        desk = self._desk(bundles.certificate_in(data, name), name)
        bundle = bundles.opened(data, name, desk)
        self._belongs(bundle, name)
        found = continued(bundle, self.brought.chains.get(desk.id), name)
        self._packets(bundle, found, name)
        claims = tuple(self._claims(bundle, found, name, by))
        return Prepared(bundle, claims, found.hole, _said(bundle, found))

    def lay_down(self, prepared: Prepared, data: bytes) -> None:
        """The bundle itself, and the packets in it: whole on the disk before the record names them."""
        home = self.home(prepared.bundle.desk.id)
        home.mkdir(mode=0o700, parents=True, exist_ok=True)
        digest = prepared.bundle.digest.hex()[:32]
        if prepared.hole:
            plain_file.write(home / f"{WAITING}{digest}.bundle", data)
            return
        (self.folder / FOLDER).mkdir(mode=0o700, exist_ok=True)
        for part, piece in prepared.bundle.beside.items():
            if not (self.folder / part).exists():
                plain_file.write(self.folder / part, piece)
        if prepared.claims:
            plain_file.write(home / f"{digest}.bundle", data)

    def home(self, desk: str) -> Path:
        """Returns the folder of one desk below the office's own."""
        return self.folder / desk_apart.FOLDER / desk

    def waiting(self, desk: str) -> Iterator[tuple[Path, bytes]]:
        """Bundles of a desk that waited for an earlier one."""
        for path in sorted(self.home(desk).glob(f"{WAITING}*.bundle")):
            yield path, plain_file.read(path, bundles.LARGEST)

    def _desk(self, certificate: bytes, name: str) -> DeskApart:
        """The desk that made a bundle, by this office's own certificate. Raises BundleRefused."""
        try:
            desk = desk_apart.opened(certificate, self.office)
        except BundleRefused as wrong:
            raise BundleRefused(
                f"{name} comes from no desk of this office ({wrong}). Ask who made it; nothing of it was taken."
            ) from None
        known = desk_apart.issued(self.folder, self.office).get(desk.id, [])
        if desk not in known:
            raise BundleRefused(
                f"{name} is signed with a key of desk {desk.id} that this office has no note of. Put the folder desks back from a copy; nothing of the bundle was taken."
            )
        if desk != known[-1]:
            raise BundleRefused(
                f"{name} is signed with a key of desk {desk.id} that was replaced. Find out where that folder is now, and keep the file; nothing of it was taken."
            )
        mine = "practice" if self.roster.practice else "live"
        if desk.mode != mine:
            raise BundleRefused(
                f"{name} is for {desk.mode}, and this office is for {mine}: practice and live never mix."
            )
        return desk

    def _belongs(self, bundle: Bundle, name: str) -> None:
        """This office, this election, place files that were issued here. Raises BundleRefused."""
        told, mine = bundle.contents, bundling.election(self.roster)
        if told.office != self.roster.office.id or bundle.desk.office != self.roster.office.id:
            raise BundleRefused(
                f"{name} is for the office {told.office}, and this is {self.roster.office.id}. Nothing of it was taken."
            )
        if told.election != mine:
            raise BundleRefused(
                f"{name} is of another election ({told.election[0]}, {told.election[1]}; here {mine[0]}, {mine[1]}). Nothing of it was taken."
            )
        strange = [
            place for place, rows in told.places.items() if not all(bytes(one) in self.roster.issued for one in rows)
        ]
        if strange:
            raise BundleRefused(
                f"{name} was made with a place file of {strange[0]} that this office never issued, of another edition. "
                "Put the folder places back from a copy, or ask at the desk; nothing of the bundle was taken."
            )

    def _packets(self, bundle: Bundle, found: Continued, name: str) -> None:
        """Every packet that new entries name is there and is one that intake would take. Raises BundleRefused."""
        for entry in (Entry.unpack(one.stored.data) for one in found.new if one.kind == "packet-received"):
            digest, place = bytes(entry.body.get("digest", b"")), entry.body.get("place")
            part = f"{FOLDER}/{digest.hex()}.cose"
            data = bundle.beside.get(part) or self._have(part)
            what = f"{name}: the packet of {place} in entry {entry.number} of desk {bundle.desk.id}"
            if data is None:
                raise BundleRefused(
                    f"{what} is not in the bundle. Make it again at that desk; nothing of it was taken."
                )
            try:
                report = packet_checks.check(parts_of(data), self.roster)
            except PacketRefused as wrong:
                raise BundleRefused(
                    f"{what} is refused: {str(wrong).rstrip('.')}. Nothing of the bundle was taken."
                ) from None
            if report.opened.digest != digest or report.place.id != place:
                raise BundleRefused(f"{what} is another one than the entry names. Nothing of the bundle was taken.")

    def _have(self, part: str) -> bytes | None:
        path = self.folder / part
        return plain_file.read(path, bundles.LARGEST) if BESIDE.fullmatch(part) and path.is_file() else None

    def _claims(self, bundle: Bundle, found: Continued, name: str, by: str) -> Iterator[Claim]:
        """`merged`, then each new entry as it is stored. Raises BundleRefused."""
        if not found.new:
            return
        told, first, last = bundle.contents, found.new[0], found.new[-1]
        if self.locked is not None and any(one.kind in LOCKED for one in found.new):
            raise BundleRefused(
                f"{name} would change figures, and edition {self.locked} is certified. A recount, a court or the law opens it again, under Certify; then merge."
            )
        packets = [
            bytes(e.body["digest"])
            for one in found.new
            if (e := Entry.unpack(one.stored.data)).kind == "packet-received"
        ]
        body = {
            "desk": bundle.desk.id, "kid": bundle.desk.kid, "record": told.record, "from": first.stored.number,
            "to": last.stored.number, "before": first.prev, "head": last.stored.head,
            "packets": sorted(set(packets)), "bundle": bundle.digest, **({"by": by} if by else {}),
        }  # fmt: skip
        yield Claim(uuid.uuid4().bytes, MERGED, body, told.made, "L", 0)
        for one in found.new:
            entry = Entry.unpack(one.stored.data)
            if (there := self.known(entry.id)) is not None:
                raise BundleRefused(
                    f"{name}: entry {entry.number} of desk {bundle.desk.id} bears the mark of entry {there.number} of this record. Nothing of it was taken."
                )
            words = {word: Text(salt, text) for word, salt, text in one.stored.words}
            yield _brought(bundle.desk.id, entry, one.stored.data, words)


def _brought(desk: str, entry: Entry, data: bytes, words: dict[str, Text]) -> Claim:
    body = {"desk": desk, "entry": data}
    return Claim(entry.id, BROUGHT, body, entry.happened, "L", 0, words)


def _said(bundle: Bundle, found: Continued) -> str:
    """What came of a bundle, for people."""
    desk, told = bundle.desk.id, bundle.contents
    if found.hole:
        first, last = found.hole
        wanted = f"entry {first} is" if first == last else f"entries {first} to {last} are"
        return f"Desk {desk}: waits, as {wanted} not here yet. It is merged with the bundle that has them."
    if not found.new:
        return f"Desk {desk}: nothing new, everything to its entry {told.to} was merged before."
    packets = sum(one.kind == "packet-received" for one in found.new)
    return f"Desk {desk}: {few(len(found.new), 'entry', 'entries')} merged, to its entry {told.to}, {few(packets, 'packet')}."


def after_waiting(office: MergingTable, desk: str, keep: Callable[[Sequence[Claim]], object]) -> list[str]:
    """Merge what waited for the bundle that was merged just now; what came of each."""
    said, moved = [], True
    while moved:
        moved = False
        for path, data in list(office.waiting(desk)):
            try:
                one = office.prepared(data, path.name)
            except BundleRefused as wrong:
                said.append(str(wrong))
                path.rename(path.with_name(path.name.replace(WAITING, "refused-")))
                continue
            if not one.hole:
                office.lay_down(one, data)
                if one.claims:
                    keep(one.claims)
                    said.append(one.says)
                path.unlink()
                moved = True
    return said


def locked(entries: Iterable[Entry]) -> int | None:
    """The certified edition that nothing changes, after these entries of the office's record; None where there is none."""
    statuses, certifying = [], Certifying()
    for entry in entries:
        if editions.is_posted(entry):
            statuses.append((entry.body["number"], entry.body["status"]))
        elif entry.kind == "reopened" and len({signer.party for signer in entry.signers}) > 1:
            certifying.add(entry, {})
    return rules.locked(statuses, certifying.reopened)
