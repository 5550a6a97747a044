"""Two hundred drills on nights that a rehearsal kept: what was restored, given back and lost, and whether every statement was true.

    python3 -m tests.benchmarks.drills --kept DIR [--seeds 200] [--first 0]

DIR: what `tapeseal rehearse --keep DIR` left.
"""

import argparse
import shutil
import statistics
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.drills.drill import drill, kept_night  # noqa: E402 - the folder above must be found first
from webapp.precinct.place.ballot_kinds import COARSE_KINDS  # noqa: E402
from webapp.record.backup import record_id_of  # noqa: E402


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--kept", type=Path, required=True)
    parser.add_argument("--seeds", type=int, default=200)
    parser.add_argument("--first", type=int, default=0, help="the first seed")
    parser.add_argument("--minutes", type=float, default=60.0, help="then as many as fitted are told")
    options = parser.parse_args()
    records = sorted(options.kept.rglob("record.db"))
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
