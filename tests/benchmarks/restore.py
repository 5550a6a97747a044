"""A restore of 10,000 entries from a stick, beside the check of that record alone: processor time, in turn, median of the ratios.

    python3 tests/benchmarks/restore.py [--entries 10000] [--rounds 5]

Goal: 3 times `record verify`, besides opening the kit (one argon2id of 128 MiB, printed by itself). The stick is read, every entry is laid down byte
for byte with its words, checked by the auditor, and `restored` is added. Whole copies are left out: they would be one more look at the same entries.
"""

import argparse
import statistics
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.record import story  # noqa: E402 - the folder above must be found first
from tests.stick import nights  # noqa: E402
from webapp.gate import kit  # noqa: E402
from webapp.record.audit import verify  # noqa: E402
from webapp.record.ledger import Ledger  # noqa: E402
from webapp.stick.folder import chosen, read_folder  # noqa: E402
from webapp.stick.restore import restore  # noqa: E402


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--entries", type=int, default=10_000)
    parser.add_argument("--rounds", type=int, default=5)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "stick").mkdir()
        with Ledger.create(folder / "record.db", story.RECORD_ID, story.COARSE) as ledger:
            acts = [
                story.act(n, "reading", at=story.SIX + n * 60_000, words=words_of(n))
                for n in range(1, options.entries + 1)
            ]
            for at in range(0, len(acts), 500):
                ledger.append(*acts[at : at + 500], now=story.SIX + at * 60_000)
        nights.copied(folder / "record.db", folder / "stick")
        measured(folder, options.entries, options.rounds)
    return 0


def words_of(n: int) -> dict[str, str] | None:
    return {"remark": f"Remark {n}: a line at the door."} if n % 3 == 0 else None


def measured(folder: Path, entries: int, rounds: int) -> None:
    ratios, checks, restores = [], [], []
    for n in range(rounds + 1):
        began = time.process_time()
        verdict = verify(folder / "record.db", coarse=story.COARSE)
        checked = time.process_time() - began
        assert verdict.ok and verdict.entries == entries
        began = time.process_time()
        found = read_folder(chosen(folder / "stick"))
        made = restore(found, folder / f"{n}.db", seen=None, expect=(), kit="spare", coarse=story.COARSE, now=story.SIX)
        restored = time.process_time() - began
        assert made.last == entries
        if n:  # the first is warm-up
            checks.append(checked)
            restores.append(restored)
            ratios.append(restored / checked)
    began = time.process_time()
    kit.key_of("0" * 12, bytes(16))
    opened = time.process_time() - began
    without = statistics.median((one - opened) / base for one, base in zip(restores, checks, strict=True))
    print(
        f"{entries} entries: verify {statistics.median(checks):.2f} s, restore {statistics.median(restores):.2f} s, median of ratios "
        f"{statistics.median(ratios):.2f}, {without:.2f} without the check words of its end, one argon2id ({opened:.2f} s, as the kit's; goal 3)"
    )


if __name__ == "__main__":
    raise SystemExit(main())
