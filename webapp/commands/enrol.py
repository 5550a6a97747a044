"""Make a place's folder from its signed place file: its key, its pepper and the verifiers of its slips; and the slips to print."""

import argparse
import json
import time
from pathlib import Path

from webapp.commands import Stop
from webapp.commands.place import contents
from webapp.gate.refusals import Refused
from webapp.office import enrolment

NAME = "enrol"
HELP = "make a place's folder, with its keys, and print the slips for its officials"


def arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", type=Path, metavar="place.cose", help="as `tapeseal place build` wrote it")
    parser.add_argument("--office", type=Path, required=True, metavar="DIR")
    parser.add_argument("--out", type=Path, required=True, metavar="PLACE_DIR", help="a new folder, which goes to the place")
    parser.add_argument("--replace", action="store_true", help="the place was enrolled before: this key takes over from now on")
    parser.add_argument("--lost", action="store_true", help="with --replace: the old key may be in other hands")
    parser.add_argument("--json", action="store_true", help="one object on one line; codes are on the slips only")


def run(options: argparse.Namespace) -> int:
    """0 enrolled, 2 refused."""
    if options.lost and not options.replace:
        raise Stop("--lost speaks of the key before: say --replace with it.")
    sealed = contents(options.file)
    try:
        made = enrolment.enrol(sealed, options.office, options.out, time.time_ns() // 1_000_000, options.replace, options.lost)
    except Refused as wrong:
        raise Stop(str(wrong)) from None
    if options.json:
        print(json.dumps({"place": made.place.id, "mode": made.place.mode, "digest": made.place.digest.hex(), "kid": made.kid.hex(),
                          "folder": str(made.folder), "slips": str(made.slips), "codes": str(made.codes) if made.codes else None},
                         ensure_ascii=False, separators=(",", ":")))
    else:
        print("\n".join(told(made)))
    return 0


def told(made: enrolment.Enrolled) -> list[str]:
    lines = [f"{made.folder}: {made.place.name} ({made.place.id}), enrolled for {made.place.mode} with key {made.kid.hex()}. This folder goes to the laptop.",
             f"{made.slips}: {len(made.place.officials)} slips. Print them, hand each over in person by another road than the laptop, and delete the file."]
    if made.codes:
        lines.append(f"{made.codes}: the same codes for rehearsals, written for practice only.")
    return lines
