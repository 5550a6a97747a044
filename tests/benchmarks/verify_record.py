"""What the check of a record costs beside reading it: read + decode + SHA-256 of every entry, against the checker. Goals: chain and
links at most 1.8 times, everything (canonical form, times, signers, words, the file's pages, and the copy it works on) at most 4 times.

Run with `python tests/benchmarks/verify_record.py [ENTRIES [ROUNDS]]` (100,000 and 7). Interleaved A B C A B C, the first round thrown
away, medians of the ratios. The entries are invented: readings, tapes and ballots of a long night, one in eight with words.
"""

import hashlib
import random
import sqlite3
import statistics
import sys
import tempfile
import time
import uuid
from collections.abc import Callable
from pathlib import Path

import cbor2

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from webapp.record.audit import verify  # noqa: E402
from webapp.record.entry import Act, Claim, Signer, Text  # noqa: E402
from webapp.record.ledger import Ledger  # noqa: E402

PAIR = (Signer("vega", "chair", "plum", "pin"), Signer("okoro", "inspector", "slate", "pin"))
COARSE = frozenset({"spoiled"})
START = 1_793_705_400_000


def invented(n: int, chance: random.Random) -> Act:
    """The n-th act: mostly readings by one signer, some tapes by two, some ballots."""
    at = START + n * 700
    body = {
        "counter": {"T1": n, "T2": n // 2},
        "check_ins": {"P4": n + 3},
        "in_hand": n % 9,
        "unused": {"4A": 99_999 - n},
        "counted": True,
    }
    words = {"why": Text(chance.randbytes(16), f"A few words about reading {n}.")} if n % 8 == 0 else {}
    kind, signers = ("hourly", PAIR[:1]) if n % 3 else ("tape-typed", PAIR)
    if n % 5 == 0:
        kind, body, signers = "spoiled", {"style": "4A", "reissued": True}, ()
    claim = Claim(
        uuid.UUID(bytes=chance.randbytes(16), version=4).bytes, kind, body, at, f"T{n % 6}", n // 6 + 1, words
    )
    return Act(claim, signers, at + 900, 12, "vega")


def long_night(path: Path, entries: int) -> None:
    chance = random.Random(11)
    with Ledger.create(path, coarse=COARSE) as ledger:
        for first in range(0, entries, 500):
            acts = [invented(n, chance) for n in range(first, min(first + 500, entries))]
            ledger.append(*acts, now=acts[-1].made)


def plain(path: Path) -> None:
    """Read, decode and hash, and look at nothing."""
    db = sqlite3.connect(path)
    for _, data in db.execute("SELECT number, entry FROM entries ORDER BY number"):
        cbor2.loads(data)
        hashlib.sha256(data).digest()
    db.close()


def timed(act: Callable[[], object]) -> float:
    start = time.perf_counter()
    act()
    return time.perf_counter() - start


def main(entries: int = 100_000, rounds: int = 7) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "record.db"
        long_night(path, entries)
        assert verify(path, coarse=COARSE).ok
        steps = (lambda: plain(path), lambda: verify(path, quick=True), lambda: verify(path, coarse=COARSE))
        rows = [[timed(step) for step in steps] for _ in range(rounds + 1)][1:]
        print(f"{entries} entries, {path.stat().st_size / 1e6:.1f} MB, {rounds} rounds")
    print(f"read + decode + SHA             {statistics.median(row[0] for row in rows):7.2f} s")
    for at, name, goal in ((1, "chain and links", 1.8), (2, "everything", 4.0)):
        ratio = statistics.median(row[at] / row[0] for row in rows)
        took = statistics.median(row[at] for row in rows)
        print(
            f"{name:<31} {took:7.2f} s   ratio {ratio:.2f}   goal {goal} or less: {'met' if ratio <= goal else 'missed'}"
        )


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
