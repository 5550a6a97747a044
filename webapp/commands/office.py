"""Open the office's desk: serve the office's folder to the browser on this computer, until it is stopped.

`office desk OFFICE_DIR --name NAME --out DESK_DIR` makes the folder of a desk in another building, `office bundle DESK_DIR --out FILE` what it
brings, `office merge OFFICE_DIR FILE ...` one night of all. `office bundle OFFICE_DIR --out FILE` makes an edition a file for other offices.
"""

import argparse
from functools import partial
from pathlib import Path

from webapp.commands import Stop, desks_apart
from webapp.commands.recovery import saved_folder
from webapp.commands.server import desk_listeners
from webapp.commands.server import run as start
from webapp.gate import keys
from webapp.gate.refusals import GateRefused
from webapp.merging import desk_apart
from webapp.office.setup import desk_kit, enrolment, office_file
from webapp.settings import Settings

NAME = "office"
HELP = "open the central office's desk"
PORT = 8620


def arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "files",
        nargs="+",
        metavar="DIR",
        help="the office's folder, with its office.toml; or one of the words desk, bundle, merge, and what it takes (a folder named so is ./desk)",
    )
    parser.add_argument("--name", metavar="NAME", help="desk: how it is called, such as north")
    parser.add_argument("--out", type=Path, metavar="PATH", help="desk: its new folder; bundle: the new file")
    parser.add_argument("--replace", action="store_true", help="desk: a new folder for a desk that was made before")
    parser.add_argument("--after", type=int, metavar="N", help="bundle: only the entries that came after this one")
    parser.add_argument(
        "--receipt", type=Path, metavar="PDF", help="bundle: its receipt on paper, to be carried with it"
    )
    parser.add_argument(
        "--words", metavar="XXXX-XXXX-XXXX", help="merge: the check words on the receipt of this bundle"
    )
    parser.add_argument("--edition", type=int, metavar="N", help="bundle, of an office: this edition, not the newest")
    parser.add_argument(
        "--stick",
        type=Path,
        metavar="PATH",
        help="keep a copy of the record and what belongs to it on the stick at this path",
    )
    parser.add_argument(
        "--make-kit",
        type=Path,
        metavar="OUT_DIR",
        help="write the office's kit and its spare sheet there, for a laptop that takes over; serves nothing",
    )
    parser.add_argument("--port", type=int, default=PORT, metavar="N", help=f"default {PORT}; 0 takes any free one")
    desk_listeners.arguments(parser)


def run(options: argparse.Namespace) -> int:
    """0 stopped by hand, 2 refused; of the words see `desks_apart`."""
    if options.files[0] in desks_apart.WORDS:
        return desks_apart.run(options)
    if len(options.files) > 1:
        raise Stop(f"office takes one folder, or one of the words {', '.join(desks_apart.WORDS)} first.")
    folder = Path(options.files[0])
    start.folder_with(folder, (), "the office")
    try:
        if (folder / keys.FILE).is_file() and keys.whose(folder).what != "office":
            raise Stop(f"{folder} is the folder of a place: open it with `tapeseal precinct`.")
        start.folder_with(folder, (enrolment.OFFICE_FILE,), "the office")
        opened = enrolment.open_office(folder)
    except GateRefused as wrong:
        raise Stop(str(wrong)) from None
    except office_file.Mistakes as wrong:
        line, sentence = wrong.found[0]
        raise Stop(f"{enrolment.OFFICE_FILE}, line {line}: {sentence}") from None
    if not 0 <= options.port <= 65535:
        raise Stop(f"Port {options.port} does not exist: give a number from 1 to 65535, or 0 for any free one.")
    if opened.slips:
        print(f"{opened.slips}: slips for the desk. Print them, hand each over in person, and delete the file.")
    if opened.office is None:
        raise Stop(f"{folder} has no {enrolment.OFFICE_FILE}.")
    if desk := desk_apart.of_folder(folder):
        if options.desks is not None or options.make_kit:
            raise Stop(
                f"This is the folder of desk {desk.id}, apart: it certifies no further desk and has no kit. Open it on one laptop."
            )
    if options.make_kit:
        return made_kit(opened, options.make_kit)
    if options.stick:
        saved_folder.refuse_nested(folder, options.stick)
    record = folder / saved_folder.OFFICE_RECORD
    doors = desk_listeners.asked_for(options, folder, opened.office, "live")
    settings = Settings("office", folder, "live", options.port)
    copied = partial(saved_folder.task_for_office, folder)
    return start.run(settings, record, opened.office.name, None, doors, copied, options.stick)


def made_kit(opened: enrolment.OfficeFolder, out: Path) -> int:
    """0 the kit and its sheet are written."""
    try:
        made = desk_kit.make(opened, out)
    except GateRefused as wrong:
        raise Stop(str(wrong)) from None
    print(
        f"{made.file}: the office's kit. Put it in the safe, on a stick of its own; never onto the stick with the record."
    )
    print(
        f"{made.sheet}: print it, seal its first page into a numbered envelope, hand each slip over in person, and delete the file."
    )
    return 0
