"""Check an archive of an election: every byte, every signature, and whether its figures follow from what the office kept."""

import argparse
import json
from pathlib import Path

from webapp.archive import check
from webapp.archive.folder_check import NoArchive
from webapp.commands import Stop

NAME = "archive"
HELP = "check an archive that `export --archive` wrote"


def arguments(parser: argparse.ArgumentParser) -> None:
    verbs = parser.add_subparsers(dest="verb", required=True, metavar="verify")
    verify = verbs.add_parser("verify", help="say what in an archive agrees, and name what does not")
    verify.add_argument("folder", type=Path, metavar="DIR", help="the archive: the folder with bagit.txt in it")
    verify.add_argument("--json", action="store_true", help="one object on one line")


def run(options: argparse.Namespace) -> int:
    """0 all agrees, 1 something does not and is named, 2 there is nothing to read."""
    try:
        found = check.checked(options.folder)
    except NoArchive as wrong:
        raise Stop(str(wrong)) from None
    rows = [f"{name} {words}" for name, words in found.differs]
    if options.json:
        answer = {"ok": found.ok, "agrees": found.agrees, "differs": rows, "unchecked": found.unchecked}
        print(json.dumps(answer, ensure_ascii=False))
        return 0 if found.ok else 1
    for words in found.agrees:
        print(f"Agrees: {words}.")
    for words in rows:
        print(f"Does not agree: {words}.")
    for words in found.unchecked:
        print(f"Not checked: {words}.")
    print(
        "What this program checked agrees."
        if found.ok
        else "This archive is not as it was made: see what does not agree."
    )
    return 0 if found.ok else 1
