"""`record backup`: one whole copy of a place's record on a stick, now; also while a server is writing it."""

import argparse
import json
import time
from pathlib import Path

from webapp.commands import Stop
from webapp.commands.recovery import saved_folder
from webapp.stick.copier import Copier
from webapp.stick.folder import READ_ME

SAYS = {
    "gone": "{path} is not there: put the stick in and give its path.",
    "full": "The stick at {path} is full. What was copied before stays; put another one in.",
    "unwritable": "The stick at {path} cannot be written ({why}): take its write protection off, or put another one in.",
    "other-history": "The stick at {path} holds another history of this record: nothing was written on it. Keep it, put another one in, and call the election office.",
}


def arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("folder", type=Path, metavar="DIR", help="the folder of a place, or of an office")
    parser.add_argument(
        "--to", type=Path, required=True, metavar="STICK", help="path of the stick; a folder is made on it"
    )
    parser.add_argument("--json", action="store_true", help="one object on one line")


def run(options: argparse.Namespace) -> int:
    """0 everything is on the stick, 2 it could not be used."""
    copier = Copier(saved_folder.saved(options.folder, options.to), lambda: time.time_ns() // 1_000_000)
    while copier.copy_new():
        pass
    copier.snapshot()
    if copier.state != "on":
        raise Stop(SAYS[copier.state].format(path=options.to, why=copier.why))
    folder = copier.folder
    told = {
        "stick": copier.stick.hex(),
        "record": copier.task.record_id.hex(),
        "run": copier.run,
        "last": copier.number,
        "head": copier.head.hex(),
        "bytes": sum(path.stat().st_size for path in folder.rglob("*") if path.is_file() and path.name != READ_ME),
    }
    if options.json:
        print(json.dumps(told, separators=(",", ":")))
    else:
        print(f"{folder}: everything up to entry {copier.number} is on the stick, and a whole copy.")
    return 0
