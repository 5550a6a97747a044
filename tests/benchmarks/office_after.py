"""What the days after the night cost a large office: a place more among the blocks, the next edition, and each page of the days after just after a packet.

Goals: one place more among the blocks of 60 contests under 50 ms; an edition after one count more, and each page, at most 3 times that at 50 places.
Posting, reconciliation and certifying draw up the whole county's edition, and grow with it: what is printed says by how much.
Run with `python tests/benchmarks/office_after.py [PLACES [ROUNDS]]` (5,000 and 3).
"""

import sys
import tempfile
from pathlib import Path

sys.path[:0] = [str(Path(__file__).resolve().parents[2])]

from demo_precinct import rehearsal  # noqa: E402 - the folder above must be found first
from tests.benchmarks import desk  # noqa: E402
from tests.benchmarks.editions import LATER, SITE, county, seconds  # noqa: E402
from webapp.canvass.atoms import Atom, Figures  # noqa: E402
from webapp.canvass.published import OneContest, next_edition  # noqa: E402
from webapp.office.canvassing.added_ballots import AddedBallots  # noqa: E402
from webapp.office.setup import roster  # noqa: E402
from webapp.packet.envelope import open_packet, parts_of  # noqa: E402

PAGES = (
    "/late",
    "/late.pdf",
    "/counts",
    "/counts/P0001",
    "/corrected/P0001",
    "/recount",
    "/recount/P0001",
    "/posting",
    "/posting/ready",
    "/reconciliation",
    "/reconciliation/credited",
    "/certify",
)


def blocks(places: int, contests: int) -> None:
    """Processor time of all contests: the first edition, one place more, one count more; and of the count at 50 places."""
    took = {}
    for n in (50, places):
        lists, _, rows, _ = county(n, contests)
        last = f"P{n - 2:05}"
        first = {id: {atom: f for atom, f in mine.items() if atom.unit != last} for id, mine in rows.items()}
        built, before = seconds(lambda first=first, lists=lists: {id: next_edition(OneContest(), mine, lists) for id, mine in first.items()})  # fmt: skip
        place, after = seconds(lambda before=before, rows=rows, lists=lists: {id: next_edition(before[id], mine, lists) for id, mine in rows.items()})  # fmt: skip
        more = {id: mine | {Atom("P00001", LATER): Figures(12, {"A": 7, "B": 5})} for id, mine in rows.items()}
        count, _ = seconds(lambda after=after, more=more, lists=lists: {id: next_edition(after[id], mine, lists) for id, mine in more.items()})  # fmt: skip
        took[n] = built, place, count
        assert all(Atom(last, SITE) in mine for mine in rows.values())
    built, place, count = took[places]
    print(f"blocks of {places:,} places, {contests} contests: {built:.2f} s; one place more {1000 * place:.0f} ms, {1000 * place / contests:.1f} ms a contest")  # fmt: skip
    print(f"one count more: {1000 * count:.0f} ms, {count / max(took[50][2], 1e-6):.0f} times that at 50 places ({places / 50:.0f} times as many)")  # fmt: skip


def main(count: int = 5000, rounds: int = 3) -> None:
    blocks(count, 60)
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch) / "demo"
        rehearsal.rehearse_demo(folder, 1)
        found = roster.load(folder / "office")
        parts = parts_of((folder / "places" / "W3" / "packet" / "1.cose").read_bytes())
        opened = open_packet(parts, found.keys, "practice")
        homes = (desk.copied(folder / "office", Path(scratch) / f"office{n}") for n in (50, count))
        few, many = (desk.Office(n, home, opened) for n, home in zip((50, count), homes, strict=True))
        for one in (few, many):
            one.room.added = AddedBallots(one.room.roster)
        desk.PAGES = PAGES
        desk.pages(few, many, rounds)
        for one in (few, many):
            one.room.close()


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
