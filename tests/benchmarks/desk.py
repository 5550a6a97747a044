"""What the desk costs: every check of a packet beside verifying, strict decoding and a durable write; and one place's page at 5,000 places beside 50.

Goals: intake at most 3 times the bare work; the page at 5,000 places at most 3 times that at 50, just after a packet came in (nothing remembered of
the groups of small places) and once more (remembered). Run with `python tests/benchmarks/desk.py [PLACES [ROUNDS]]` (5,000 and 7). Interleaved,
the first round thrown away, medians of the ratios. The packet is the rehearsed demo day's; the other places are the same under other names.
"""

import os
import statistics
import sys
import tempfile
import time
from dataclasses import replace
from pathlib import Path

sys.path[:0] = [str(Path(__file__).resolve().parents[2])]

from demo_precinct import rehearsal  # noqa: E402
from webapp.office import receive, roster  # noqa: E402
from webapp.office.in_tray import InTray  # noqa: E402
from webapp.office.office_file import Awaited  # noqa: E402
from webapp.packet.envelope import open_packet, parts_of  # noqa: E402


def timed(work) -> float:
    began = time.perf_counter()
    work()
    return time.perf_counter() - began


def ratio(one, other, rounds: int) -> float:
    """Median of `one` over `other`, A B A B."""
    return statistics.median([timed(one) / timed(other) for _ in range(rounds + 1)][1:])


def tray_of(count: int, folder: Path, found: roster.Roster, opened) -> InTray:
    """A tray with `count` places, each with its packet in; every hundredth has four ballots."""
    place = found.issued[opened.core["place_digest"]]
    names = [f"P{i:04d}" for i in range(count)]
    office = replace(found.office, places=tuple(Awaited(name, name, names[i - 1]) for i, name in enumerate(names)))
    places = {name: replace(place, id=name, name=name) for name in names}
    tray = InTray(folder, replace(found, office=office, places=places))
    few = [{"id": "T1", "box": "B1", "runs": [], "tape": 4}]
    for i, name in enumerate(names):
        core = {**opened.core, "place": name} | ({"tabulators": few} if i % 100 == 99 else {})
        tray.packets[name] = [(i.to_bytes(32, "big"), replace(opened, core=core, digest=i.to_bytes(32, "big")))]
    return tray


def page(tray: InTray, fresh: bool) -> None:
    """What one place's page asks of the tray."""
    if fresh:
        tray.forget()
    tray.report("P0001")
    tray.standing("P0001")
    tray.alone("P0001")


def main(count: int = 5000, rounds: int = 7) -> None:
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch) / "demo"
        rehearsal.rehearse_demo(folder, 1)
        found = roster.load(folder / "office")
        parts = parts_of((folder / "places" / "W3" / "packet" / "1.cose").read_bytes())
        opened = open_packet(parts, found.keys, "practice")
        few, many = (tray_of(n, Path(scratch), found, opened) for n in (50, count))

        def bare() -> None:
            open_packet(parts, found.keys, "practice")
            with (Path(scratch) / "written").open("wb") as file:
                file.write(b"".join(parts))
                file.flush()
                os.fsync(file.fileno())

        def intake() -> None:
            few.lay(receive.check(parts, found).opened.digest, parts)

        print(f"intake / (verify, decode, durable write): {ratio(intake, bare, rounds):.2f}   goal 3")
        for words, fresh in (("just after a packet came in", True), ("looked at again", False)):
            print(f"one place's page at {count} / at 50 places, {words}: {ratio(lambda f=fresh: page(many, f), lambda f=fresh: page(few, f), rounds):.2f}   goal 3")
        print(f"intake {1000 * statistics.median(timed(intake) for _ in range(rounds)):.1f} ms; page at {count}: {1000 * timed(lambda: page(many, True)):.1f} ms fresh, {1000 * timed(lambda: page(many, False)):.2f} ms again")


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
