"""What the desk costs: every check of a packet beside verifying, strict decoding and a durable write; and the office's pages at 5,000 places beside 50.

Goals: intake at most 3 times the bare work; every page at 5,000 places at most 3 times that at 50, just after a packet came in and looked at again.
Run with `python tests/benchmarks/desk.py [PLACES [ROUNDS]]` (5,000 and 7). Interleaved, the first round thrown away, medians of the ratios. The pages
are asked of the real application; the packet is the rehearsed demo day's, and the other places are the same under other names: each with a gap,
every hundredth with four ballots.
"""

import hashlib
import os
import shutil
import statistics
import sys
import tempfile
import time
from dataclasses import replace
from pathlib import Path

sys.path[:0] = [str(Path(__file__).resolve().parents[2])]

import webapp  # noqa: E402
from demo_precinct import rehearsal  # noqa: E402
from webapp.merging.origins import PlaceDesks  # noqa: E402
from webapp.office.checking import packet_checks  # noqa: E402
from webapp.office.questions.canvass_board import CanvassBoard  # noqa: E402
from webapp.office.received.packet_reports import PacketReports  # noqa: E402
from webapp.office.received.place_states import States  # noqa: E402
from webapp.office.received.received_packets import ReceivedPackets  # noqa: E402
from webapp.office.setup import roster  # noqa: E402
from webapp.office.setup.office_file import Awaited  # noqa: E402
from webapp.office.totals.projections import Projections  # noqa: E402
from webapp.packet.envelope import open_packet, parts_of  # noqa: E402
from webapp.settings import Settings  # noqa: E402


def timed(work) -> float:
    began = time.perf_counter()
    work()
    return time.perf_counter() - began


def ratio(one, other, rounds: int) -> float:
    """Median of `one` over `other`, A B A B."""
    return statistics.median([timed(one) / timed(other) for _ in range(rounds + 1)][1:])


PAGES = (
    "/places",
    "/places?show=gaps",
    "/place/P0001",
    "/totals",
    "/totals?contest=GOV",
    "/canvass",
    "/intake",
    "/compare",
)


class Office:
    """The application of an office with `count` places, each with its packet in; `arrives` takes one more in."""

    def __init__(self, count: int, folder: Path, opened):
        self.opened, self.count, self.last = opened, 0, {}
        self.app = webapp.create_app(Settings("office", folder, port=0, clock="scripted", start=1_793_760_000_000))
        self.room = room = self.app.extensions["room"]
        self.app.config["PORT"] = 8620
        place = room.roster.issued[opened.core["place_digest"]]
        names = [f"P{i:04d}" for i in range(count)]
        office = replace(
            room.roster.office,
            places=tuple(Awaited(name, name, names[i - 1], f"Room {i // 2}") for i, name in enumerate(names)),
        )
        places = {
            name: replace(place, id=name, name=name, digest=hashlib.sha256(name.encode()).digest()) for name in names
        }
        room.roster = replace(
            room.roster,
            office=office,
            places=places,
            issued={one.digest: one for one in places.values()},
            enrolments={},
        )
        room.desks = PlaceDesks(places)
        room.tray = ReceivedPackets(folder, room.roster)
        room.reports = PacketReports(room.tray)
        few = [{"id": "T1", "box": "B1", "runs": [], "tape": 4}]
        for i, name in enumerate(names):
            self.arrives(name, tabulators=few) if i % 100 == 99 else self.arrives(name)
        began = time.perf_counter()
        (folder / "bench.db").unlink(missing_ok=True)
        room.tables = Projections(folder / "bench.db")
        room.tables.match(room.tray.stamps(), room.reports.weighed)
        room.board, room.states = CanvassBoard(room.tables.standings()), States(names)
        self.built = time.perf_counter() - began
        assert len(room.board.places) == count and not room.tray.lost, room.tray.lost
        self.client = self.app.test_client()

    def arrives(self, place: str, **changes) -> None:
        """A packet of this place that replaces the one before."""
        self.count += 1
        digest = self.count.to_bytes(32, "big")
        core = {
            **self.opened.core,
            "place": place,
            "place_digest": self.room.roster.places[place].digest,
            "number": self.count,
            "amends": self.last.get(place),
            **changes,
        }
        self.room.tray.count_in(place, digest, replace(self.opened, core=core, digest=digest))
        self.last[place] = digest

    def comes_in(self) -> None:
        self.arrives("P0003")
        self.room.upkeep.refresh("P0003")

    def page(self, path: str) -> float:
        began = time.perf_counter()
        answer = self.client.get(path, base_url="http://localhost:8620")
        took = time.perf_counter() - began
        assert answer.status_code == 200, (path, answer.status_code, answer.headers.get("Location"), answer.text[:300])
        return took


def pages(few: Office, many: Office, rounds: int) -> None:
    """Each page right after a packet came in, and once more: milliseconds at many places, and how many times that of a few."""
    print(f"{'page':24}{'just after a packet':>28}{'again':>22}")
    for path in PAGES:
        told: list[list[tuple[float, float]]] = [[], []]
        for _ in range(rounds + 1):
            few.comes_in()
            many.comes_in()
            for seen in told:
                seen.append((few.page(path), many.page(path)))
        words = "".join(
            f"{1000 * statistics.median(m for _, m in seen[1:]):14.1f} ms {statistics.median(m / f for f, m in seen[1:]):5.2f} x"
            for seen in told
        )
        print(f"{path:24}{words}")
    took = statistics.median(timed(many.comes_in) / timed(few.comes_in) for _ in range(rounds))
    print(f"a packet laid into the tables: {took:.2f} x   {1000 * timed(many.comes_in):.1f} ms")


def main(count: int = 5000, rounds: int = 7) -> None:
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch) / "demo"
        rehearsal.rehearse_demo(folder, 1)
        found = roster.load(folder / "office")
        parts = parts_of((folder / "places" / "W3" / "packet" / "1.cose").read_bytes())
        opened = open_packet(parts, found.keys, "practice")

        def bare() -> None:
            open_packet(parts, found.keys, "practice")
            with (Path(scratch) / "written").open("wb") as file:
                file.write(b"".join(parts))
                file.flush()
                os.fsync(file.fileno())

        tray = ReceivedPackets(Path(scratch), found)

        def intake() -> None:
            tray.lay(packet_checks.check(parts, found).opened, parts)

        print(
            f"intake / (verify, decode, durable write): {ratio(intake, bare, rounds * 3):.2f}   goal 3   {1000 * statistics.median(timed(intake) for _ in range(rounds)):.1f} ms"
        )
        few, many = (Office(n, copied(folder / "office", Path(scratch) / f"office{n}"), opened) for n in (50, count))
        print(f"tables of {count} places built anew: {many.built:.1f} s")
        pages(few, many, rounds)
        for one in (few, many):
            one.room.close()


def copied(folder: Path, to: Path) -> Path:
    return Path(shutil.copytree(folder, to))


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
