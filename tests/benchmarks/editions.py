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
from webapp.office.canvassing.editions import HeldFile  # noqa: E402
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


def edition_of(places: int, contests: int) -> Edition:
    """The second edition of such a county, after one count more; what it costs is printed."""
    lists, made, rows, ballots = county(places, contests)
    spent, figures = seconds(lambda: {id: next_edition(OneContest(), mine, lists) for id, mine in rows.items()})
    print(f"blocks of {places:,} places, {contests} contests: {spent:.2f} s")
    more = {id: mine | {Atom("P00001", LATER): Figures(12, {"A": 7, "B": 5})} for id, mine in rows.items()}
    spent, figures = seconds(lambda: {id: next_edition(figures[id], mine, lists) for id, mine in more.items()})
    print(f"the next edition after one more count: {spent:.2f} s")
    units = tuple(Unit(p, f"Place {p}", {SITE: n}) for p, n in ballots.items())
    return Edition(2, "unofficial-partial", 0, 1, "Office", "Election", places, places, made, figures, units, WAYS)


def megabytes() -> float:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def main() -> None:
    places, contests = (int(word) for word in (*sys.argv[1:], "5000", "60")[:2]) if len(sys.argv) > 2 else (5000, 60)
    edition = edition_of(places, contests)
    before = megabytes()
    told = ("sable", "2026-11-12T16:05:00-06:00", "1", "2026-11-03", "general", "votes")
    csv_spent, one = seconds(lambda: HeldFile(results_csv.pieces(edition)))
    json_spent, other = seconds(lambda: HeldFile(piece.encode() for piece in nist_results.written(edition, *told)))
    print(
        f"memory: {before:.0f} MB with the figures of two editions, {megabytes():.0f} MB with both files made and held"
    )
    data = b"".join(one.pieces())
    table = list(csv.reader(io.StringIO(data.decode())))

    def again() -> bytes:
        out = io.StringIO()
        csv.writer(out, lineterminator="\n").writerows(table)
        return out.getvalue().encode()

    bare, same = seconds(again)
    assert same == data
    print(f"results.csv, {len(table):,} rows: {csv_spent:.2f} s, {csv_spent / bare:.1f} times csv alone")
    table.clear()
    report = nist_results.document(edition, *told)
    bare, text = seconds(lambda: json.dumps(report, ensure_ascii=False, indent=1) + "\n")
    assert text.encode() == b"".join(other.pieces())
    short, _ = seconds(lambda: json.dumps(report, ensure_ascii=False))
    print(
        f"the standard's JSON, {len(text) / 1e6:.0f} MB: {json_spent:.2f} s, {json_spent / bare:.1f} times json alone with the same bytes, "
        f"{json_spent / short:.1f} times json without line breaks"
    )


if __name__ == "__main__":
    main()
