"""`record lost`: which numbers of the run before nobody has given back, as far as anybody can know."""

import argparse
import json
from pathlib import Path

from webapp.commands import Stop
from webapp.commands.recovery import saved_folder
from webapp.record.ledger import Ledger
from webapp.record.refusals import RecordRefused
from webapp.stick.returns import account


def arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("folder", type=Path, metavar="DIR", help="the folder that was restored")
    parser.add_argument("--seen", type=int, metavar="NUMBER", help="the highest entry number that anybody saw")


def run(options: argparse.Namespace) -> int:
    """0 nothing lost and no tablet open, 1 otherwise, 2 refused."""
    record = saved_folder.record_of(options.folder)
    try:
        with Ledger.read_only(record) as reader:
            found = account(reader, options.seen)
    except RecordRefused as wrong:
        raise Stop(str(wrong)) from None
    if found is None:
        raise Stop("This record was never restored: no number of it can be lost.")
    if options.seen is not None and options.seen >= found.first > 1:
        raise Stop(
            f"Entry {found.first} and those after it are of this laptop: give --seen the highest number from before."
        )
    told = {
        "last": found.last,
        "first": found.first,
        "seen": found.seen,
        "given_back": list(found.given_back),
        "lost": list(found.lost),
        "open": list(found.open),
    }
    print(json.dumps(told))
    return 1 if found.lost or found.open else 0
