"""What an edition costs: blocks of 5,000 places and 60 contests, one count more, and its files against the same rows written by csv and json alone.

python tests/benchmarks/editions.py [places] [contests]
"""

import csv
import io
import json
import random
import resource
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from webapp.canvass import nist_results, results_csv  # noqa: E402 - the folder above must be found first
from webapp.canvass.atoms import Atom, Figures  # noqa: E402
from webapp.canvass.blocks import Neighbors  # noqa: E402
from webapp.canvass.edition import WAYS, Edition, Unit  # noqa: E402
from webapp.canvass.published import OneContest, next_edition  # noqa: E402
from webapp.precinct.place.place import Choice, Contest  # noqa: E402

SITE, LATER = "election-day", "provisional"


def county(places: int, contests: int):
    """(lists, contests, figures by contest and atom): one place in twenty is of fewer than ten ballots."""
    dice = random.Random(1)
    ids = [f"P{i:05}" for i in range(places)]
    lists = Neighbors(
        {p: i for i, p in enumerate(ids)},
        {w.id: i for i, w in enumerate(WAYS)},
        {p: ids[i ^ 1] for i, p in enumerate(ids[: places // 2 * 2])},
    )
    ballots = {p: dice.randint(1, 9) if i % 20 == 0 else dice.randint(200, 1500) for i, p in enumerate(ids)}
    made = tuple(
        Contest(f"C{c:03}", f"Contest {c}", 1, (Choice("A", "Ada"), Choice("B", "Ben")), "", True)
        for c in range(contests)
    )
    rows = {
        contest.id: {
            Atom(p, SITE): Figures(
                n, {"A": n // 2, "B": n - n // 2, "write_in": 0, "under": 0, "over": 0, "ballots": n}
            )
            for p, n in ballots.items()
        }
        for contest in made
    }
    return lists, made, rows, ballots


def seconds(what) -> tuple[float, object]:
    began = time.process_time()
    found = what()
    return time.process_time() - began, found


def main() -> None:
    places, contests = (int(word) for word in (*sys.argv[1:], "5000", "60")[:2]) if len(sys.argv) > 2 else (5000, 60)
    lists, made, rows, ballots = county(places, contests)
    spent, figures = seconds(lambda: {id: next_edition(OneContest(), mine, lists) for id, mine in rows.items()})
    print(f"blocks of {places:,} places, {contests} contests: {spent:.2f} s")
    more = {id: mine | {Atom("P00001", LATER): Figures(12, {"A": 7, "B": 5})} for id, mine in rows.items()}
    spent, figures = seconds(lambda: {id: next_edition(figures[id], mine, lists) for id, mine in more.items()})
    print(f"the next edition after one more count: {spent:.2f} s")
    units = tuple(Unit(p, f"Place {p}", {SITE: n}) for p, n in ballots.items())
    edition = Edition(2, "unofficial-partial", 0, 1, "Office", "Election", places, places, made, figures, units, WAYS)
    spent, data = seconds(lambda: results_csv.written(edition))
    table = list(csv.reader(io.StringIO(data.decode())))

    def again() -> bytes:
        out = io.StringIO()
        csv.writer(out, lineterminator="\n").writerows(table)
        return out.getvalue().encode()

    bare, same = seconds(again)
    assert same == data
    print(f"results.csv, {len(table):,} rows: {spent:.2f} s, {spent / bare:.1f} times csv alone")
    told = ("sable", "2026-11-12T16:05:00-06:00", "1", "2026-11-03", "general", "votes")
    spent, report = seconds(lambda: nist_results.document(edition, *told))
    bare, text = seconds(lambda: json.dumps(report))
    print(
        f"the standard's JSON, {len(text) / 1e6:.0f} MB: {spent:.2f} s besides {bare:.2f} s of json alone: {(spent + bare) / bare:.1f} times"
    )
    print(f"memory at the most: {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB")


if __name__ == "__main__":
    main()
