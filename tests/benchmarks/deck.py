"""How long a deck takes, how many ballots a style it has, and what memory: `python tests/benchmarks/deck.py [place] [county] [limit] [results FILE.csv]`.

Without words: place, county and limit. `place`: 10 contests on 2 styles (goal 0.2 s). `county`: 25 contests, 8 styles, 16 precincts (goal 2 s).
`limit`: 100 contests of 12 choices and a write-in on each of 40 styles (goal 120 s, 1 GB). `results`: each precinct of a results file as a
place, every fault played on each. Seconds of the processor, so that a busy machine changes little; the median of five rounds, the first thrown
away; limit and results once.
"""

import resource
import sys
import time
from pathlib import Path
from statistics import median

sys.path[:0] = [str(Path(__file__).resolve().parents[2]), str(Path(__file__).resolve().parents[1])]

from deck.cast import contest, plan, style  # noqa: E402 - found through the path above
from demo_precinct import results_file  # noqa: E402
from webapp.deck.deck import Deck, build, minimum  # noqa: E402
from webapp.deck.plan import plan as plan_of  # noqa: E402
from webapp.deck.playing import play  # noqa: E402
from webapp.deck.positions import DeckContest, DeckPlan  # noqa: E402

EXTRA = ("precinct", "tabulator", "refuse")


def place_plan() -> DeckPlan:
    """Ten contests on two styles, as a polling place has them."""
    common = [_office(f"O{i}", 2 + i % 3) for i in range(8)]
    return plan(
        style("1", "P1", *common, _office("X", 2), _measure("Y")),
        style("2", "P2", *common, _office("Z", 3), _measure("W")),
    )


def county_plan() -> DeckPlan:
    """25 contests, of which each of 8 styles in 16 precincts carries some 18."""
    contests = [_office(f"O{i}", 2 + i % 5, 1 + (i % 6 == 0)) for i in range(15)] + [
        _measure(f"M{i}") for i in range(10)
    ]
    return plan(
        *(
            style(f"S{k}", f"P{2 * k} P{2 * k + 1}", *(c for i, c in enumerate(contests) if i < 12 or (i + k) % 2))
            for k in range(8)
        )
    )


def limit_plan() -> DeckPlan:
    """100 contests of 12 choices and a write-in line on each of 40 styles."""
    contests = [_office(f"O{i}", 12) for i in range(100)]
    return plan(*(style(f"S{k}", f"P{k}", *contests) for k in range(40)))


def _office(id: str, choices: int, n: int = 1) -> DeckContest:
    return contest(id, " ".join(f"c{i}" for i in range(choices)) + " ", 1, n)


def _measure(id: str) -> DeckContest:
    return contest(id, "YES NO")


def measure(name: str, made: DeckPlan, rounds: int) -> None:
    seconds, played_in = [], []
    for _ in range(rounds):
        start = time.process_time()
        deck = build(made)
        written = len(deck.json_bytes)
        middle = time.process_time()
        played = play(deck)
        seconds.append(middle - start)
        played_in.append(time.process_time() - middle)
    kept = seconds[1:] or seconds
    print(
        f"{name}: deck {median(kept):.3f} s, {played.total} faults played in {median(played_in[1:] or played_in):.3f} s, {len(played.hidden)} hidden; {size(deck)}; {written // 1024} kB; {memory()}"
    )


def size(deck: Deck) -> str:
    """Ballots in all, a style, and against the least."""
    rows = [row for row in deck.rows if row.kind not in EXTRA]
    least = sum(minimum(deck.plan, one) for one in deck.plan.styles)
    return f"{len(deck.rows)} ballots, {len(rows) / len(deck.plan.styles):.1f} a style, {len(rows) / least:.3f} of the least"


def memory() -> str:
    return f"{resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024} MB"


def results(file: Path) -> None:
    """Every precinct of a results file as a place: its deck, all faults played."""
    read = results_file.read(file.read_bytes())
    ratios, ballots, total, hidden, start = [], [], 0, [], time.process_time()
    for index in range(len(read.precincts)):
        place = results_file.place(read, index)
        deck = build(plan_of(place))
        played = play(deck)
        rows = [row for row in deck.rows if row.kind not in EXTRA]
        ratios.append(len(rows) / sum(minimum(deck.plan, one) for one in deck.plan.styles))
        ballots.append(len(rows))
        total += played.total
        hidden += [(place.id, one.as_json()) for one in played.hidden]
    taken = time.process_time() - start
    print(
        f"{file.name}: {len(ratios)} places in {taken:.1f} s, {total} faults played, {len(hidden)} hidden; ballots a style median {median(ballots)}, "
        f"most {max(ballots)}; of the least median {median(ratios):.3f}, worst {max(ratios):.3f}; {memory()}"
    )
    for one in hidden[:10]:
        print("  hidden:", one)


def main(words: list[str]) -> None:
    wanted = words or ["place", "county", "limit"]
    if wanted[0] == "results":
        for file in wanted[1:]:
            results(Path(file))
        return
    for name, made, rounds in (("place", place_plan, 6), ("county", county_plan, 6), ("limit", limit_plan, 1)):
        if name in wanted:
            measure(name, made(), rounds)


if __name__ == "__main__":
    main(sys.argv[1:])
