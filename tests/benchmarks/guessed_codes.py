"""Pairing while somebody guesses codes four times a second, from another address of the same network: how many of the right codes work.

    python tests/benchmarks/guessed_codes.py [--pairings 200] [--typing 1.6] [--each-second 4]

Each code is shown at the laptop and typed at the tablet `--typing` seconds later, so that more wrong codes come in than one address has tries. Linux:
the guesser has an address of its own on loopback. Exit 1 where a right code did not work.
"""

import argparse
import http.client
import re
import sys
import tempfile
import threading
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from demo_precinct.http_window import Window  # noqa: E402 - the folder above must be found first
from tests.pages.scene import Playbook, Scene  # noqa: E402
from tests.pages.tablets import asked, invited, tablets_door  # noqa: E402

GUESSER = "127.0.0.66"


class Guesser(Window):
    """Types wrong codes from an address of its own until it is told to stop."""

    def __init__(self, port: int, pause: float):
        super().__init__(port)
        self._form, self._pause = self.get("/pair").form("/pair"), pause
        self.guesses, self.over = 0, threading.Event()

    def run(self) -> None:
        due = time.monotonic()
        while not self.over.wait(max(0.0, due - time.monotonic())):
            due += self._pause
            self._line = http.client.HTTPConnection(self.host, self.port, timeout=30, source_address=(GUESSER, 0))
            self.send(self._form, {"code": f"{self.guesses % 10**8:08d}"})
            self._line.close()
            self.guesses += 1


def paired(here: Scene, pairings: int, typing: float, each_second: float) -> tuple[int, int]:
    """How many of so many right codes worked, and how many wrong ones came in meanwhile."""
    works = 0
    with tablets_door(here) as port:
        guesser = Guesser(port, 1 / each_second)
        thread = threading.Thread(target=guesser.run)
        thread.start()
        try:
            for _ in range(pairings):
                code = invited(here)
                time.sleep(typing)
                tablet = asked(here, port, code=code)
                works += bool(re.search(r"This is tablet [A-Z]", tablet.said.text))
                here.windows.remove(tablet)
                tablet.close()
        finally:
            guesser.over.set()
            thread.join()
    return works, guesser.guesses


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--pairings", type=int, default=200)
    parser.add_argument("--typing", type=float, default=1.6)
    parser.add_argument("--each-second", type=float, default=4.0)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        book = Playbook(Path(name))
        try:
            kept, answers, now = book.at("sworn")
        finally:
            book.close()
        here = Scene(kept, book.place, book.codes, answers.truth, answers, now).start()
        try:
            works, guesses = paired(here, options.pairings, options.typing, options.each_second)
            said = re.search(r"[\d,]+ wrong codes came in[^<.]*", here.window.get("/tablets").text)
        finally:
            here.stop()
    print(
        f"{works} of {options.pairings} right codes worked; {guesses} wrong ones came in meanwhile. The laptop says: {said[0] if said else 'nothing'}"
    )
    return 0 if works == options.pairings else 1


if __name__ == "__main__":
    raise SystemExit(main())
