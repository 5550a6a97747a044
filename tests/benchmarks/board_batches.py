"""How long the batches of a count board take: all lines, open batches with what they are consistent with, the day folded out of its entries. Asserts no times.

    python tests/benchmarks/board_batches.py [--rounds 5]

Processor time, medians; rounds are interleaved (every size once a round) and the first is thrown away. 40,000 envelopes in batches of 25 are 1,600 batches and
some 5,600 entries.
"""

import argparse
import sys
from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path
from random import Random
from statistics import median
from time import process_time
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from webapp.board.answer import answer  # noqa: E402
from webapp.board.board_day import BoardEntry  # noqa: E402
from webapp.board.board_entries import board_day  # noqa: E402
from webapp.board.board_figures import figures  # noqa: E402
from webapp.board.board_rules import BoardRules  # noqa: E402
from webapp.paper.header_sheets import header_sheets_pdf  # noqa: E402
from webapp.precinct.place import place_file  # noqa: E402

START = datetime(2026, 11, 3, 7)
ROOT = Path(__file__).resolve().parents[2]


def entries(batches: int, tabulators: int = 8, seed: int = 1) -> list[BoardEntry]:
    """A board's day: a tray for each four batches, three batches in eight with a ballot set aside and settled, two of three of these duplicated. 1,600 batches: some 5,600."""
    rng, found, counter, serial = Random(seed), [], [0] * tabulators, 0
    for n in range(batches):
        id, at, when = f"B{n + 1:03}", n % tabulators, START + timedelta(seconds=10 * n)
        precinct = f"P{n // 20}"
        if n % 4 == 0:
            tray = {"tray": str(n // 4), "precincts": [precinct], "envelopes": 100, "sleeves": 100}
            found.append(BoardEntry("tray-open", tray, when))
            found.append(BoardEntry("unfold", {"tray": str(n // 4), "ballots": [100, 100], "extra": 0}, when))
        aside = int(rng.random() < 0.375)
        made = {"batch": id, "precincts": {precinct: 25}, "envelopes": 25, "ballots": [25, 25]}
        found.append(BoardEntry("batch-made", made, when))
        fed = {
            "at": f"A{at}",
            "batch": id,
            "before": counter[at],
            "after": counter[at] + 25 - aside,
            "aside": {"torn": aside},
        }
        counter[at] += 25 - aside
        found.append(BoardEntry("batch-fed", fed, when))
        if aside:
            found.append(BoardEntry("problem", {"batch": id, "position": 7, "cause": "torn"}, when))
            settled = {"batch": id, "position": 7, "outcome": "waiting"}
            if rng.random() < 2 / 3:
                serial += 1
                stamps = dict.fromkeys(("both_numbered", "void_stamped", "duplicate_stamped"), True)
                made = {"serial": f"D-{serial:04}", "style": "3A", "cause": "torn", **stamps}
                found.append(BoardEntry("duplicate-made", made, when))
                settled |= {"outcome": "duplicated", "serial": made["serial"]}
            found.append(BoardEntry("settled", settled, when))
    return found


def bent(board: dict[str, Any], share: float) -> dict[str, Any]:
    """The same figures with a ballot too many or too few set aside in a share of the batches."""
    rng = Random(2)
    batches = [dict(one, aside=one["aside"] ^ (rng.random() < share)) for one in board["board"]["batches"]]
    return {**board, "board": {**board["board"], "batches": batches}}


def timed(work: Callable[[], Any]) -> float:
    start = process_time()
    work()
    return (process_time() - start) * 1000


def main() -> int:
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument("--rounds", type=int, default=5)
    rounds = ask.parse_args().rounds
    place = place_file.read((ROOT / "demo_precinct" / "place.toml").read_bytes())
    work: dict[str, Callable[[], Any]] = {}
    for batches in (100, 400, 2000):
        told = entries(batches)
        board = figures(board_day(BoardRules(), told))
        some = bent(board, 0.03)
        work[f"{batches} batches: {len(told)} entries folded, and their figures"] = lambda told=told: figures(
            board_day(BoardRules(), told)
        )
        work[f"{batches} batches: all lines"] = lambda board=board: answer(board, explain=False)
        work[f"{batches} batches, 3 % open: lines and explanations, as JSON"] = lambda some=some: answer(some).as_json()
    work["200 header sheets"] = lambda: header_sheets_pdf(place, "first", 1, 200)
    seen: dict[str, list[float]] = {name: [] for name in work}
    for _ in range(rounds + 1):
        for name, one in work.items():
            seen[name].append(timed(one))
    for name, times in seen.items():
        print(f"{name:75}{median(times[1:]):9.1f} ms")
    return 0


if __name__ == "__main__":
    sys.exit(main())
