"""Make a place's folder from its signed place file: its keys, its pepper, the verifiers of its slips, the certificate for its tablets; and the slips to print."""

import argparse
import json
import time
from pathlib import Path

from webapp.commands import Stop
from webapp.commands.place import contents
from webapp.gate import certificates
from webapp.gate.refusals import GateRefused
from webapp.office.setup import enrolment, renewal

NAME = "enrol"
HELP = "make a place's folder, with its keys, and print the slips for its officials"


def arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", type=Path, metavar="place.cose", help="as `tapeseal place build` wrote it")
    parser.add_argument("--office", type=Path, required=True, metavar="DIR")
    parser.add_argument(
        "--out",
        type=Path,
        required=True,
        metavar="PLACE_DIR",
        help="a new folder, which goes to the place; with --renew the file to write, or a folder for it",
    )
    parser.add_argument(
        "--replace", action="store_true", help="the place was enrolled before: this key takes over from now on"
    )
    parser.add_argument("--lost", action="store_true", help="with --replace: the old key may be in other hands")
    parser.add_argument(
        "--renew", action="store_true", help="write only a newer certificate for the laptop that was enrolled before"
    )
    parser.add_argument(
        "--domain",
        default="",
        metavar="NAME",
        help="what a new certificate authority may speak for; default: the domain above the place's host",
    )
    parser.add_argument(
        "--spare",
        action="store_true",
        help="in practice too: make the kit of a spare laptop, its sheet and second codes; a live place always gets them",
    )
    parser.add_argument("--json", action="store_true", help="one object on one line; codes are on the slips only")


def run(options: argparse.Namespace) -> int:
    """0 enrolled, 2 refused."""
    if options.lost and not options.replace:
        raise Stop("--lost is about the key before: say --replace with it.")
    if options.renew and (options.replace or options.domain):
        raise Stop(
            "--renew keeps the laptop's key and its authority: leave --replace and --domain out, or enrol again without --renew."
        )
    sealed, now = contents(options.file), time.time_ns() // 1_000_000
    try:
        if options.renew:
            return renewed(
                renewal.renew(
                    sealed,
                    options.office,
                    options.out / certificates.RENEWED if options.out.is_dir() else options.out,
                    now,
                ),
                options.json,
            )
        spare = options.spare or renewal.mode_of(sealed, options.office) == "live"
        made = enrolment.enrol(
            sealed, options.office, options.out, now, options.replace, options.lost, options.domain, spare
        )
    except GateRefused as wrong:
        raise Stop(str(wrong)) from None
    if options.json:
        print(
            json.dumps(
                {
                    "place": made.place.id,
                    "mode": made.place.mode,
                    "digest": made.place.digest.hex(),
                    "kid": made.kid.hex(),
                    "folder": str(made.folder),
                    "slips": str(made.slips),
                    "codes": str(made.codes) if made.codes else None,
                    "authority": str(made.authority) if made.authority else None,
                    **({"kit": str(made.kit)} if made.kit else {}),
                },
                ensure_ascii=False,
                separators=(",", ":"),
            )
        )
    else:
        print("\n".join(print_made(made)))
    return 0


def print_made(made: enrolment.Enrolled) -> list[str]:
    lines = [
        f"{made.folder}: {made.place.name} ({made.place.id}), enrolled for {made.place.mode} with key {made.kid.hex()}. This folder goes to the laptop.",
        f"{made.slips}: {len(made.place.officials)} slips. Print them, hand each over in person separately from the laptop, and delete the file.",
    ]
    if made.codes:
        lines.append(f"{made.codes}: the same codes for rehearsals, written for practice only.")
    if made.kit:
        lines.append(
            f"{made.kit}: the kit of a spare laptop. Copy it to every spare laptop, or to a stick of its own. Its code is on the spare sheet, the first page of {made.slips.name}: seal that page into a numbered envelope and put it into the case."
        )
    if made.authority:
        lines.append(
            f"{made.authority}: tell the tablets to trust this certificate when they are prepared. Its fingerprint (SHA-256): {' '.join(made.fingerprint)}"
        )
    return lines


def renewed(made: renewal.Renewed, as_json: bool) -> int:
    if as_json:
        print(
            json.dumps(
                {
                    "place": made.place.id,
                    "mode": made.place.mode,
                    "file": str(made.file),
                    "until": made.until.date().isoformat(),
                },
                ensure_ascii=False,
                separators=(",", ":"),
            )
        )
    else:
        print(
            f"{made.file}: lasts until {made.until:%d %B %Y} and holds no secret. Lay it into the folder of {made.place.name} as {certificates.RENEWED}; "
            "a running laptop takes it in within a minute."
        )
    return 0
