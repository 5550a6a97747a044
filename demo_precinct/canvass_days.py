"""The days after the night, on a published results file: its first way of voting is on the tapes, every other way comes as counts, until the board has certified.

Envelopes, two keyings by two parties, places from paper, what mends a mistake of the night, and each edition go through the desk's own pages. At the end the last edition's files, as anybody would read
them, are held against the file: every line of every contest is the file's, but for what waits.
"""

import json
import subprocess
import sys
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from demo_precinct import results_file
from demo_precinct.board_of_canvassers import (
    Planted,
    certified,
    corrected,
    keyed_from_paper,
    met,
    minute,
    recounted,
    signed_and_sealed,
    signed_over,
    small_shown,
)
from demo_precinct.canvass_rows import LINES, rows_here, shown_by_contest, waiting_rows
from demo_precinct.desks_of_night import DesksOfNight
from demo_precinct.http_window import Page, Stuck
from demo_precinct.neighbor_office import NeighborOffice
from demo_precinct.office_night import Brought, DeskNight
from demo_precinct.results_file import ResultsFile

MOVED = 3  # votes that a planted mistake moves from one choice to another
LARGE = 30  # ballots: a contest with as many is no small place's


@dataclass
class CanvassDays:
    """`files` by way, the tapes' way first. `paper`: how many places, the last of the file, bring no packet and are keyed from their paper; `planted`: the
    mistakes of the night, which the days after mend. What was kept is told by `as_json`."""

    files: Mapping[str, ResultsFile]
    count: int
    exports: Path
    paper: int = 0
    planted: tuple[Planted, ...] = ()
    from_paper: int = 0
    counts: int = 0
    findings: int = 0
    recounts: int = 0
    editions: int = 0
    waiting: int = 0
    small_shown: int = 0
    signed_over: int = 0
    certified: int = 0
    equal: int = 0
    contests: int = 0
    archives: int = 0
    desks: int = 0  # apart, at which the night's places are received; 0: at the office itself
    merged: int = 0  # bundles of these
    neighbor: NeighborOffice = field(default_factory=NeighborOffice)
    wrong: list[str] = field(default_factory=list)
    brought: dict[str, Brought] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.planted = self.planted or planted(next(iter(self.files.values())), self.count - self.paper)

    @property
    def half(self) -> int:
        """Half of the places."""
        return (self.count + 1) // 2

    def take_in(self, desk: DeskNight, brought: Brought, apart: DesksOfNight | None = None) -> None:
        """A place comes in, by its packet, here or at a desk apart, or by its paper."""
        self.brought[brought.place] = brought
        if brought.place in {f"P{i + 1:03d}" for i in range(self.count - self.paper, self.count)}:
            keyed_from_paper(desk, brought.place, brought.paper)
            self.from_paper += 1
        elif apart:
            apart.take_in(brought, desk)
        else:
            desk.take_in(brought)

    def place_in(self, desk: DeskNight, places: int) -> None:
        """The first edition is posted as soon as half of the places are in."""
        if places == self.half < self.count:
            self.post(desk, "unofficial-partial", "The first places are in.")

    def days_after(self, desk: DeskNight) -> None:
        """An edition of all returns; then every other way is counted and keyed twice, what was wrong is mended, and the board certifies."""
        self.post(desk, "unofficial-partial", "All places are in.")
        for way in list(self.files)[1:]:
            for index in range(self.count):
                self.count_in(desk, way, index)
        for one in self.planted:
            self.mend(desk, one)
        self.certify(desk)
        self.compare(desk)
        self.neighbor.reported(desk, self.exports / str(self.editions))
        self.wrong += self.neighbor.wrong
        for kind in ("sealed", "public"):
            self.archive(kind)

    def mend(self, desk: DeskNight, one: Planted) -> None:
        """A mistake of the night, by a corrected return or a recount."""
        file = next(iter(self.files.values()))
        place = results_file.place(file, one.index)
        row = results_file.truth(file, one.index, place, 0).contests["T1"][one.contest]
        if one.by == "finding":
            corrected(desk, place.id, one, row["votes"])
            self.findings += 1
        else:
            recounted(desk, self.brought[place.id], one, row, results_file.needed(file, one.index))
            self.recounts += 1

    def certify(self, desk: DeskNight) -> None:
        """Ballots of few, open questions, the meeting, the edition, each member's signature, the seal."""
        self.small_shown = small_shown(desk)
        self.signed_over = signed_over(desk)
        met(desk)
        self.kept(desk, certified(desk, "The board certifies the canvass."))
        signed_and_sealed(desk, self.editions)
        self.certified = self.editions

    def archive(self, kind: str) -> None:
        """An archive, made by the command while the desk is open, and checked as a stranger does: by the verify.py that lies in it, and nothing else."""
        folder = self.exports.parent.resolve()
        home = folder / "archives" / kind
        words = [
            sys.executable,
            "-m",
            "webapp",
            "export",
            str(folder / "office"),
            "--out",
            str(home),
            "--archive",
            kind,
            *(["--with-sealed", str(folder / "archives" / "sealed")] if kind == "public" else []),
        ]
        made = subprocess.run(words, capture_output=True, text=True, cwd=Path(__file__).parents[1])
        checked = subprocess.run(
            [sys.executable, "-I", str(home / "data" / "verify.py")], capture_output=True, text=True
        )
        if made.returncode or checked.returncode:
            said = [line for line in checked.stdout.splitlines() if line.startswith("DOES NOT")] or [
                made.stderr,
                made.stdout,
            ]
            self.wrong += [f"the {kind} archive: {line.strip()}" for line in said if line.strip()]
        else:
            self.archives += 1

    def count_in(self, desk: DeskNight, way: str, index: int) -> None:
        """One place's ballots of one way, where it has any: envelopes decided, two keyings, signed by both."""
        place = results_file.place(self.files[way], index)
        rows = rows_here(self.files[way], index, place)
        ballots = max((row["least"] for row in rows.values()), default=0)
        if not ballots:
            return
        crew, base = desk.crew, f"/counts/{place.id}/{way}"
        minute(desk)
        if way == "provisional":
            page = crew.window.get(f"{base}/envelopes")
            told = {"issued": ballots, "received": ballots, "accepted": ballots, "note": "As the envelopes say."}
            crew.signed(page, page.form(f"{base}/envelopes"), {name: str(said) for name, said in told.items()})
        figures = {"ballots": str(ballots)}
        for contest, row in rows.items():
            if row["least"]:
                figures |= {f"contests.{contest}.votes.{choice}": str(n) for choice, n in row["votes"].items()}
                figures |= {f"contests.{contest}.{line}": str(row[line]) for line in LINES if line in row}
        for _ in range(2):
            page = crew.window.get(f"{base}/1")
            crew.signed(page, page.form(f"{base}/1/key"), figures)
        page = crew.window.get(f"{base}/1")
        if "Both keyings agree" not in page.text:
            raise Stuck(f"two equal keyings of {place.id}, {way}, do not agree: {page.said()}")
        signed = {"from": "tape", "papers": f"tape of {way}", "note": "no remark on the paper"}
        crew.signed(page, page.form(f"{base}/1"), signed)
        self.counts += 1

    def post(self, desk: DeskNight, status: str, because: str) -> None:
        """An edition, and its files as anybody gets them."""
        minute(desk)
        page = desk.crew.window.get("/posting/ready")
        if "Nothing of fewer than" not in page.text:
            raise Stuck(f"the edition does not hold the rule of small places: {page.said()}")
        self.kept(desk, desk.crew.signed(page, page.form("/posting/ready"), {"status": status, "because": because}))

    def kept(self, desk: DeskNight, page: Page) -> None:
        """The next edition was posted, and its files lie in the exports as anybody gets them."""
        self.editions += 1
        if page.path not in (f"/posting/{self.editions}", "/certify"):
            raise Stuck(f"edition {self.editions} was not posted: {page.said()}")
        home = self.exports / str(self.editions)
        home.mkdir(parents=True)
        named = json.loads(self._file(desk, "edition.json"))["files"]
        for name in ("edition.json", *named):
            (home / name).write_bytes(self._file(desk, name))

    def _file(self, desk: DeskNight, name: str) -> bytes:
        page = desk.crew.window.get(f"/posting/{self.editions}/{name}")
        if page.status != 200:
            raise Stuck(f"{name} of edition {self.editions} is not given out: {page.said()}")
        return page.body

    def compare(self, desk: DeskNight) -> None:
        """The last edition against the file; what waits is read from the office's own copy."""
        home = self.exports / str(self.editions)
        self.waiting = json.loads((home / "edition.json").read_bytes())["waiting"]
        shown = shown_by_contest((home / "results.csv").read_bytes())
        waits = waiting_rows(self.exports.parent / "office" / "editions-sealed" / f"{self.editions}.json")
        truth: dict[tuple[str, str], dict[str, int]] = {}
        ids: dict[tuple[str, str], str] = {}
        for file in self.files.values():
            sums = file.sums(self.count)
            for key, contest in file.contests.items():
                ids[key] = contest.id
                mine = truth.setdefault(key, {})
                for line, label in [*((c.id, c.label) for c in contest.choices), *((name, name) for name in LINES)]:
                    if (contest.id, line) in sums:
                        mine[label] = mine.get(label, 0) + sums[contest.id, line]
        labels = {
            id: {c.id: c.label for c in file.contests[key].choices}
            for file in self.files.values()
            for key, id in ids.items()
        }
        for key, lines in ((key, lines) for key, lines in truth.items() if lines):
            mine = shown.get(key, {})
            late = {
                labels[ids[key]].get(line, line): n for line, n in waits.get(ids[key], {}).items() if line != "ballots"
            }
            self.contests += 1
            self.equal += all(mine.get(line, 0) == n for line, n in lines.items())
            self.wrong += [
                f"{key[0]}, {line}: the file has {n:,}, the last edition {mine.get(line, 0):,} and {late.get(line, 0):,} wait"
                for line, n in lines.items()
                if mine.get(line, 0) + late.get(line, 0) != n
            ]

    def as_json(self) -> dict[str, Any]:
        return {
            "from_paper": self.from_paper,
            "counts": self.counts,
            "findings": self.findings,
            "recounts": self.recounts,
            "editions": self.editions,
            "waiting": self.waiting,
            "small_shown": self.small_shown,
            "signed_over": self.signed_over,
            "certified": self.certified,
            "contests": self.contests,
            "equal": self.equal,
            "archives": self.archives,
            "reported": self.neighbor.taken,
            **({"desks": self.desks, "merged": self.merged} if self.desks else {}),
        }


def planted(file: ResultsFile, count: int) -> tuple[Planted, ...]:
    """Two mistakes of the night among the first `count` places: one for a corrected return, at a place that stands by itself as its neighbors are large
    too, and one for a recount, elsewhere where that can be. Each in a contest with votes to lose. Fewer where there is no such contest."""
    rows = [
        rows_here(file, index, results_file.place(file, index)) for index in range(len(file.precincts[: count + 1]))
    ]
    may = []
    for index in range(count):
        for contest, row in rows[index].items():
            votes = row["votes"]
            a = max(votes, key=votes.__getitem__)
            b = next((choice for choice in votes if choice != a), None)
            if row["least"] >= LARGE and b is not None and votes[a] > MOVED:
                may.append(Planted(index, contest, a, b, MOVED, "recount"))
    alone = [one for one in may if all(_large(rows, one.index + step, one.contest) for step in (-1, 1))]
    first = [replace(alone[0], by="finding")] if alone else []
    left = [one for one in may if not first or (one.index, one.contest) != (first[0].index, first[0].contest)]
    elsewhere = [one for one in left if not first or one.index != first[0].index] or left
    return (*first, *elsewhere[:1])


def _large(rows: Sequence[Mapping[str, Any]], index: int, contest: str) -> bool:
    """Whether a place, if it is there and carries the contest, is no small one in it."""
    return not 0 <= index < len(rows) or contest not in rows[index] or rows[index][contest]["least"] >= LARGE
