"""What a page costs while many desks take packets in: 20 desks, a packet each every 10 seconds and six pages a minute each, beside one such desk alone.

Goal: p95 of the pages at 20 desks at most 2 times that at one. A page's time begins when it was due, so that a desk that waits makes the next ones late
too. Run with `python tests/benchmarks/twenty_desks.py [DESKS [SECONDS]]` (20 and 60). One machine asks and answers.
"""

import sys
import tempfile
import threading
import time
from itertools import cycle
from pathlib import Path

sys.path[:0] = [str(Path(__file__).resolve().parents[2])]

from demo_precinct.http_window import Window  # noqa: E402 - the folder above must be found first
from tests.benchmarks.desks_at_once import PAGES, demo_packet, p95  # noqa: E402
from tests.office import many_places as night_of  # noqa: E402

EVERY = 10.0  # seconds between two packets of a desk, and between two pages
ALONE = 2.0  # the same of the one desk alone: it is idle still, and there are enough times for a p95
PACKETS = list[tuple[str, bytes]]


def desk(
    window: Window, packets: PACKETS, first: float, every: float, pages: list[float], intakes: list[float]
) -> None:
    """One desk from `first` on (monotonic seconds): a packet, half of `every` later a page, and so on; seconds from when each was due."""
    for turn, ((place, data), path) in enumerate(zip(packets, cycle(PAGES), strict=False)):
        due = first + every * turn
        time.sleep(max(due - time.perf_counter(), 0))
        page = window.upload(window.get("/intake").form("/intake/file"), "files", [(f"{place}.cose", data)])
        page = window.send(page.form("/intake/take"))
        assert page.status == 200, page.said()
        intakes.append(time.perf_counter() - due)
        due += every / 2
        time.sleep(max(due - time.perf_counter(), 0))
        assert window.get(path).status == 200
        pages.append(time.perf_counter() - due)


def side_by_side(windows: list[Window], packets: list[PACKETS], every: float) -> tuple[list[float], list[float]]:
    """(pages, packets) of these desks at once, begun one after the other within the first turn."""
    pages: list[float] = []
    intakes: list[float] = []
    begins = time.perf_counter() + 0.5
    threads = [
        threading.Thread(target=desk, args=(window, mine, begins + every * i / len(windows), every, pages, intakes))
        for i, (window, mine) in enumerate(zip(windows, packets, strict=True))
    ]
    for one in threads:
        one.start()
    for one in threads:
        one.join()
    assert len(pages) == len(intakes) == sum(map(len, packets)), "a desk stopped"
    return pages, intakes


def main(count: int, seconds: int) -> None:
    each, few = max(int(seconds / EVERY), 1), max(int(seconds / ALONE), 2)
    names = [f"P{n}" for n in range(1, count * each + few + 1)]
    with tempfile.TemporaryDirectory() as scratch:
        opened = demo_packet(Path(scratch) / "demo")
        night = night_of.built(Path(scratch) / "night", names, opened, {})
        night.hold()
        desks = night_of.Desks(night, opened)
        made = [(one, desks.packet(one, **desks.moved(i % 40))) for i, one in enumerate(names)]
        windows = [night.window, *(night.another() for _ in range(count - 1))]
        for window in windows[1:]:
            night.crew.window = window
            night.hold()
        alone = side_by_side(windows[:1], [made[:few]], ALONE)
        every = side_by_side(windows, [made[few + each * i : few + each * (i + 1)] for i in range(count)], EVERY)
        for what, one, many in zip(("pages", "packets"), alone, every, strict=True):
            print(f"{what}, p95: one desk {1000 * p95(one):.0f} ms, {count} desks {1000 * p95(many):.0f} ms: {p95(many) / p95(one):.2f} times")  # fmt: skip
        print(f"{len(night.room.board.places)} places in")
        night.stop()


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 20, int(sys.argv[2]) if len(sys.argv) > 2 else 60)
