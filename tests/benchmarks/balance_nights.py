"""How long a night takes, and how that grows: with ballots, tabulators, kinds and precincts. Prints a table; asserts no times.

    python tests/benchmarks/balance_nights.py [--rounds 5]

Each night is a pure function of its figures. Rounds are interleaved (every size once a round), the first round is thrown away, medians are shown.
"""

import argparse
import json
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from statistics import median
from time import perf_counter
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from webapp.precinct.explain.explain import explained  # noqa: E402

KINDS = (
    "spoiled",
    "provisional",
    "emergency",
    "left",
    "taken",
    "found",
    "set-apart",
    "spoiled-not-reissued",
    "hand-counted",
)
Bend = Callable[[dict[str, Any]], None]


def night(
    tabulators: int = 1, ballots: int = 430, kinds: int = 5, precincts: int = 1, emergency: int = 3
) -> dict[str, Any]:
    """A clean night: every tabulator takes in the same number, every kind holds three (the emergency bin as many as asked), one precinct after the other."""
    aside = {kind: 3 for kind in KINDS[:kinds]} | {"emergency": emergency}
    drawn = tabulators * ballots + sum(n for kind, n in aside.items() if kind != "left")
    booked = tabulators * ballots + sum(n for kind, n in aside.items() if kind not in ("spoiled", "provisional"))
    each = [ballots // precincts + (n < ballots % precincts) for n in range(precincts)]
    rows = [{"precinct": f"P{n}", "n": share} for n, share in enumerate(each)]
    people = [{"precinct": f"P{n}", "n": share * tabulators} for n, share in enumerate(each)]
    people[0]["n"] += booked - tabulators * ballots
    asides = {kind: [{"precinct": "P0", "n": n}] for kind, n in aside.items()}
    return {
        "stock": {"received": drawn + 500, "unused": 500},
        "stubs": {"first": 1, "next": 1 + drawn},
        "poll_book": booked if precincts == 1 else people,
        "set_aside": aside if precincts == 1 else asides,
        "tabulators": [
            {
                "id": f"T{n}",
                "counter_at_zero": 0,
                "counter_at_close": ballots,
                "lifetime_at_zero": 9000 + n,
                "lifetime_at_close": 9000 + n + ballots,
                "tape": ballots if precincts == 1 else [dict(row) for row in rows],
                "bins": {"main": ballots - 21, "write-in": 21},
            }
            for n in range(tabulators)
        ],
        "readings": [
            {
                "at": f"{hour:02}:00",
                "counter": (hour - 7) * ballots * tabulators // 14,
                "poll_book": (hour - 7) * ballots * tabulators // 14 + 2,
                "in_hand": 2,
            }
            for hour in range(8, 21)
        ],
    }


def one(f: dict[str, Any]) -> None:
    """A spoiled ballot not written down."""
    f["stock"]["unused"] -= 1
    f["stubs"]["next"] += 1


def two(f: dict[str, Any]) -> None:
    """And one ballot left in the bin of the first tabulator."""
    one(f)
    f["tabulators"][0]["bins"]["main"] -= 1


def three(f: dict[str, Any]) -> None:
    """And a protective counter misread by 30 at the last tabulator: no two mistakes give this."""
    two(f)
    f["tabulators"][-1]["lifetime_at_close"] += 30


def five(f: dict[str, Any]) -> None:
    """Five lines off by unrelated numbers: no three mistakes give this, and all of them are looked through."""
    three(f)
    f["stubs"]["next"] += 333
    f["tabulators"][-1]["counter_at_close"] += 77


def cases() -> Iterator[tuple[str, dict[str, Any]]]:
    bends: dict[str, Bend] = {"clean": lambda f: None, "one": one, "two": two, "three": three, "five": five}
    for word, bend in bends.items():
        for sizes in (
            {},
            {"ballots": 4300},
            {"ballots": 43000},
            {"tabulators": 3},
            {"tabulators": 10},
            {"kinds": 9},
            {"emergency": 300},
            {"emergency": 300_000},
            {"precincts": 3},
            {"precincts": 8},
            {"tabulators": 10, "precincts": 3},
        ):
            f = json.loads(json.dumps(night(**sizes)))
            bend(f)
            yield (
                f"{word:6} {', '.join(f'{n} {key}' for key, n in sizes.items()) or '1 tabulator, 430 ballots, 5 kinds'}",
                f,
            )


def main() -> None:
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument("--rounds", type=int, default=5)
    rounds = ask.parse_args().rounds
    taken: dict[str, list[float]] = {}
    answers: dict[str, int] = {}
    for number in range(rounds + 1):
        for word, figures in cases():
            start = perf_counter()
            found = explained(figures)
            if number:
                taken.setdefault(word, []).append((perf_counter() - start) * 1000)
            answers[word] = len(found.explanations)
    print(f"{'mistakes, size':48}{'ms':>8}{'answers':>9}")
    for word, times in taken.items():
        print(f"{word:48}{median(times):8.1f}{answers[word]:9}")


if __name__ == "__main__":
    main()
