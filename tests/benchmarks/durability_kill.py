"""The record's program killed in the middle of writing, a thousand times on one record: no number that was said is ever lost.

Run with `python tests/benchmarks/durability_kill.py [KILLS]`. After each kill the record is checked as it lies; the next start goes on
from it. Prints how many entries were said, how many were found, how many commits had outrun their answer, and how often a kill came between
the pages of one entry: the check says then that it never had a number, and it is gone once the program was started again. Exit 1 where one is lost.
"""

import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.record.killed import kill_while_writing, reopened  # noqa: E402
from webapp.record.audit import verify  # noqa: E402
from webapp.record.ledger import Ledger  # noqa: E402


def main(kills: int = 1000) -> int:
    lost = unsaid = entries = halves = 0
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "record.db"
        Ledger.create(path).close()
        for kill in range(kills):
            said = kill_while_writing(path, kill)
            verdict = verify(path, quick=kill % 20 > 0)
            if "it never had a number" in verdict.says and verdict.first_wrong == verdict.entries + 1:
                lost += max(said - verdict.entries, 0)
                halves += 1
                reopened(path)
                verdict = verify(path)
            if not verdict.ok:
                print(f"after kill {kill + 1}: {verdict.says}")
                return 1
            lost += max(said - verdict.entries, 0)
            unsaid += max(verdict.entries - said, 0)
            entries = verdict.entries
    print(
        f"{kills} kills, {entries} entries, {lost} lost, {unsaid} kept whose number the writer had not said yet, {halves} cut off between the pages of an entry"
    )
    return 1 if lost else 0


if __name__ == "__main__":
    sys.exit(main(*map(int, sys.argv[1:])))
