"""Write the files of an edition into a new folder: results and reconciliation as CSV, the results in the standard's JSON, the page for the public."""

import argparse
import json
from collections.abc import Mapping
from pathlib import Path

from webapp import plain_file
from webapp.commands import Stop, archive_of_office, draft_of_office
from webapp.office.canvassing import editions
from webapp.office.canvassing.editions import Changed, Editions
from webapp.record.ledger import Ledger
from webapp.record.refusals import RecordRefused

NAME = "export"
HELP = "write the files of an office's edition, or an archive of all of them, into a new folder"


def arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("office", type=Path, metavar="OFFICE_DIR", help="the office's folder")
    parser.add_argument("--out", type=Path, required=True, metavar="DIR", help="a folder that is not there yet")
    parser.add_argument("--edition", type=int, metavar="N", help="default: the newest")
    parser.add_argument(
        "--draft", action="store_true", help="the figures of now, not posted; every file is named a draft"
    )
    parser.add_argument(
        "--archive", choices=("sealed", "public"), help="an archive of all editions that anyone can verify later"
    )
    parser.add_argument(
        "--with-sealed", type=Path, metavar="DIR", help="the sealed archive that a public one goes with, named in it"
    )
    parser.add_argument("--json", action="store_true", help="one object on one line")


def run(options: argparse.Namespace) -> int:
    """0 written, 1 nothing is posted or a file is not what was posted, 2 refused."""
    if options.draft:
        return draft_of_office.run(options)
    if options.archive:
        return archive_of_office.run(options)
    if options.with_sealed:
        raise Stop("--with-sealed belongs to --archive public: say both, or neither.")
    known = posted(options.office)
    if not known.posted:
        raise Stop("Nothing is posted yet: post an edition at the desk first, or say --draft.", 1)
    number = len(known.posted) if options.edition is None else options.edition
    one = next((one for one in known.posted if one.number == number), None)
    if one is None:
        raise Stop(f"There is no edition {number}: give a number from 1 to {len(known.posted)}.")
    try:
        files = known.files(number)
    except Changed as wrong:
        raise Stop(str(wrong), 1) from None
    digests = write(options.out, files)
    answer = {
        "edition": number,
        "status": one.status,
        "files": dict(sorted(digests.items())),
        "waiting": one.waiting,
    }
    print(
        json.dumps(answer) if options.json else f"Edition {number}, {one.status}: {len(files)} files in {options.out}"
    )
    return 0


def posted(folder: Path) -> Editions:
    """What the office's record says was posted, read while it may be served. Raises Stop."""
    path = folder / "office.db"
    if not path.is_file():
        raise Stop(f"{folder} holds no office.db: give the folder of an office that was opened before.")
    found = Editions(folder, move=False)
    try:
        with Ledger.read_only(path) as record:
            for entry in record.entries():
                if editions.is_posted(entry):
                    found.post(editions.posted_of(entry, ""))
    except RecordRefused as wrong:
        raise Stop(str(wrong)) from None
    return found


def write(out: Path, files: Mapping[str, Path]) -> dict[str, str]:
    """A new folder with copies of these files; SHA-256 of each. One that is there is refused, and nothing is written over."""
    try:
        out.mkdir(parents=True)
        return {
            name: plain_file.write_new(out / name, plain_file.pieces(path, editions.LIMIT), 0o644)[0]
            for name, path in files.items()
        }
    except FileExistsError:
        raise Stop(f"{out} is there already, and nothing is written over: choose another name.") from None
    except OSError as wrong:
        raise Stop(f"{out} cannot be written ({wrong.strerror}): choose another place.") from None
