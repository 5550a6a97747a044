"""The rehearsal: whole days and the office's night through the real pages, places side by side in as many processes as there are cores.

It is well only if every step was kept, every record verifies, every packet was drawn as codes, read back from the pictures and accepted, and the
office's totals are those of the truth.
"""

import multiprocessing
import os
import sys
import time
from collections.abc import Iterable, Iterator, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from pathlib import Path
from zoneinfo import ZoneInfo

from demo_precinct import results_file, sticks, story
from demo_precinct.canvass_days import CanvassDays
from demo_precinct.desks_of_night import DesksOfNight
from demo_precinct.office_night import Brought, DeskNight
from demo_precinct.rehearsal_report import PlaceDay, Report, _report, lines_of
from demo_precinct.rehearsed_county import HERE, _office_for, enrol_all, open_office
from demo_precinct.rehearsed_day import MINUTE, Day, Story
from demo_precinct.results_file import ResultsFile
from demo_precinct.tests_first import tests_first
from demo_precinct.true_figures import Truth, invented
from webapp.office.keying import paper_leaf, paper_values
from webapp.office.setup import enrolment, office_file
from webapp.packet import codes, frames
from webapp.packet.envelope import open_packet, parts_of
from webapp.precinct.day.hours import wall
from webapp.precinct.place import place_file
from webapp.precinct.place.ballot_kinds import COARSE_KINDS
from webapp.precinct.place.place import Place
from webapp.record.audit import verify
from webapp.serving.server import serve_in_thread
from webapp.settings import Settings


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
        brought(day, pictures, sealed),
        day.crew.tally,
        verdict.entries,
        verdict.ok,
        verdict.says,
        gaps,
        day.now,
        on_stick,
    )


def on_paper(place: Place, sealed: bytes) -> dict[str, str]:
    """What the papers of this day say, by line of the leaf: the printed packet page and the tapes have the figures of the packet."""
    core = open_packet(sealed, None, place.mode).core
    said = paper_values.values_of(core, place)
    times = {one.name for one in paper_leaf.controls(place) if one.kind == "time"}
    return {name: wall(place, n) if name in times else str(n) for name, n in said.items()}


def brought(day: Day, pictures: list[tuple[str, bytes]], sealed: bytes = b"") -> Brought:
    """What this day's carriers put on the desk's table, with the packet as these pictures, and its papers."""
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
        paper=on_paper(place, sealed) if sealed else {},
    )


def _pictures(sealed: bytes) -> list[tuple[str, bytes]]:
    """Each code as a picture, as `packet build` draws them."""
    return [(f"frame-{i:02d}.png", codes.as_png(text, 4)) for i, text in enumerate(frames.split(parts_of(sealed)), 1)]


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


def rehearse_canvass(
    folder: Path, files: Mapping[str, ResultsFile], count: int, seed: int, paper: int = 0, desks: int = 0
) -> Report:
    """`count` places whose tapes hold the first way of a results file, `paper` of them without a packet, and the days after, until the board certifies;
    with `desks` the packets are received at so many desks apart, whose bundles are merged."""
    after = CanvassDays(files, count, folder / "exports", paper, desks=desks)
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
    more = after.neighbor.toml(places) if after else b""
    office = open_office(folder, _office_for(places, after is not None) + more)
    played = tests_first(folder, places) if test else []
    places = [place_file.read(one.place) for one in played] or places
    made = office | enrol_all(folder, places)
    truths = [results_file.truth(file, i, p, seed) for i, p in enumerate(places)]
    for one in after.planted if after else ():
        one.spoil(truths[one.index].contests["T1"])
    report = rehearse(
        folder,
        places,
        truths,
        made,
        file.sums(count),
        False,
        after,
        stick,
    )
    return report.after_tests(played, places) if played else report


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
    apart = None
    try:
        desk.open()
        if after and after.desks:
            apart = DesksOfNight.opened(folder, office, after.desks, night, ZoneInfo(places[0].zone), len(places))
        for day in played:
            days.append(day)
            if after:
                after.take_in(desk, day.brought, apart)
            else:
                desk.take_in(day.brought)
            _told(len(days), len(places))
            if after and apart and len(days) in (after.half, len(places)):
                apart.merge(desk)
                after.merged = apart.merged
            if after:
                after.place_in(desk, len(days))
        if after:
            after.days_after(desk)
        for place in places:
            report = app.extensions["room"].reports.of(place.id)
            findings += [{"place": place.id, "code": check.name, "says": check.says} for check in report.questions]
            findings += [{"place": place.id, "code": line.id, "says": line.says} for line in report.balance.gaps]
    finally:
        running.stop()
        app.extensions["room"].close()
        if apart:
            apart.close()
    tallies, paper = apart.tallies() if apart else [], after.from_paper if after else 0
    return _report(folder, days, desk, findings, expected, time.monotonic() - began, tallies, paper)


def _played(
    folder: Path, places: Sequence[Place], truths: Sequence[Truth], slips: dict, demo: bool, stick: Path | None = None
) -> Iterator[PlaceDay]:
    """Days as they end; one place, or several on one core, is played here, else side by side."""
    jobs = [(folder / "places" / p.id, p, slips[p.id], t, demo, stick) for p, t in zip(places, truths, strict=True)]
    if len(jobs) == 1 or cores() == 1:
        for job in jobs:
            yield play_place(*job)
        return
    with ProcessPoolExecutor(cores(), multiprocessing.get_context("spawn")) as pool:
        for done in as_completed([pool.submit(play_place, *job) for job in jobs]):
            yield done.result()


def cores() -> int:
    """How many places are played side by side."""
    return os.cpu_count() or 1


def _told(done: int, of: int) -> None:
    if of > 1 and sys.stderr.isatty():
        print(f"\r{done} of {of} places", end="" if done < of else "\n", file=sys.stderr, flush=True)
