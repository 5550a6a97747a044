"""A program that keeps entries as fast as it can, says each number when it has it, and is killed in the middle."""

import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

from webapp.record.ledger import Ledger

ROOT = Path(__file__).resolve().parents[2]
WRITER = """
import sys
from tests.record.story import COARSE, SIX, act
from webapp.record.ledger import Ledger
ledger = Ledger.open(sys.argv[1], COARSE)
n = ledger.length
while True:
    n += 1
    page = [act(1000 * n + m, seq=1000 * n + m, words={"why": "w" * (n % 900)}) for m in range(1, 1 + n % 4)] or [act(1000 * n)]
    print(*(entry.number for entry in ledger.append(*page, now=SIX)), flush=True)
"""


def kill_while_writing(path: Path, seed: int) -> int:
    """Start the writer on the record at `path`, kill it after a moment, and give the highest number it had said."""
    with subprocess.Popen(
        [sys.executable, "-c", WRITER, str(path)], cwd=ROOT, stdout=subprocess.PIPE, text=True
    ) as writer:
        said = writer.stdout.readline()
        time.sleep(random.Random(seed).uniform(0, 0.05))
        writer.send_signal(signal.SIGKILL if os.name != "nt" else signal.SIGTERM)
        said += writer.stdout.read()
    return max(int(number) for line in said.splitlines(keepends=True) if line.endswith("\n") for number in line.split())


def reopened(path: Path) -> int:
    """How many entries the record has when the next program opens it and closes it again."""
    with Ledger.open(path) as ledger:
        return ledger.length
