"""What a night costs at several desks: a batch of 126 packets read and accepted in one act, and pages at one desk beside three desks at once.

Goals: a packet of the batch within 0.5 s from the choice of files to the entry; a page at three desks at once (p95) at most 2 times that at three
desks one after the other. Run with `python tests/benchmarks/desks_at_once.py [PLACES]` (126). One machine asks and answers, so the desks share
its processors. The demo's packet is taken from its rehearsed day; every place has its own key.
"""

import statistics
import sys
import tempfile
import threading
import time
from pathlib import Path

sys.path[:0] = [str(Path(__file__).resolve().parents[2])]

from demo_precinct import rehearsal  # noqa: E402
from demo_precinct.http_window import Window  # noqa: E402
from tests.office import many_places as night_of  # noqa: E402
from webapp.office.setup import roster  # noqa: E402
from webapp.packet.envelope import open_packet, parts_of  # noqa: E402

PAGES = ("/places", "/totals", "/canvass", "/late", "/wall", "/place/P1")
ROUNDS = 8


def demo_packet(folder: Path):
    """The demo's packet, out of its rehearsed day (played in `folder` where it is not there yet)."""
    if not (folder / "office").exists():
        rehearsal.rehearse_demo(folder, 1)
    parts = parts_of((folder / "places" / "W3" / "packet" / "1.cose").read_bytes())
    return open_packet(parts, roster.load(folder / "office").keys, "practice")


def asked(window: Window, times: list[float]) -> None:
    """Every page a few times at one desk; how long each took, in seconds."""
    for _ in range(ROUNDS):
        for path in PAGES:
            began = time.perf_counter()
            assert window.get(path).status == 200
            times.append(time.perf_counter() - began)


def p95(times: list[float]) -> float:
    return statistics.quantiles(times, n=20)[-1]


def main(count: int, demo: Path) -> None:
    with tempfile.TemporaryDirectory() as folder:
        names = [f"P{n}" for n in range(1, count + 1)]
        night = night_of.built(Path(folder) / "night", names, demo_packet(demo), {})
        night.hold()
        desks = night_of.Desks(night, demo_packet(demo))
        packets = [(one, desks.packet(one, **desks.moved(i % 40))) for i, one in enumerate(names)]
        began = time.perf_counter()
        page = desks.upload(*((f"{one}.cose", packet) for one, packet in packets))
        read = time.perf_counter() - began
        page = desks.window.send(page.form("/intake/accept"))
        whole = time.perf_counter() - began
        inn = len(night.room.board.places)
        print(
            f"batch of {count}: read in {read:.1f} s, accepted in {whole - read:.1f} s: {whole / count:.3f} s a packet, {inn} in, at {page.path}"
        )
        windows = [night.another() for _ in range(3)]
        for window in windows:
            asked(window, [])
        alone: list[float] = []
        for window in windows:
            asked(window, alone)
        together: list[list[float]] = [[] for _ in windows]
        threads = [threading.Thread(target=asked, args=pair) for pair in zip(windows, together, strict=True)]
        began = time.perf_counter()
        for one in threads:
            one.start()
        for one in threads:
            one.join()
        busy = time.perf_counter() - began
        times = [one for desk in together for one in desk]
        print(
            f"pages, p95: one desk at a time {1000 * p95(alone):.0f} ms, three at once {1000 * p95(times):.0f} ms: {p95(times) / p95(alone):.1f} times; {len(times) / busy:.0f} pages a second"
        )
        night.stop()


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as beside:
        main(
            int(sys.argv[1]) if len(sys.argv) > 1 else 126,
            Path(sys.argv[2]) if len(sys.argv) > 2 else Path(beside) / "demo",
        )
