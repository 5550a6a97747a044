"""What a rehearsal found: figures of the pages held against the truth, and both said."""

import json
import sqlite3
from collections.abc import Sequence
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any

from demo_precinct import sticks
from demo_precinct.crew import Tally
from demo_precinct.office_night import Brought, DeskNight
from demo_precinct.sticks import OnStick
from demo_precinct.tests_first import PlayedTest, as_json
from webapp.precinct.checklist.checklist import default_ids
from webapp.precinct.place.place import Place
from webapp.record.audit import verify


@dataclass
class PlaceDay:
    """What came of one place's day: for the report, and for the desk."""

    brought: Brought
    tally: Tally
    entries: int
    verified: bool
    says: str
    gaps: list[tuple[str, str]] = field(default_factory=list)
    closed: int = 0
    stick: OnStick | None = None


@dataclass
class Report:
    """The JSON of formats.md."""

    ok: bool
    places: int
    entries: int
    signatures: int
    steps: dict[str, int]
    corrections: int
    remarks: int
    packets: dict[str, int]
    totals: dict[str, int]
    findings: list[dict[str, str]]
    seconds: float
    board: dict[str, Any] | None = None
    canvass: dict[str, Any] | None = None  # of the days after the night, where they were played
    test: dict[str, Any] | None = None  # what came of the accuracy tests, where they were played first
    sticks: dict[str, int] | None = None

    def as_json(self) -> str:
        told = {name: part for name, part in asdict(self).items() if part is not None}
        return json.dumps(told, ensure_ascii=False, separators=(",", ":"))

    def after_tests(self, played: Sequence[PlayedTest], places: Sequence[Place]) -> "Report":
        """The same report with the tests before it: their entries, signatures and what is wrong with them."""
        wrong = [(place.id, one.wrong(place)) for place, one in zip(places, played, strict=True)]
        self.findings += [{"place": place, "code": "test", "says": says} for place, says in wrong if says]
        self.ok = self.ok and not any(says for _, says in wrong)
        self.entries += sum(one.entries for one in played)
        self.signatures += sum(one.tally.signatures for one in played)
        self.test = as_json(played)
        return self


def lines_of(row: dict) -> list[tuple[str, int]]:
    return [*row["votes"].items(), *((k, row[k]) for k in ("write_in", "under", "over") if k in row)]


def _report(
    folder: Path,
    days: Sequence[PlaceDay],
    desk: DeskNight,
    findings: list,
    expected: dict[tuple[str, str], int],
    seconds: float,
    of_desks: Sequence[Tally] = (),
    from_paper: int = 0,
) -> Report:
    office = verify(folder / "office" / "office.db")
    totals = _totals(folder / "office" / "desk.db", expected)
    broken = [{"place": d.brought.place, "code": "record", "says": d.says} for d in days if not d.verified]
    held = [d.stick for d in days if d.stick]
    broken += [{"place": one.place, "code": "stick", "says": says} for one in held for says in one.says]
    if not office.ok:
        broken.append({"place": "", "code": "record", "says": office.says})
    tallies = [d.tally for d in days] + [desk.crew.tally, *of_desks]
    packets = {"built": len(days), "read": desk.read, "accepted": desk.accepted}
    came = packets["read"] == packets["accepted"] == len(days) - from_paper
    ok = not broken and came and totals["equal"] == totals["contests"]
    return Report(
        ok,
        len(days),
        sum(d.entries for d in days) + office.entries,
        sum(t.signatures for t in tallies),
        {
            "default": len(default_ids()),
            "kept": sum(t.kept for t in tallies),
            "exceptions": sum(t.exceptions for t in tallies),
            "short_signed": sum(t.short for t in tallies),
        },
        sum(t.corrections for t in tallies),
        sum(t.remarks for t in tallies),
        packets,
        totals,
        broken + findings,
        round(seconds, 1),
        sticks=sticks.summed(held) if held else None,
    )


def _totals(path: Path, expected: dict[tuple[str, str], int]) -> dict[str, int]:
    """How many contests there are, and in how many every line of the office's totals is the truth's."""
    with sqlite3.connect(f"file:{path}?mode=ro", uri=True) as db:
        sums = {
            (contest, line): votes
            for contest, line, votes in db.execute(
                "SELECT contest, line, sum(votes) FROM figures WHERE line <> 'ballots' GROUP BY contest, line"
            )
        }
    contests = {contest for contest, _ in expected}
    off = {c for c, line in set(expected) | set(sums) if expected.get((c, line), 0) != sums.get((c, line), 0)}
    return {"contests": len(contests), "equal": len(contests - off)}
