"""What the pages of a count board cost at 40,000 envelopes beside a small one: each page just after one more batch was fed, through the real server.

    python tests/benchmarks/board_pages.py [BATCHES [ROUNDS]]

1,600 batches of 25 are some 5,600 entries. Goal: a page there at most 3 times the same at 100 entries. Interleaved, the first round thrown away, medians.
"""

import sys
import tempfile
import uuid
from dataclasses import replace
from pathlib import Path
from statistics import median
from time import perf_counter

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

import webapp  # noqa: E402
from demo_precinct import rehearsed_county  # noqa: E402
from demo_precinct.count_board import board_place  # noqa: E402
from demo_precinct.http_window import Window  # noqa: E402
from tests.benchmarks.board_batches import entries  # noqa: E402
from webapp.precinct.place import place_file  # noqa: E402
from webapp.precinct.place.place import Box, Tabulator  # noqa: E402
from webapp.record.entry import Act, Claim, quarter_hour  # noqa: E402
from webapp.serving.server import serve_in_thread  # noqa: E402
from webapp.settings import Settings  # noqa: E402

PAGES = (
    "/now",
    "/batches",
    "/batches/B020",
    "/feed/A1",
    "/batches/make",
    "/trays",
    "/problems",
    "/running",
    "/note",
    "/steps/board-close",
    "/live",
)
MINUTE = 60_000


class Board:
    """A served board with so many batches, all but the last of them fed."""

    def __init__(self, folder: Path, batches: int):
        self.place = eight_tabulators()
        rehearsed_county.prepare(folder, rehearsed_county.board_office(), [place_file.write(self.place).encode()])
        now = self.place.at(self.place.opens) + 600 * MINUTE
        self.app = webapp.create_app(Settings("place", folder / "places" / "AB", clock="scripted", start=now))
        self.running = serve_in_thread(self.app)
        self.window, self.room, self.now = Window(self.running.port), self.app.extensions["room"], now
        self.rest = [self.claim(e) for e in entries(batches + 80)]
        for i in range(0, len(self.rest) - 160, 200):
            self.lay(self.rest[i : min(i + 200, len(self.rest) - 160)])
        self.rest = self.rest[-160:]

    def claim(self, entry) -> Claim:
        body = {k: v for k, v in entry.body.items() if k != "precincts" or entry.kind != "batch-made"}
        body |= {"precincts": {"W3": body["ballots"][-1]}} if entry.kind == "batch-made" else {}
        body |= {"precincts": ["W3"]} if entry.kind == "tray-open" else {}
        body |= {"at": f"A{int(body['at'][1:]) + 1}"} if entry.kind == "batch-fed" else {}
        coarse = self.room.ledger.rough(entry.kind, body)
        return Claim(uuid.uuid4().bytes, entry.kind, body, quarter_hour(self.now) if coarse else self.now, "L", 0)

    def lay(self, claims: list[Claim]) -> None:
        """Into the record as they are: nobody took in the carriers of these trays."""
        before = self.room.ledger.length
        self.room.ledger.append(*(Act(claim, (), self.now, 0, None) for claim in claims), now=self.now)
        self.room.catch_up(before)

    def timed(self, path: str) -> float:
        """Seconds of one page, just after one more entry."""
        self.lay([self.rest.pop(0)])
        began = perf_counter()
        page = self.window.get(path)
        took = perf_counter() - began
        assert page.status == 200, (path, page.status)
        return took

    def stop(self) -> None:
        self.running.stop()
        self.room.close()


def eight_tabulators():
    boxes = tuple(Box(f"O{n}", ("tray",), False) for n in range(1, 9))
    tabulators = tuple(Tabulator(f"A{n}", f"91-22{n:02}", f"O{n}", 5000) for n in range(1, 9))
    return place_file.read(place_file.write(replace(board_place(), boxes=boxes, tabulators=tabulators)).encode())


def main(batches: int, rounds: int) -> None:
    with tempfile.TemporaryDirectory() as scratch:
        small, large = Board(Path(scratch) / "small", 28), Board(Path(scratch) / "large", batches)
        print(f"{small.room.ledger.length:,} and {large.room.ledger.length:,} entries")
        worst = 0.0
        for path in PAGES:
            pairs = [(small.timed(path), large.timed(path)) for _ in range(rounds + 1)][1:]
            few, many = (median(times) for times in zip(*pairs, strict=True))
            worst = max(worst, many / few)
            print(f"{path:20} {few * 1000:6.1f} ms {many * 1000:6.1f} ms  {many / few:4.1f} times")
        print(f"the slowest is {worst:.1f} times; goal 3")
        small.stop()
        large.stop()


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 1600, int(sys.argv[2]) if len(sys.argv) > 2 else 5)
