"""Open a polling place: serve the folder that the office enrolled to the browser on this laptop, and to tablets if asked, until it is stopped."""

import argparse
import sys
from functools import partial
from pathlib import Path

from webapp.commands import Stop
from webapp.commands.recovery import restore, saved_folder
from webapp.commands.server import run as start
from webapp.commands.server import tablet_listeners
from webapp.gate import keys
from webapp.gate.refusals import GateRefused
from webapp.gate.signed_place_file import load_place
from webapp.settings import Settings

NAME = "precinct"
HELP = "open a polling place on this laptop"
PORT = 8610
READS = "The stick is read, and each entry on it is checked. This can take a minute."
BEGINS = "Nothing is left of the record: a new one begins, and says so."
NO_STICK = "No stick: the record is on this laptop only. Put a stick in and start with --stick PATH, so that the day survives the laptop."


def arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("folder", type=Path, metavar="DIR", help="the place's folder, as `tapeseal enrol` made it")
    parser.add_argument(
        "--port",
        type=int,
        default=PORT,
        metavar="N",
        help=f"of the laptop's own door; default {PORT}; 0 takes any free one",
    )
    parser.add_argument(
        "--stick", type=Path, metavar="PATH", help="keep a copy of the record on the stick at this path, as it grows"
    )
    parser.add_argument(
        "--restore", type=Path, metavar="STICK", help="first make DIR, a new folder, from this stick and the kit"
    )
    restore.options_of_restore(parser)
    tablet_listeners.arguments(parser)


def run(options: argparse.Namespace) -> int:
    """0 stopped by hand, 2 refused."""
    folder = options.folder
    if options.restore or options.nothing:
        print(READS if options.restore else BEGINS, flush=True)
        print(restore.restored(options, options.restore, folder).says, flush=True)
    elif options.kit or options.fresh:
        raise Stop("--kit and --fresh are for a spare laptop: say --restore with the path of the stick.")
    start.folder_with(folder, (keys.FILE,), "`tapeseal enrol`")
    try:
        place = load_place(folder)
    except GateRefused as wrong:
        raise Stop(str(wrong)) from None
    if not 0 <= options.port <= 65535:
        raise Stop(f"Port {options.port} does not exist: give a number from 1 to 65535, or 0 for any free one.")
    settings = Settings("place", folder, place.mode, options.port)
    title = f"{place.name}, {place.election}, {'PRACTICE' if place.mode == 'practice' else 'live'}"
    if options.stick:
        saved_folder.refuse_nested(folder, options.stick)
    elif place.mode == "live":
        print(NO_STICK, file=sys.stderr, flush=True)
    doors = tablet_listeners.asked_for(options, folder, place)
    return start.run(
        settings,
        folder / saved_folder.RECORD,
        title,
        place,
        doors,
        partial(saved_folder.task_for, folder, place),
        options.stick,
    )
