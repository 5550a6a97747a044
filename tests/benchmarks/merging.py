"""What merging costs: bundles of many desks into an office, beside verifying their records and packets alone; and the same results.csv in drawn orders.

python tests/benchmarks/merging.py [desks [places of each [orders]]]       (20, 250, 20 is the whole; 4, 25, 5 when left out)
"""

import contextlib
import io
import random
import shutil
import sys
import tempfile
import time
from hashlib import sha256
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.archive.small_office import contests  # noqa: E402 - the folder above must be found first
from tests.benchmarks.archive import LargeOffice, office  # noqa: E402
from tests.merging.desks import DeskApart, bundle, results  # noqa: E402
from webapp.commands import main  # noqa: E402
from webapp.merging import bundle as bundles  # noqa: E402
from webapp.merging import desk_apart  # noqa: E402
from webapp.office.checking import packet_checks
from webapp.office.setup import roster
from webapp.packet.envelope import parts_of  # noqa: E402
from webapp.record import audit  # noqa: E402


class KeyedDesk(DeskApart):
    """A desk whose places have keys and no folders."""

    def key(self, place: str):
        return LargeOffice.made[place]


def night(home: Path, desks: int, places: int) -> list[Path]:
    """A bundle of each desk, each with so many places of its own."""
    with contextlib.redirect_stdout(io.StringIO()):
        office(home, desks * places, packets=False)
        found = []
        for n in range(desks):
            desk = KeyedDesk.made(home, f"desk-{n}")
            for i in range(n * places, (n + 1) * places):
                desk.packet(f"P{i:05}", contests(200 + i % 50, 120, 40, 400 + i % 50))
            desk.close()
            found.append(bundle(home, f"desk-{n}"))
    return found


def verified(home: Path, files: list[Path]) -> float:
    """Seconds for the records of all desks and every packet of them, checked by themselves."""
    found, began = roster.load(home / "office"), time.perf_counter()
    for path in files:
        assert audit.verify(home / path.stem / "office.db").ok
        data = path.read_bytes()
        one = bundles.opened(data, path.name, desk_apart.unproven(bundles.certificate_in(data, path.name)))
        for piece in one.beside.values():
            packet_checks.check(parts_of(piece), found)
    return time.perf_counter() - began


def merged(home: Path, at: Path, files: list[Path]) -> float:
    shutil.copytree(home / "office", at)
    began = time.perf_counter()
    with contextlib.redirect_stdout(io.StringIO()):
        assert main(["office", "merge", str(at), *map(str, files)]) == 0
    return time.perf_counter() - began


def run(desks: int, places: int, orders: int) -> None:
    with tempfile.TemporaryDirectory() as folder:
        home = Path(folder)
        files, draw, ratios, seen = night(home, desks, places), random.Random(3), [], set()
        for n in range(orders):
            draw.shuffle(files)
            at = home / f"at-{n}"
            bare, whole = verified(home, files), merged(home, at, files)
            ratios.append(whole / bare)
            seen.add(sha256(results(at)).hexdigest())
            shutil.rmtree(at)
        ratio = sorted(ratios)[len(ratios) // 2]
        print(
            f"{desks} desks of {places} places: merging is {ratio:.2f} times verifying their records and packets ({whole:.1f} s, {bare:.1f} s); goal 3"
        )
        print(f"{orders} drawn orders: {len(seen)} results.csv")


if __name__ == "__main__":
    run(*([int(word) for word in sys.argv[1:]] or (4, 25, 5)))
