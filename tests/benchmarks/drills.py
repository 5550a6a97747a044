"""Two hundred drills on nights that a rehearsal kept: what was restored, given back and lost, and whether every statement was true.

    python3 tests/benchmarks/drills.py [--kept DIR] [--seeds 200] [--first 0] [--minutes 60]

DIR: what `tapeseal rehearse --keep DIR` left, of a county for many nights; without it one night is rehearsed first.
"""

import argparse
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from tests.drills.drill import drill, kept_night  # noqa: E402 - the folder above must be found first
from webapp.precinct.place.ballot_kinds import COARSE_KINDS  # noqa: E402
from webapp.record.backup import record_id_of  # noqa: E402


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--kept", type=Path, metavar="DIR")
    parser.add_argument("--seeds", type=int, default=200)
    parser.add_argument("--first", type=int, default=0, help="the first seed")
    parser.add_argument("--minutes", type=float, default=60.0, help="then as many as fitted are told")
    options = parser.parse_args()
    if options.kept:
        return drills(options.kept, options)
    with tempfile.TemporaryDirectory(prefix="nights-") as folder:
        kept = Path(folder) / "kept"
        subprocess.run([sys.executable, "-m", "webapp", "rehearse", "--keep", str(kept)], cwd=ROOT, check=True)
        return drills(kept, options)


def drills(kept: Path, options: argparse.Namespace) -> int:
    """Drill the nights of this folder in turn and print what became of their entries; 1 where a statement was not true."""
    records = sorted(kept.rglob("record.db"))
    found = [(kept_night(path), record_id_of(path)) for path in records]
    began, reports = time.monotonic(), []
    for seed in range(options.first, options.seeds):
        if time.monotonic() - began > 60 * options.minutes:
            break
        night, record_id = found[seed % len(found)]
        folder = Path(tempfile.mkdtemp(prefix="drill-"))
        try:
            reports.append(drill(night, record_id, COARSE_KINDS, folder, seed))
        finally:
            shutil.rmtree(folder)
    wrong = [report for report in reports if report.wrong]
    print(
        f"{len(reports)} drills on {len(found)} nights of {min(len(n) for n, _ in found)} to {max(len(n) for n, _ in found)} entries, {time.monotonic() - began:.0f} s"
    )
    print("harms:", dict(Counter(report.harm for report in reports)))
    for name in ("on_stick", "given", "lost"):
        values = [getattr(report, name) for report in reports]
        print(f"{name}: median {statistics.median(values):.0f}, most {max(values)}, in all {sum(values)}")
    print(f"wrong: {len(wrong)}")
    for report in wrong[:20]:
        print(report)
    return 1 if wrong else 0


if __name__ == "__main__":
    raise SystemExit(main())
