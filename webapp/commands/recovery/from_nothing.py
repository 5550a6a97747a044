"""A spare laptop where nothing is left of the record: no stick, no old disk. A new record says so in its first entry, and tablets give back what they hold."""

import argparse
import time
from pathlib import Path
from uuid import uuid4

from webapp import plain_file
from webapp.commands import Stop
from webapp.commands.recovery import saved_folder
from webapp.gate import kit, signed_place_file, spare
from webapp.gate.refusals import GateRefused
from webapp.precinct.place.ballot_kinds import COARSE_KINDS
from webapp.precinct.place.place import Place
from webapp.record.check_words import check_words
from webapp.record.entry import Act, Claim
from webapp.record.ledger import Ledger
from webapp.stick.restore import RestoreOutcome
from webapp.version import VERSION


def laid_down(options: argparse.Namespace, out: Path, code: str) -> RestoreOutcome:
    """Make the record and the gate in this empty folder, the place file last. Raises GateRefused, RecordRefused, OSError, Stop."""
    sealed = plain_file.read(options.nothing, signed_place_file.LIMIT)
    opened, place = _who(options, sealed, code)
    now = time.time_ns() // 1_000_000
    body = {
        "place": place.id,
        "place_digest": place.digest,
        "mode": place.mode,
        "version": VERSION,
        "clock": "real",
        "instead_of": True,
        "kit": "spare" if opened else "fresh",
        "seen": options.seen,
        "laptop": options.laptop,
    }
    with Ledger.create(out / saved_folder.RECORD, coarse=COARSE_KINDS) as ledger:
        ledger.append(Act(Claim(uuid4().bytes, "record-opened", body, now, "L", 0), (), now), now=now)
        head = ledger.head
    if opened:
        spare.lay_down(out, place, opened)
    else:
        spare.lay_down_fresh(out, place)
    (out / signed_place_file.FILE).write_bytes(sealed)
    return RestoreOutcome(out / saved_folder.RECORD, 1, 0, 1, head, check_words(head), 0, 0, 0, "nothing", 0, 0)


def _who(options: argparse.Namespace, sealed: bytes, code: str) -> tuple[kit.Kit | None, Place]:
    if options.fresh:
        return None, signed_place_file.unproven(sealed)
    data = kit.read(options.kit)
    opened = kit.opened(data, code, options.kit.name)
    place = signed_place_file.opened(sealed, opened.office)
    if (opened.place, opened.mode, opened.digest) != (place.id, place.mode, place.digest):
        raise GateRefused(
            f"{options.kit.name} is the kit of {opened.place} for {opened.mode}, or of another edition of its place file than "
            f"{options.nothing.name}, which is of {place.id} for {place.mode}. Give the two that the office laid side by side."
        )
    return opened, place


def fits(options: argparse.Namespace, stick: Path | None) -> None:
    """Raises Stop unless the options say clearly what the record goes on from."""
    if stick and options.nothing:
        raise Stop("Give the stick, or --nothing with the place file where there is no stick: not both.")
    if not stick and not options.nothing:
        raise Stop(
            "Give the path of the stick; where nothing is left of it, say --nothing with the place's place.cose."
        )
    if options.nothing and options.expect:
        raise Stop(
            "--expect holds words from paper against the stick: with --nothing there is none to hold them against."
        )
