"""How often the balance names what truly went wrong: hit rates on simulated nights, by code, with the misses spelled out.

    python tests/nights/hit_rates.py [--nights 2000] [--mistakes 1|2] [--seed 0] [--even] [--misses 5]

Prints, for one mistake within the first 3 answers and for two within the first 5: how often an answer as good as the truth
(it adds up and costs no more) stood there, and how often the very mistake, its twin or its tie. Nights whose mistakes move
no line are counted apart: nothing could be said about them. Exits 1 when something stood there that may never happen.
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

from nights.judge import Verdict, codes, verdict, wrong_lines  # noqa: E402
from nights.mistakes import Night, a_night  # noqa: E402
from webapp.precinct.explain.explain import explained  # noqa: E402

TOP = {1: 3, 2: 5}
LIMIT_MS = 50


@dataclass
class Tally:
    """What was seen over all nights; `misses` are (night, what was missed, answers)."""

    mistakes: int
    nights: int = 0
    unseen: int = 0  # mistakes on no line
    asked: Counter = field(default_factory=Counter)
    as_good: Counter = field(default_factory=Counter)
    very: Counter = field(default_factory=Counter)
    told: int = 0
    faults: list[tuple[int, str]] = field(default_factory=list)
    misses: list[tuple[Night, str, dict]] = field(default_factory=list)
    ms: list[float] = field(default_factory=list)

    def share(self, hits: Counter) -> float:
        return hits["all"] / self.asked["all"] if self.asked["all"] else 1.0

    def add(self, night: Night, out: dict, judged: Verdict) -> None:
        top = TOP[self.mistakes]
        good = judged.as_good is not None and judged.as_good < top
        very = judged.very is not None and judged.very < top
        for code in {*codes(night.truth), "all"}:
            self.asked[code] += 1
            self.as_good[code] += good
            self.very[code] += very
        self.told += judged.told is not None and judged.told < top
        if not good or not very:
            self.misses.append((night, "none as good" if not good else "not the very one", out))


def clean_nights(nights: int, seed: int) -> Tally:
    """Nights without mistakes: any open line, any answer, any crash is a fault."""
    tally = Tally(1)
    for number in range(seed, seed + nights):
        night = a_night(number)
        out, ms = asked(night)
        tally.nights += 1
        tally.ms.append(ms)
        tally.faults += [(number, fault) for fault in wrong_lines(night, out)]
        if not out["balanced"] or out["explanations"] or out["ruled_out"]:
            tally.faults.append((number, f"false alarm: {[line for line in out['lines'] if line['gap']]}"))
    return tally


def asked(night: Night) -> tuple[dict, float]:
    """The answer to one night, and the milliseconds it took here."""
    start = perf_counter()
    out = explained(night.figures).as_json()
    ms = (perf_counter() - start) * 1000
    return json.loads(json.dumps(out)), ms


def mistaken_nights(nights: int, mistakes: int, seed: int, even: bool = False) -> Tally:
    """Nights with one or two mistakes, judged against the truth."""
    tally = Tally(mistakes)
    for number in range(seed, seed + nights):
        night = a_night(number, mistakes, even)
        tally.nights += 1
        try:
            out, ms = asked(night)
        except Exception as crash:  # a crash is a finding; the other nights still count
            tally.faults.append((number, f"crash: {type(crash).__name__}: {crash}"))
            continue
        tally.ms.append(ms)
        if not night.shows:
            tally.unseen += 1
            tally.faults += [(number, fault) for fault in wrong_lines(night, out)]
            continue
        judged = verdict(night, out)
        tally.faults += [(number, fault) for fault in judged.faults]
        tally.add(night, out, judged)
    return tally


def _spelled(night: Night, what: str, out: dict) -> str:
    gaps = {"/".join(filter(None, line)): gap for line, gap in night.gaps.items() if gap}
    answers = "\n".join(f"      {e['tie']:>2} {json.dumps(e['because'])}" for e in out["explanations"])
    return (
        f"  night {night.seed}: {what}\n    truth {json.dumps(night.truth)}\n    gaps  {json.dumps(gaps)}\n{answers}"
        f"\n    figures {json.dumps(night.figures)}"
    )


def _report(tally: Tally, shown: int) -> None:
    top, ms = TOP[tally.mistakes], sorted(tally.ms)
    print(f"{tally.nights} nights with {tally.mistakes}; on no line {tally.unseen}; first {top} answers")
    print(f"{'':24}{'nights':>8}{'as good':>9}{'the very':>10}")
    for code, n in tally.asked.most_common():
        print(f"{code:24}{n:8}{tally.as_good[code] / n:9.1%}{tally.very[code] / n:10.1%}")
    print(f"the very one, ties only as told: {tally.told / max(1, tally.asked['all']):.1%}")
    print(
        f"ms: median {ms[len(ms) // 2]:.1f}, 99th {ms[int(len(ms) * 0.99)]:.1f}, worst {ms[-1]:.1f}; "
        f"over {LIMIT_MS}: {sum(m > LIMIT_MS for m in ms)}"
    )
    _faults(tally)
    for miss in sorted(tally.misses, key=lambda m: m[1] != "none as good")[:shown]:
        print(_spelled(*miss))


def _faults(tally: Tally) -> None:
    print(f"what may never happen: {len(tally.faults)}")
    for number, fault in tally.faults[:20]:
        print(f"  night {number}: {fault}")


def main() -> int:
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument("--nights", type=int, default=2000)
    ask.add_argument("--mistakes", type=int, choices=(1, 2))
    ask.add_argument("--seed", type=int, default=0)
    ask.add_argument("--even", action="store_true", help="every code alike, to see the rare ones")
    ask.add_argument("--misses", type=int, default=5, help="how many misses to spell out")
    told = ask.parse_args()
    clean = clean_nights(told.nights, told.seed)
    print(f"{clean.nights} nights without mistakes")
    _faults(clean)
    bad = len(clean.faults)
    for mistakes in (told.mistakes,) if told.mistakes else (1, 2):
        tally = mistaken_nights(told.nights, mistakes, told.seed, told.even)
        _report(tally, told.misses)
        bad += len(tally.faults)
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
