"""The contents of an archive: file by file, with its name there. A public one has nothing that was not published, and the public halves of keys."""

import csv
import io
import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from hashlib import sha256
from itertools import islice
from pathlib import Path
from typing import Any

from webapp import plain_file
from webapp.archive import bag, replay
from webapp.archive.bag import PUBLIC, SEALED, Facts
from webapp.canvass import document
from webapp.gate import keys, signed_place_file
from webapp.merging.brought import unwrapped
from webapp.office.canvassing import editions
from webapp.office.canvassing.editions import Editions, Posted
from webapp.office.received.received_packets import FOLDER, ReceivedPackets
from webapp.office.setup import enrolment
from webapp.office.setup.roster import Roster, load
from webapp.packet.envelope import Opened, PacketRefused, open_packet
from webapp.paper.certificate_pages import certificate_pdf
from webapp.record.backup import heads_of, record_id_of
from webapp.record.check_words import check_words
from webapp.record.entry import Entry
from webapp.record.reader import Reader
from webapp.stick.export import pieces, whole_header
from webapp.version import VERSION

RECORD = "office.db"
HERE = Path(__file__).parent
PACKET_LIMIT, VOTES_LIMIT = 1024 * 1024, 64 * 1024 * 1024
PAPER = ("paper", "place", "container", "seal", "shelf", "state")
Files = Iterator[tuple[str, bytes | Iterator[bytes]]]


@dataclass(frozen=True)
class OfficeToArchive:
    """An office's folder as it is at one moment, opened for looking only; the record up to its newest entry then, what desks apart kept as what it is."""

    folder: Path
    roster: Roster
    posted: Editions
    entries: tuple[Entry, ...]
    heads: Mapping[int, bytes]

    @property
    def mode(self) -> str:
        return "practice" if self.roster.practice else "live"


def opened(folder: Path) -> OfficeToArchive:
    """The office in this folder. Raises RecordRefused, GateRefused or Mistakes."""
    heads = heads_of(folder / RECORD)
    entries = tuple(unwrapped(one for one in Reader(folder / RECORD).entries() if one.number in heads))
    posted = Editions(folder, move=False)
    for entry in entries:
        if editions.is_posted(entry):
            posted.post(editions.posted_of(entry, ""))
    return OfficeToArchive(folder, load(folder), posted, entries, heads)


def facts(office: OfficeToArchive, kind: str, now: int, sealed: str | None = None) -> Facts:
    """What the archive says of itself; `now` ms UTC."""
    first = next(iter(office.roster.places.values()))
    issued: dict[str, list[str]] = {}
    for place in office.roster.issued.values():
        issued.setdefault(place.id, []).append(place.digest.hex())
    return Facts(
        kind,
        office.roster.office.id,
        office.roster.office.name,
        office.mode,
        first.date.isoformat(),
        tuple(one.number for one in office.posted.posted),
        datetime.fromtimestamp(now // 1000, UTC).strftime("%Y-%m-%dT%H:%M:%SZ"),
        bag.keep_until(first.date).isoformat(),
        VERSION,
        {place: tuple(digests) for place, digests in issued.items()} if kind == SEALED else {},
        sealed,
    )


def files(office: OfficeToArchive, told: Facts, now: int) -> Files:
    """(name in the archive, its bytes) of everything in an archive of this kind. Raises Changed for an edition that is not what was posted."""
    yield bag.FACTS, _json(told.document())
    yield "data/READ-ME-FIRST.txt", _read_me(told)
    yield "data/verify.py", (HERE / "verify.py").read_bytes()
    yield bag.KEYS, _json(_keys(office))
    yield bag.HEADS, _json(_heads(office))
    for one in office.posted.posted:
        for name, path in office.posted.files(one.number).items():
            yield f"data/editions/{one.number}/{name}", plain_file.pieces(path, editions.LIMIT)
        paper = document.read(office.posted.data(one.number, *document.FILES))
        if paper.official:
            yield f"data/editions/{one.number}/certificate-{one.number}.pdf", certificate_pdf(paper)
    if told.kind == PUBLIC:
        return
    yield from _sealed(office, now)


def _sealed(office: OfficeToArchive, now: int) -> Files:
    """What a sealed archive has besides: the record, place files, packets, figures of each atom, the list of papers."""
    folder = office.folder
    for one in office.posted.posted:
        yield f"data/editions-sealed/{one.number}.json", _read(folder / editions.SEALED / f"{one.number}.json")
    toml = _read(folder / enrolment.OFFICE_FILE)
    yield "data/office/office.toml", toml
    record = record_id_of(folder / RECORD)
    header = whole_header(record, "office", office.roster.office.id, office.mode, sha256(toml).digest(), now, VERSION)
    yield (
        "data/office/office.cborseq",
        islice(pieces(folder / RECORD, header, with_words=True), len(office.entries) + 1),
    )
    for path in sorted((folder / enrolment.ISSUED).glob("*.cose")):
        place = signed_place_file.unproven(data := plain_file.read(path, signed_place_file.LIMIT))
        yield f"data/places/{place.id}/place-{place.digest.hex()[:16]}.cose", data
    packets: dict[bytes, Opened] = {}
    for name, digest in received(office.entries).items():
        path = folder / FOLDER / f"{digest.hex()}.cose"
        if path.is_file():
            yield name, (data := plain_file.read(path, PACKET_LIMIT))
            packets |= _packet(data, office.roster)
    for path in sorted((folder / FOLDER).glob("*.csv")):  # batches and votes by precinct of count boards
        yield f"data/boards/{path.name}", plain_file.read(path, VOTES_LIMIT)
    tray, _ = replay.replayed(folder, office.roster, office.entries, packets)
    yield "data/paper/INDEX.csv", _papers(tray, office.roster)


def received(entries: tuple[Entry, ...]) -> dict[str, bytes]:
    """Name in an archive -> digest of every packet that the record says was received."""
    found = {}
    for entry in entries:
        if entry.kind == "packet-received":
            digest = bytes(entry.body["digest"])
            found[f"data/places/{entry.body['place']}/packet-{entry.body['number']}-{digest.hex()[:16]}.cose"] = digest
    return found


def _packet(data: bytes, roster: Roster) -> dict[bytes, Opened]:
    """{digest: the packet}; {} where it cannot be read any more."""
    try:
        found = open_packet(data, roster.keys, None)
    except PacketRefused:
        return {}
    return {found.digest: found}


def _keys(office: OfficeToArchive) -> dict[str, Any]:
    """Public keys alone: the office's, and every key it enrolled for a place, from when to when, and when it was lost. Times in ms UTC."""
    folder, spares = office.folder, office.roster.spares
    before = keys.held(folder, keys.BEFORE)
    return {
        "office": {
            "id": office.roster.office.id,
            "public": keys.office_key(folder).public_key().public_bytes_raw().hex(),
            "before": before.hex() if before else None,
        },
        "places": [
            {
                "kid": row.kid.hex(),
                "place": row.place,
                "mode": row.mode,
                "public": row.public.hex(),
                "from": row.from_ms,
                "to": row.to_ms,
                "lost": row.lost_at,
                "spare": row.kid in spares,
            }
            for row in sorted(office.roster.enrolments.values(), key=lambda row: (row.from_ms, row.kid))
        ],
    }


def _heads(office: OfficeToArchive) -> list[dict[str, Any]]:
    """Head and check words of the office's record at the cut of each edition, and after the newest entry."""
    rows: list[dict[str, Any]] = [_head(office, one) for one in office.posted.posted]
    last = max(office.heads)
    return [*rows, {"entry": last, "head": office.heads[last].hex(), "words": check_words(office.heads[last])}]


def _head(office: OfficeToArchive, one: Posted) -> dict[str, Any]:
    head = office.heads[one.cut]
    return {
        "entry": one.cut,
        "head": head.hex(),
        "words": check_words(head),
        "edition": one.number,
        "digest": one.digest.hex(),
    }


def _papers(tray: ReceivedPackets, roster: Roster) -> bytes:
    """`INDEX.csv`: a row a container of each place, and a row a paper that a place was keyed from. Shelf: to be written in by the custodian."""
    out = io.StringIO()
    sheet = csv.writer(out, lineterminator="\n")
    sheet.writerow(PAPER)
    for place in roster.places:
        found = tray.sent(place)
        for row in found.core["containers"] if found else ():
            sheet.writerow(["", place, row["id"], row.get("seal") or "", "", "sealed" if row.get("seal") else ""])
        for keyed in tray.papers.get(place, ()):
            sheet.writerows([one.id, place, "", "", "", one.state] for one in keyed.papers)
    return out.getvalue().encode()


def _read(path: Path) -> bytes:
    try:
        return plain_file.read(path, editions.LIMIT)
    except OSError as wrong:
        raise editions.Changed(
            f"{path.parent.name}/{path.name} cannot be read ({wrong.strerror}). Put it back from a copy of the office's folder."
        ) from None


def _json(value: Any) -> bytes:
    return (json.dumps(value, ensure_ascii=False, indent=1) + "\n").encode()


def _read_me(told: Facts) -> bytes:
    text = (HERE / f"READ-ME-FIRST-{told.kind}.txt").read_text(encoding="utf-8")
    return text.format(
        name=told.name,
        day=told.election_day,
        until=told.keep_until,
        editions=", ".join(map(str, told.editions)) or "none",
        practice="PRACTICE: no real ballot is in it.\n" if told.mode == "practice" else "",
        sealed=f"The SHA-256 of its manifest\nis {told.sealed}; in the sealed folder: sha256sum {bag.MANIFEST}"
        if told.sealed
        else "This copy was made\nwithout naming it: nothing here says which one it is.",
    ).encode()
