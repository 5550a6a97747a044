"""Makes the bundle of a desk apart out of its folder, also while the desk is open: it only looks."""

from collections.abc import Iterator, Mapping
from hashlib import sha256
from pathlib import Path

from webapp import plain_file
from webapp.gate import keys
from webapp.merging import bundle, desk_apart
from webapp.merging.bundle import Contents
from webapp.merging.refusals import BundleRefused
from webapp.office.received.received_packets import FOLDER
from webapp.office.setup import roster
from webapp.office.setup.enrolment import OFFICE_FILE
from webapp.office.setup.roster import Roster
from webapp.precinct.place.toml_document import SIZE_LIMIT
from webapp.record.backup import StoredEntry, record_id_of, stored_after
from webapp.record.chain import first_head
from webapp.record.entry import Entry
from webapp.stick.segment import Header, pack_entry, pack_header
from webapp.version import VERSION

DESK_RECORD = "office.db"
"""A desk's record has the name that the office's has: it is opened by the same program."""
AT_ONCE = 1000  # entries read together


def made(folder: Path, now: int, after: int = 0) -> tuple[bytes, Contents]:
    """The bundle of every entry above `after` (`now` ms UTC), and what it says of itself. Raises BundleRefused, GateRefused, RecordRefused, Mistakes."""
    desk = desk_apart.of_folder(folder)
    if desk is None:
        raise BundleRefused(
            f"{folder} is no folder of a desk apart: give the one that `tapeseal office desk` made. The office itself makes archives, by `tapeseal export`."
        )
    if not (folder / DESK_RECORD).is_file():
        raise BundleRefused(f"Desk {desk.id} was not opened yet: there is nothing to bundle.")
    found, stored = roster.load(folder), list(_stored(folder / DESK_RECORD))
    record = record_id_of(folder / DESK_RECORD)
    here = {one.number: one.head for one in stored} | {0: first_head(record)}
    mine = [one for one in stored if one.number > after]
    if after not in here or not mine:
        raise BundleRefused(f"Desk {desk.id} has entries 1 to {max(here)}: give --after a smaller number of these.")
    entries = [Entry.unpack(one.data) for one in mine]
    toml = plain_file.read(folder / OFFICE_FILE, SIZE_LIMIT)
    header = Header(
        record, "office", desk.id, desk.mode, entries[0].run, after, here[after], sha256(toml).digest(), now, VERSION, bytes(16)
    )  # fmt: skip
    parts = {bundle.RECORD: pack_header(header) + b"".join(map(pack_entry, mine)), **_beside(folder, entries)}
    told = Contents(
        plain_file.read(folder / desk_apart.FILE, desk_apart.LIMIT), desk.office, election(found), issued(found),
        record, after, here[after], mine[-1].number, mine[-1].head, now, VERSION,
    )  # fmt: skip
    if sum(map(len, parts.values())) > bundle.LARGEST - bundle.ENVELOPE:
        raise BundleRefused(
            f"This bundle is larger than {bundle.LARGEST // 1048576} MB: make smaller ones with --after."
        )
    return bundle.packed(told, parts, keys.office_key(folder), desk.mode), told


def election(found: Roster) -> tuple[str, str]:
    """Name and day of the election of these place files."""
    first = next(iter(found.places.values()), None)
    return (first.election, first.date.isoformat()) if first else ("", "")


def issued(found: Roster) -> dict[str, list[bytes]]:
    """Every place file that was issued, by place."""
    rows: dict[str, list[bytes]] = {}
    for place in found.issued.values():
        rows.setdefault(place.id, []).append(place.digest)
    return {place: sorted(digests) for place, digests in sorted(rows.items())}


def _stored(record: Path) -> Iterator[StoredEntry]:
    last = 0
    while more := stored_after(record, last, AT_ONCE):
        yield from more
        last = more[-1].number


def _beside(folder: Path, entries: list[Entry]) -> Mapping[str, bytes]:
    """The packets that these entries received, and the files of count boards that go with them."""
    digests = {bytes(entry.body["digest"]).hex() for entry in entries if entry.kind == "packet-received"}
    paths = [folder / FOLDER / f"{digest}.cose" for digest in sorted(digests)]
    paths += sorted((folder / FOLDER).glob("*.csv"))
    return {f"{FOLDER}/{path.name}": plain_file.read(path, bundle.LARGEST) for path in paths if path.is_file()}
