"""Open the office's desk: serve the office's folder to the browser on this computer, until it is stopped."""

import argparse
from functools import partial
from pathlib import Path

from webapp.commands import Stop
from webapp.commands.recovery import saved_folder
from webapp.commands.server import desk_listeners
from webapp.commands.server import run as start
from webapp.gate import keys
from webapp.gate.refusals import GateRefused
from webapp.office import desk_kit, enrolment, office_file
from webapp.settings import Settings

NAME = "office"
HELP = "open the central office's desk"
PORT = 8620


def arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("folder", type=Path, metavar="DIR", help="the office's folder, with its office.toml")
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
    """0 stopped by hand, 2 refused."""
    folder = options.folder
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
        f"{made.file}: the office's kit. Lay it into the safe, on a stick of its own; never onto the stick with the record."
    )
    print(
        f"{made.sheet}: print it, seal its first page into a numbered envelope, hand each slip over in person, and delete the file."
    )
    return 0
