"""Drill: a practice day is played, its laptop dies with the stick half written, a spare one goes on; says what was lost, and whether that is true."""

import argparse
import sys
import tempfile
from collections.abc import Iterable
from functools import partial
from pathlib import Path
from typing import Any

from webapp.commands import Stop

NAME = "drill"
HELP = "practice: the laptop dies in the middle of a played day, a spare one goes on, and what was lost is checked"


def arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--seed",
        type=int,
        default=1,
        help="without --hands: when it dies, where the stick is torn, who holds what (default 1)",
    )
    parser.add_argument(
        "--hands",
        action="store_true",
        help="for trainers: opens a practice place at noon, says what breaks, waits while people go on from the printed page, times each step, checks the end",
    )
    parser.add_argument("--port", type=int, default=8610, metavar="N", help="with --hands: of the laptop that dies")
    parser.add_argument(
        "--folder", type=Path, metavar="DIR", help="with --hands: a new folder for all of it; it stays afterwards"
    )
    parser.add_argument("--json", action="store_true", help="one object on one line")


def run(options: argparse.Namespace) -> int:
    """0 what was said to be lost is what was lost, 1 it is not, 2 it could not begin."""
    if options.hands:
        return by_hand(options)
    from demo_precinct import laptop_dies

    with tempfile.TemporaryDirectory(prefix="drill-") as folder:
        found = laptop_dies.drill(Path(folder), options.seed)
    print(found.as_json() if options.json else in_words(found))
    return 1 if found.wrong else 0


def by_hand(options: argparse.Namespace) -> int:
    """With people at the spare laptop, and a trainer at this screen."""
    from demo_precinct import drill_by_hand

    folder = options.folder or Path(tempfile.mkdtemp(prefix="drill-"))
    if folder.exists() and any(folder.iterdir()):
        raise Stop(f"{folder} is there already and not empty: give a new folder for the drill.")
    folder.mkdir(parents=True, exist_ok=True)
    try:
        found = drill_by_hand.Hands(folder.resolve(), options.port, input, partial(print, flush=True)).play()
    except drill_by_hand.DidNotOpen as wrong:
        raise Stop(str(wrong)) from None
    except EOFError:
        raise Stop("The drill waits for a line after each step: start it where you can type.") from None
    print(found.as_json() if options.json else drill_by_hand.in_a_table(found))
    print(f"All of it is in {folder}: practice only. Delete it when the spare laptop is stopped.", file=sys.stderr)
    return 1 if found.wrong else 0


def in_words(found: Any) -> str:
    """What happened, for a trainer and a crew."""
    rows = [
        f"The laptop died after entry {found.entries}. Its folder is gone; the stick was pulled in the middle of a write.",
        f"The spare laptop has {found.last} entries from the stick; {found.torn} bytes behind them hold no whole entry.",
        f"Two tablets gave back: {listed(found.given_back)}.",
        f"Lost, and to be written again from the paper log: {listed(found.lost)}.",
        "All of that is true: it was held against what the laptop had kept."
        if not found.wrong
        else "Not all of that is true:",
    ]
    return "\n".join([*rows, *(f"  {words}" for words in found.wrong), f"{found.seconds:.0f} seconds."])


def listed(numbers: Iterable[int]) -> str:
    return ", ".join(map(str, numbers)) or "nothing"
