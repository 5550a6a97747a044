"""A night on a disk that fills up, fails and comes back at random moments: every answered entry is there, every refusal was true.

    python tests/benchmarks/bad_disk.py [--events 200] [--seed 1]

Runs `tests/drills/bad_disk.py` and prints its counts; ends with a trace where one was wrong. As root on Linux the disk is a file system in memory of
8 MB, which is also filled and write-protected; elsewhere it only fails.
"""

import argparse
import shutil
import sys
import tempfile
import time
from contextlib import ExitStack
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.drills import bad_disk  # noqa: E402 - the folder above must be found first
from tests.drills.small_disk import CannotMount, small_disk  # noqa: E402
from tests.pages.scene import Playbook, Scene  # noqa: E402


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--events", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as name, ExitStack() as until_the_end:
        book = Playbook(Path(name) / "day")
        try:
            kept, answers, now = book.at("voting")
        finally:
            book.close()
        try:
            disk = until_the_end.enter_context(small_disk(Path(name) / "disk", 12))
        except CannotMount as wrong:
            print(f"no disk of its own ({wrong}): it fails, and is never full or write-protected")
            disk = None
        home = (disk.folder if disk else Path(name)) / "place"
        shutil.copytree(kept, home)
        began = time.monotonic()
        found = bad_disk.night(
            Scene(home, book.place, book.codes, answers.truth, answers, now), disk, options.events, options.seed
        )
        print(f"{time.monotonic() - began:.0f} s: " + ", ".join(f"{what} {n}" for what, n in found.items()))
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
