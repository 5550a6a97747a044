"""`export --draft`: the figures that an edition of now would show, as files that say they are a draft. Nothing is posted, and the office's folder stays as it is."""

import argparse
import json
import time
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from webapp import plain_file
from webapp.archive import contents, replay
from webapp.archive.contents import OfficeToArchive
from webapp.canvass.edition import DRAFT, Edition, public, whole_blocks
from webapp.canvass.published import OneContest
from webapp.commands import Stop
from webapp.gate.refusals import GateRefused
from webapp.merging import held_out
from webapp.office.canvassing import certifying, edition_figures, edition_files, editions
from webapp.office.canvassing.added_ballots import AddedBallots
from webapp.office.canvassing.certifying import Certifying
from webapp.office.canvassing.editions import Changed, HeldFile
from webapp.office.received.packet_reports import PacketReports
from webapp.office.received.received_packets import ReceivedPackets
from webapp.packet.envelope import Opened, PacketRefused, open_packet
from webapp.precinct.place.place_file import Mistakes
from webapp.record.ledger import Ledger
from webapp.record.refusals import RecordRefused

PREFIX = "draft-"
BECAUSE = "A draft: nobody signed these figures, and they are not posted. It stays in the office: beside the next edition it can show how a few people voted."


@dataclass(frozen=True)
class DraftFiles:
    """The figures, and the files by name."""

    edition: Edition
    files: Mapping[str, HeldFile]


def run(options: argparse.Namespace) -> int:
    """0 written, 1 an edition before is not what was posted, 2 refused."""
    if options.edition is not None:
        raise Stop("A draft is of now, an edition is what was posted: say --draft or --edition, not both.")
    if options.archive or options.with_sealed:
        raise Stop("A draft goes into no archive: leave out --draft, or --archive.")
    if not (options.office / contents.RECORD).is_file():
        raise Stop(f"{options.office} holds no office.db: give the folder of an office that was opened before.")
    try:
        office = contents.opened(options.office)
        found, held = drawn(office, time.time_ns() // 1_000_000)
        digests = written(options.out, found)
    except Changed as wrong:
        raise Stop(str(wrong), 1) from None
    except Mistakes as wrong:
        raise Stop(f"office.toml cannot be used: {wrong.found[0][1]}") from None
    except (RecordRefused, GateRefused) as wrong:
        raise Stop(str(wrong)) from None
    one = found.edition
    answer = {"edition": None, "status": DRAFT, "cut": one.cut, "files": digests, "waiting": one.waiting, "held": held}
    if options.json:
        print(json.dumps(answer))
    else:
        out = f" Held out by the office: {', '.join(held)}." if held else ""
        print(
            f"Draft after entry {one.cut}: {one.inn} of {one.awaited} places, {len(digests)} files in {options.out}. Not posted; it stays in the office.{out}"
        )
    return 0


def drawn(office: OfficeToArchive, now: int) -> tuple[DraftFiles, list[str]]:
    """(the files of a draft, the places that the office holds out), by the same rules and after the same editions as at the desk. Raises Changed."""
    tray, added = replay.replayed(office.folder, office.roster, office.entries, dict(_packets(office)))
    with Ledger.read_only(office.folder / contents.RECORD) as record:
        stored = (entry for entry in record.entries() if entry.number in office.heads)
        desks = held_out.folded(office.roster, ((entry, record.texts(entry.number)) for entry in stored))
        held = held_out.weigh(tray, desks)
    for place, file in office.roster.places.items():
        if file.kind == "board" and not tray.in_totals(place):
            added.from_board(place, [])
    before = office.posted.figures()
    new = _edition(office, tray, added, before, now)
    if whole_blocks(before, new) is None:
        raise Changed("A draft would split a block that was posted. Look at Posting at the desk.")
    zone = ZoneInfo(next((place.zone for place in office.roster.places.values()), "UTC"))
    made = datetime.fromtimestamp(now // 1000, zone)
    reports = PacketReports(tray)
    board = {
        place: found[1] for place in office.roster.places if tray.in_totals(place) and (found := reports.weighed(place))
    }
    more = edition_files.more(new, made.isoformat(), office.roster, tray, added, board)
    last = f"{datetime.fromtimestamp(office.posted.posted[-1].kept // 1000, zone):%d %B %Y, %H:%M}" if before else ""
    ready = editions.ready(new, before, made.isoformat(), f"{made:%d %B %Y, %H:%M}", last, more)
    files = {f"{PREFIX}{name}": one for name, one in ready.files.items() if name != editions.EDITION}
    head = public(new, made.isoformat(), {name: one.digest for name, one in files.items()})
    files[f"{PREFIX}{editions.EDITION}"] = HeldFile((editions.as_json(head),))
    return DraftFiles(new, files), [place for place in held if not tray.in_totals(place)]


def _edition(
    office: OfficeToArchive,
    tray: ReceivedPackets,
    added: AddedBallots,
    before: Mapping[str, OneContest],
    now: int,
) -> Edition:
    """The draft: number 0, as a number never means two things."""
    shown = Certifying()
    for entry in office.entries:
        if entry.kind in certifying.TWO and len({s.party for s in entry.signers}) > 1 and not entry.body.get("short"):
            shown.add(entry, {})
    kept = edition_figures.figures_now(office.roster, tray, added)
    one = edition_figures.drawn_up(
        office.roster,
        added,
        kept,
        before,
        office.posted.next,
        now,
        office.entries[-1].number if office.entries else 0,
        DRAFT,
        BECAUSE,
        shown.shown,
    )
    return replace(one, number=0)


def _packets(office: OfficeToArchive) -> Iterator[tuple[bytes, Opened]]:
    """Every packet that was taken in and can still be read."""
    for digest in contents.received(office.entries).values():
        path = office.folder / contents.FOLDER / f"{digest.hex()}.cose"
        try:
            data = plain_file.read(path, contents.PACKET_LIMIT)
            yield digest, open_packet(data, office.roster.keys, None)
        except (OSError, PacketRefused):
            continue


def written(out: Path, found: DraftFiles) -> dict[str, str]:
    """A new folder with the files, each named as a draft; SHA-256 of each. One that is there is refused, and nothing is written over."""
    try:
        out.mkdir(parents=True)
        return {
            name: plain_file.write_new(out / name, one.pieces(), 0o644)[0] for name, one in sorted(found.files.items())
        }
    except FileExistsError:
        raise Stop(f"{out} is there already, and nothing is written over: choose another name.") from None
    except OSError as wrong:
        raise Stop(f"{out} cannot be written ({wrong.strerror}): choose another place.") from None
