"""How often the open batches of a board name what truly went wrong: hit rates on simulated board days, by code, with the misses spelled out.

    python tests/board/hit_rates.py [--days 2000] [--mistakes 1|2] [--seed 0] [--even] [--misses 5]

Prints how often an answer as good as the truth (it adds up and costs no more) stood among the first three of each open group, and how often the very
mistake, its twin or its tie. Days whose mistakes open no batch are counted apart. Exits 1 when something stood there that may never happen.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path
from time import perf_counter

sys.path[:0] = [str(Path(__file__).resolve().parents[1]), str(Path(__file__).resolve().parents[2])]

from board.days import a_day  # noqa: E402
from board.judge import verdict, wrong_lines  # noqa: E402
from webapp.board.answer import answer  # noqa: E402


@dataclass
class Tally:
    """What was seen over all days; a day is hit when each of its open groups is."""

    mistakes: int
    days: int = 0
    unseen: int = 0
    as_good: Counter = field(default_factory=Counter)
    very: Counter = field(default_factory=Counter)
    asked: Counter = field(default_factory=Counter)
    faults: list[tuple[int, str]] = field(default_factory=list)
    misses: list[tuple[int, dict, list[dict]]] = field(default_factory=list)
    ms: list[float] = field(default_factory=list)

    def share(self, hits: Counter, code: str = "all") -> float:
        return hits[code] / max(1, self.asked[code])


def clean_days(days: int, seed: int) -> Tally:
    """Days without mistakes: any open line is a false alarm, and the board must be whole."""
    tally = Tally(0)
    for number in range(seed, seed + days):
        figures = a_day(number).figures
        out = answer(figures).as_json()
        tally.days += 1
        tally.faults += [(number, f"line {fault}") for fault in wrong_lines(figures, out)]
        tally.faults += [(number, f"false alarm: {line['says']}") for line in out["lines"] if line["gap"]]
        tally.faults += [(number, "not whole")] * (not out["complete"]) + [(number, "open batches")] * (
            "batches" in out
        )
    return tally


def mistaken_days(days: int, mistakes: int, seed: int, even: bool = False) -> Tally:
    """So many days with mistakes that open a batch."""
    tally, number = Tally(mistakes), seed
    while tally.days - tally.unseen < days:
        day = a_day(number, mistakes, even)
        start = perf_counter()
        out = answer(day.figures).as_json()
        tally.ms.append((perf_counter() - start) * 1000)
        tally.days += 1
        judged = verdict(day.figures, day.truth, out)
        tally.faults += [(number, fault) for fault in (*judged.faults, *wrong_lines(day.figures, out))]
        if not judged.groups:
            tally.unseen += 1
        else:
            names = ["all", *dict.fromkeys(true["code"] for true in day.truth)]
            tally.asked.update(names)
            tally.as_good.update(names if judged.as_good == judged.groups else ())
            tally.very.update(names if judged.very == judged.groups else ())
            tally.misses += [(number, group, true) for group, true in judged.misses]
        number += 1
    return tally


def report(tally: Tally, shown: int) -> None:
    ms = sorted(tally.ms)
    print(
        f"{tally.days} days with {tally.mistakes} mistake{'s' * (tally.mistakes > 1)}; {tally.unseen} opened no batch; first three answers of each group"
    )
    print(f"{'':24}{'days':>8}{'as good':>9}{'the very':>10}")
    for code, n in tally.asked.most_common():
        print(f"{code:24}{n:8}{tally.as_good[code] / n:9.1%}{tally.very[code] / n:10.1%}")
    print(f"ms: median {ms[len(ms) // 2]:.1f}, 99th {ms[int(len(ms) * 0.99)]:.1f}, worst {ms[-1]:.1f}")
    _faults(tally)
    for number, group, true in tally.misses[:shown]:
        print(f"  miss, day {number}: {group['ids']} {json.dumps(group['gaps'])}\n    truth {json.dumps(true)}")
        for e in group["explanations"]:
            print(f"    {e['tie']} {json.dumps(e['because'])}")


def _faults(tally: Tally) -> None:
    print(f"what may never happen: {len(tally.faults)}")
    for number, fault in tally.faults[:20]:
        print(f"  day {number}: {fault}")


def main() -> int:
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument("--days", type=int, default=2000)
    ask.add_argument("--mistakes", type=int, choices=(1, 2))
    ask.add_argument("--seed", type=int, default=0)
    ask.add_argument("--even", action="store_true", help="every code alike, to see the rare ones")
    ask.add_argument("--misses", type=int, default=5, help="how many misses to spell out")
    told = ask.parse_args()
    clean = clean_days(told.days, told.seed)
    print(f"{clean.days} days without mistakes")
    _faults(clean)
    bad = len(clean.faults)
    for mistakes in (told.mistakes,) if told.mistakes else (1, 2):
        tally = mistaken_days(told.days, mistakes, told.seed, told.even)
        report(tally, told.misses)
        bad += len(tally.faults)
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
