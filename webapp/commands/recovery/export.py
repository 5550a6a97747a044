"""`record export`: a place's record as one file of entries, for archives; `record verify` reads it. That it was exported is an entry, too."""

import argparse
import json
import os
import time
from collections.abc import Iterable
from pathlib import Path
from uuid import uuid4

import webapp
from webapp import plain_file
from webapp.commands import Stop
from webapp.commands.recovery import saved_folder
from webapp.precinct.place.ballot_kinds import COARSE_KINDS
from webapp.record.entry import Act, Claim
from webapp.record.ledger import Ledger
from webapp.record.refusals import RecordRefused
from webapp.stick.export import pieces, whole_header


def arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("folder", type=Path, metavar="DIR", help="the folder of a place, or of an office")
    parser.add_argument("--out", type=Path, required=True, metavar="FILE.cborseq", help="a file that is not there yet")
    parser.add_argument("--without-words", action="store_true", help="withhold the free words; the file still verifies")
    parser.add_argument("--json", action="store_true", help="one object on one line")


def run(options: argparse.Namespace) -> int:
    """0 exported, 2 refused."""
    office = saved_folder.is_office(options.folder)
    task = saved_folder.saved(options.folder, Path(os.devnull))  # to no stick: into one file
    record, now = task.record, time.time_ns() // 1_000_000
    if options.out.exists():
        raise Stop(f"{options.out} is there already, and nothing is written over: give another name.")
    try:
        with Ledger.open(record, frozenset() if office else COARSE_KINDS) as ledger:
            body = {"with_words": not options.without_words, "after": ledger.length}
            ledger.append(Act(Claim(uuid4().bytes, "exported", body, now, "L", 0), made=now), now=now)
            header = whole_header(ledger.record_id, task.what, task.id, task.mode, task.digest, now, webapp.__version__)
            _write(options.out, pieces(record, header, not options.without_words))
            last = ledger.newest
    except RecordRefused as wrong:
        raise Stop(str(wrong)) from None
    except OSError as wrong:
        raise Stop(
            f"{options.out} cannot be written ({wrong.strerror}): choose a folder that exists and may be written."
        ) from None
    told = {
        "record": header.record_id.hex(),
        "run": last.run,
        "last": last.number,
        "head": last.head.hex(),
        "bytes": options.out.stat().st_size,
    }
    print(
        json.dumps(told, separators=(",", ":"))
        if options.json
        else f"{options.out} is written, up to entry {last.number}."
    )
    return 0


def _write(path: Path, parts: Iterable[bytes]) -> None:
    with os.fdopen(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600), "wb") as file:
        file.writelines(parts)
        file.flush()
        plain_file.sync(file.fileno())
