"""Drill: a practice day is played, its laptop dies with the stick half written, a spare one goes on; says what was lost, and whether that is true."""

import argparse
import tempfile
from pathlib import Path

NAME = "drill"
HELP = "practice: the laptop dies in the middle of a played day, a spare one goes on, and what was lost is checked"


def arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--seed", type=int, default=1, help="when it dies, where the stick is torn, who holds what (default 1)"
    )
    parser.add_argument("--json", action="store_true", help="one object on one line")


def run(options: argparse.Namespace) -> int:
    """0 what was said to be lost is what was lost, 1 it is not."""
    from demo_precinct import laptop_dies

    with tempfile.TemporaryDirectory(prefix="drill-") as folder:
        found = laptop_dies.drill(Path(folder), options.seed)
    print(found.as_json() if options.json else in_words(found))
    return 1 if found.wrong else 0


def in_words(found) -> str:
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


def listed(numbers) -> str:
    return ", ".join(map(str, numbers)) or "nothing"
