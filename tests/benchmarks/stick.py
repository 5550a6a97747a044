"""What a stick costs an entry: durable entries without a stick, with one, with one whose fsync takes 300 ms, and with one that never answers.

    python3 -m tests.benchmarks.stick [--entries 300] [--folder DIR]

The four records are written in turn, entry by entry, so that whatever else the computer does falls on each alike; the ratios are of neighbors.
Then: how long until an entry is on the stick, how fast 400 entries catch up, and what the copying process holds in memory.
"""

import argparse
import os
import signal
import statistics
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.record import story  # noqa: E402 - the folder above must be found first
from tests.stick import nights  # noqa: E402
from webapp.record.ledger import Ledger  # noqa: E402
from webapp.stick.backup_process import BackupProcess  # noqa: E402


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--entries", type=int, default=300)
    parser.add_argument(
        "--folder", type=Path, help="on the disk that is measured; default: the system's temporary folder"
    )
    options = parser.parse_args()
    with tempfile.TemporaryDirectory(dir=options.folder) as folder:
        measured(Path(folder), options.entries)
    return 0


def measured(folder: Path, entries: int) -> None:
    ledgers, copying = {}, {}
    for name, delay in (("none", None), ("stick", 0.0), ("slow", 0.3), ("hung", 0.0)):
        (folder / name / "stick").mkdir(parents=True)
        record = folder / name / "record.db"
        ledgers[name] = Ledger.create(record, story.RECORD_ID, story.COARSE)
        if delay is not None:
            copying[name] = BackupProcess(nights.task(record, folder / name / "stick"), delay=delay)
    nights.keep(ledgers["hung"], 1, 10_000)
    _until(lambda: copying["hung"].status.number == 1)
    os.kill(copying["hung"].pid, signal.SIGSTOP)
    times: dict[str, list[float]] = {name: [] for name in ledgers}
    for n in range(entries):
        for name, ledger in ledgers.items():
            began = time.perf_counter()
            nights.keep(ledger, 1, 100 + n)
            times[name].append(time.perf_counter() - began)
        time.sleep(0.005)
    for name, found in times.items():
        ratio = statistics.median(one / base for one, base in zip(found, times["none"], strict=True))
        p95, base = statistics.quantiles(found, n=20)[-1], statistics.quantiles(times["none"], n=20)[-1]
        print(
            f"{name}: median {1000 * statistics.median(found):.2f} ms, p95 {1000 * p95:.2f} ms ({p95 / base:.2f}x), median of ratios {ratio:.2f}"
        )
    _until(lambda: copying["stick"].status.number == ledgers["stick"].length)
    lags = []
    for n in range(60):
        nights.keep(ledgers["stick"], 1, 5_000 + n)
        began = time.perf_counter()
        _until(lambda: copying["stick"].status.number == ledgers["stick"].length)
        lags.append(time.perf_counter() - began)
    print(
        f"on the stick after its number: median {statistics.median(lags):.2f} s, p95 {statistics.quantiles(lags, n=20)[-1]:.2f} s"
    )
    print(f"memory of the copying process: {_memory(copying['stick'].pid)} MB")
    away = folder / "stick" / "away"
    (folder / "stick" / "stick").rename(away)
    _until(lambda: copying["stick"].status.state == "gone")
    for n in range(400):
        nights.keep(ledgers["stick"], 1, 6_000 + n)
    away.rename(folder / "stick" / "stick")
    began = time.perf_counter()
    _until(lambda: copying["stick"].status.number == ledgers["stick"].length)
    print(f"400 entries after the stick came back: {time.perf_counter() - began:.1f} s")
    os.kill(copying["hung"].pid, signal.SIGCONT)
    for one in copying.values():
        one.close()
    for ledger in ledgers.values():
        ledger.close()


def _until(holds) -> None:
    end = time.monotonic() + 60
    while not holds():
        assert time.monotonic() < end, "it never came to be"
        time.sleep(0.005)


def _memory(pid: int) -> int:
    """Resident memory in MB, of Linux; 0 elsewhere."""
    try:
        text = Path(f"/proc/{pid}/status").read_text()
    except OSError:
        return 0
    return int(text.partition("VmRSS:")[2].split()[0]) // 1024


if __name__ == "__main__":
    raise SystemExit(main())
