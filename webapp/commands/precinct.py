"""Open a polling place: serve the folder that the office enrolled to the browser on this laptop, and to tablets if asked, until it is stopped."""

import argparse
from pathlib import Path

from webapp.commands import Stop
from webapp.commands.server import run as start
from webapp.commands.server import tablet_listeners
from webapp.gate import keys
from webapp.gate.refusals import GateRefused
from webapp.gate.signed_place_file import load_place
from webapp.settings import Settings

NAME = "precinct"
HELP = "open a polling place on this laptop"
PORT = 8610


def arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("folder", type=Path, metavar="DIR", help="the place's folder, as `tapeseal enrol` made it")
    parser.add_argument(
        "--port",
        type=int,
        default=PORT,
        metavar="N",
        help=f"of the laptop's own door; default {PORT}; 0 takes any free one",
    )
    tablet_listeners.arguments(parser)


def run(options: argparse.Namespace) -> int:
    """0 stopped by hand, 2 refused."""
    folder = options.folder
    start.folder_with(folder, (keys.FILE,), "`tapeseal enrol`")
    try:
        place = load_place(folder)
    except GateRefused as wrong:
        raise Stop(str(wrong)) from None
    if not 0 <= options.port <= 65535:
        raise Stop(f"Port {options.port} does not exist: give a number from 1 to 65535, or 0 for any free one.")
    settings = Settings("place", folder, place.mode, options.port)
    title = f"{place.name}, {place.election}, {'PRACTICE' if place.mode == 'practice' else 'live'}"
    return start.run(settings, folder / "record.db", title, place, tablet_listeners.asked_for(options, folder, place))
