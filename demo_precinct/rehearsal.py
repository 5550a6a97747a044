"""The rehearsal: whole days and the office's night through the real pages, places side by side in as many processes as there are cores.

It is well only if every step was kept, every record verifies, every packet was drawn as codes, read back from the pictures and accepted, and the
office's totals are those of the truth.
"""

import json
import multiprocessing
import os
import sqlite3
import sys
import time
from collections.abc import Iterable, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from demo_precinct import results_file, sticks, story
from demo_precinct.canvass_days import CanvassDays
from demo_precinct.crew import Tally
from demo_precinct.office_night import Brought, DeskNight
from demo_precinct.printed_text import printed_text
from demo_precinct.rehearsed_day import MINUTE, Day, Story
from demo_precinct.results_file import ResultsFile
from demo_precinct.sticks import OnStick
from demo_precinct.tests_first import PlayedTest, as_json, tests_first
from demo_precinct.true_figures import Truth, invented
from webapp.office import enrolment, office_file
from webapp.packet import codes, frames
from webapp.packet.envelope import parts_of
from webapp.precinct.checklist.checklist import default_ids
from webapp.precinct.place import place_file
from webapp.precinct.place.ballot_kinds import COARSE_KINDS
from webapp.precinct.place.place import Place
from webapp.record.audit import verify
from webapp.serving.server import serve_in_thread
from webapp.settings import Settings

HERE = Path(__file__).parent
OFFICE_CODES = "slips-desk.json"


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


def day_story(truth: Truth) -> Story:
    """What happens in a place made from a results file: the notes its day has, in the third hour."""

    def notes(day: Day) -> None:
        style = day.place.stock[0].style
        for _ in range(truth.planned.get("spoiled", 0)):
            story.quick(day, "spoiled", style=style)
            truth.spoiled[style] = truth.spoiled.get(style, 0) + 1
        for _ in range(truth.planned.get("left", 0)):
            story.quick(day, "left")
            truth.left += 1
            day.answers.aside += 1

    return Story({3: notes}, {}, {})


def play_place(
    folder: Path, place: Place, codes_: dict[str, str], truth: Truth, demo: bool, stick: Path | None = None
) -> PlaceDay:
    """One whole day in a process of its own; its record is copied to the stick, where one is given."""
    import webapp

    app = webapp.create_app(
        Settings("place", folder, mode=place.mode, clock="scripted", start=place.at(place.opens) - 120 * MINUTE)
    )
    running = serve_in_thread(app)
    backup = sticks.copying(folder, place, stick) if stick else None
    day = Day(place, truth, running.port, codes_, story.told() if demo else day_story(truth))
    try:
        day.play()
        day.pass_time(2)
        sealed = day.packet_file()
        pictures = [("packet.pdf", day.fetched("/packet/packet.pdf").body)] if demo else _pictures(sealed)
        gaps = [(line.id, line.says) for line in app.extensions["room"].day.balance.gaps]
    finally:
        running.stop()
        app.extensions["room"].close()
        if backup:
            backup.close(within=sticks.PATIENCE)
    verdict = verify(folder / "record.db", coarse=COARSE_KINDS)
    on_stick = sticks.looked_over(folder, place, stick) if stick else None
    return PlaceDay(
        brought(day, pictures), day.crew.tally, verdict.entries, verdict.ok, verdict.says, gaps, day.now, on_stick
    )


def brought(day: Day, pictures: list[tuple[str, bytes]]) -> Brought:
    """What this day's carriers put on the desk's table, with the packet as these pictures."""
    place, truth = day.place, day.truth
    holds = [c.id for c in place.containers]
    read = (*holds, "case", *(f"{t.id}-bag" for t in place.tabulators))
    return Brought(
        place.id,
        pictures,
        {c: day.answers.on[c] for c in read if c in day.answers.on},
        {t.id: truth.on_tape(t.id) for t in place.tabulators},
        truth.provisional,
        truth.drop_off,
        sum(truth.spoiled.values()),
        len(holds),
        len(place.copies),
    )


def _pictures(sealed: bytes) -> list[tuple[str, bytes]]:
    """Each code as a picture, as `packet build` draws them."""
    return [(f"frame-{i:02d}.png", codes.as_png(text, 4)) for i, text in enumerate(frames.split(parts_of(sealed)), 1)]


def prepare(folder: Path, office_toml: bytes, places: Sequence[Place | bytes]) -> dict[str, dict[str, str]]:
    """The office's folder, and each place built, signed and enrolled in `places/ID`; the slips' codes by place ("" for the desk)."""
    return open_office(folder, office_toml) | enrol_all(folder, places)


def open_office(folder: Path, office_toml: bytes) -> dict[str, dict[str, str]]:
    """The office's folder; the codes of its desk's slips under ""."""
    office = folder / "office"
    office.mkdir(parents=True)
    (office / enrolment.OFFICE_FILE).write_bytes(office_toml)
    opened = enrolment.open_office(office)
    return {"": _codes(opened.slips)} if opened.slips else {}


def enrol_all(folder: Path, places: Sequence[Place | bytes]) -> dict[str, dict[str, str]]:
    """Each place built, signed and enrolled in `places/ID`; the slips' codes by place."""
    office, found = folder / "office", {}
    (folder / "places").mkdir()
    for place in places:
        toml = place if isinstance(place, bytes) else place_file.write(place).encode()
        name = place_file.read(toml).id
        sealed = folder / f"{name}.cose"
        enrolment.build(toml, office, sealed)
        made = enrolment.enrol(sealed.read_bytes(), office, folder / "places" / name, time.time_ns() // 1_000_000)
        sealed.unlink()
        found[name] = json.loads(made.codes.read_text(encoding="utf-8"))["codes"]
    return found


def _codes(slips: Path) -> dict[str, str]:
    """Codes of the desk's slips. Practice offices write them beside the PDF; else they are read off the printed page, as a person would."""
    beside = slips.with_suffix(".json")
    if beside.exists():
        return json.loads(beside.read_text(encoding="utf-8"))["codes"]
    import re

    text = printed_text(slips.read_bytes())
    office = office_file.read((slips.parent / enrolment.OFFICE_FILE).read_bytes())
    found = re.findall(r"\b([0-9A-HJKMNP-TV-Z]{3}-[0-9A-HJKMNP-TV-Z]{3}-[0-9A-HJKMNP-TV-Z]{3})\b", text)
    order = sorted(office.officials, key=lambda o: text.index(o.name))
    return {o.id: code for o, code in zip(order, found, strict=True)}


def rehearse_demo(folder: Path, seed: int, test: bool = False, stick: Path | None = None) -> Report:
    """The demo's place and its office; with `test` its accuracy test first, and the day with the place file that comes of it."""
    toml = (HERE / "place.toml").read_bytes()
    office = open_office(folder, (HERE / "office.toml").read_bytes())
    played = tests_first(folder, [place_file.read(toml)]) if test else []
    toml = played[0].place if played else toml
    place = place_file.read(toml)
    made = office | enrol_all(folder, [toml])
    truth = invented(place, seed)
    expected = {
        (contest, line): n
        for rows in truth.contests.values()
        for contest, row in rows.items()
        for line, n in lines_of(row)
    }
    sums: dict[tuple[str, str], int] = {}
    for rows in truth.contests.values():
        for contest, row in rows.items():
            for line, n in lines_of(row):
                sums[contest, line] = sums.get((contest, line), 0) + n
    report = rehearse(folder, [place], [truth], made, dict.fromkeys(expected, 0) | sums, True, stick=stick)
    return report.after_tests(played, [place]) if played else report


def lines_of(row: dict) -> list[tuple[str, int]]:
    return [*row["votes"].items(), *((k, row[k]) for k in ("write_in", "under", "over") if k in row)]


def board_office() -> bytes:
    """The demo's office, awaiting the count board too, which is shown with its first place where it is small."""
    beside = '\n[[places]]\nid = "AB"\nname = "Tarn absentee board"\nwith = "W3"\n'
    return (HERE / "office.toml").read_bytes() + beside.encode()


def rehearse_canvass(folder: Path, files: Mapping[str, ResultsFile], count: int, seed: int) -> Report:
    """`count` places whose tapes hold the first way of a results file, and the days after, in which the other ways are counted and published."""
    after = CanvassDays(files, count, folder / "exports")
    report = rehearse_results(folder, next(iter(files.values())), count, seed, after=after)
    report.canvass = after.as_json()
    report.findings = [{"place": "", "code": "edition", "says": says} for says in after.wrong] + report.findings
    report.ok = report.ok and not after.wrong
    return report


def rehearse_results(
    folder: Path,
    file: ResultsFile,
    count: int,
    seed: int,
    test: bool = False,
    after: CanvassDays | None = None,
    stick: Path | None = None,
) -> Report:
    """`count` places made from a results file; with `test` the accuracy test of each first, with `after` the days after the night."""
    places = [results_file.place(file, i) for i in range(count)]
    office = open_office(folder, _office_for(places))
    played = tests_first(folder, places) if test else []
    places = [place_file.read(one.place) for one in played] or places
    made = office | enrol_all(folder, places)
    report = rehearse(
        folder,
        places,
        [results_file.truth(file, i, p, seed) for i, p in enumerate(places)],
        made,
        file.sums(count),
        False,
        after,
        stick,
    )
    return report.after_tests(played, places) if played else report


def _office_for(places: Sequence[Place]) -> bytes:
    """An office that awaits these places, each with the next one as its neighbour."""
    rows = ['format = 1\nid = "rehearsal"\nname = "Rehearsal County election office"\nsmall = 10']
    rows += [f'[[parties]]\nid = "{p.id}"\nname = "{p.name}"\nword = "{p.word}"' for p in results_file.PARTIES]
    rows += [
        f'[[officials]]\nid = "d{i}"\nname = "{name}"\nparty = "{party}"\nrole = "receiver"'
        for i, (name, party) in enumerate((("Marla Quint", "A"), ("Theo Brandt", "B")), 1)
    ]
    for i, place in enumerate(places):
        beside = f'\nwith = "{places[i - 1 if i else 1].id}"' if len(places) > 1 else ""
        rows.append(f'[[places]]\nid = "{place.id}"\nname = {json.dumps(place.name, ensure_ascii=False)}{beside}')
    return "\n\n".join(rows).encode()


def rehearse(
    folder: Path,
    places: Sequence[Place],
    truths: Sequence[Truth],
    slips: dict,
    expected: dict[tuple[str, str], int],
    demo: bool,
    after: CanvassDays | None = None,
    stick: Path | None = None,
) -> Report:
    """Every place's day, and the office's night as they come in. stick: where each place's record is copied to, if anywhere."""
    return rehearse_days(folder, places, slips, expected, _played(folder, places, truths, slips, demo, stick), after)


def rehearse_days(
    folder: Path,
    places: Sequence[Place],
    slips: dict,
    expected: dict[tuple[str, str], int],
    played: Iterable[PlaceDay],
    after: CanvassDays | None = None,
) -> Report:
    """The office's night with these days as they end, and the days after it where they are played."""
    import webapp

    began = time.monotonic()
    office = office_file.read((folder / "office" / enrolment.OFFICE_FILE).read_bytes())
    night = places[0].at(places[0].closes) + 150 * MINUTE
    app = webapp.create_app(Settings("office", folder / "office", clock="scripted", start=night))
    running = serve_in_thread(app)
    desk = DeskNight(office, running.port, slips[""], night, ZoneInfo(places[0].zone))
    days: list[PlaceDay] = []
    findings: list[dict[str, str]] = []
    try:
        desk.open()
        for day in played:
            desk.take_in(day.brought)
            days.append(day)
            _told(len(days), len(places))
            if after:
                after.place_in(desk, len(days))
        if after:
            after.days_after(desk)
        for place in places:
            report = app.extensions["room"].report(place.id)
            findings += [{"place": place.id, "code": check.name, "says": check.says} for check in report.questions]
            findings += [{"place": place.id, "code": line.id, "says": line.says} for line in report.balance.gaps]
    finally:
        running.stop()
        app.extensions["room"].close()
    return _report(folder, days, desk, findings, expected, time.monotonic() - began)


def _played(
    folder: Path, places: Sequence[Place], truths: Sequence[Truth], slips: dict, demo: bool, stick: Path | None = None
):
    """Days as they end; one place is played here, several side by side."""
    jobs = [(folder / "places" / p.id, p, slips[p.id], t, demo, stick) for p, t in zip(places, truths, strict=True)]
    if len(jobs) == 1:
        yield play_place(*jobs[0])
        return
    with ProcessPoolExecutor(os.cpu_count() or 1, multiprocessing.get_context("spawn")) as pool:
        for done in as_completed([pool.submit(play_place, *job) for job in jobs]):
            yield done.result()


def _told(done: int, of: int) -> None:
    if of > 1 and sys.stderr.isatty():
        print(f"\r{done} of {of} places", end="" if done < of else "\n", file=sys.stderr, flush=True)


def _report(
    folder: Path,
    days: Sequence[PlaceDay],
    desk: DeskNight,
    findings: list,
    expected: dict[tuple[str, str], int],
    seconds: float,
) -> Report:
    office = verify(folder / "office" / "office.db")
    totals = _totals(folder / "office" / "desk.db", expected)
    broken = [{"place": d.brought.place, "code": "record", "says": d.says} for d in days if not d.verified]
    held = [d.stick for d in days if d.stick]
    broken += [{"place": one.place, "code": "stick", "says": says} for one in held for says in one.says]
    if not office.ok:
        broken.append({"place": "", "code": "record", "says": office.says})
    tallies = [d.tally for d in days] + [desk.crew.tally]
    packets = {"built": len(days), "read": desk.read, "accepted": desk.accepted}
    ok = not broken and len(set(packets.values())) == 1 and totals["equal"] == totals["contests"]
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
