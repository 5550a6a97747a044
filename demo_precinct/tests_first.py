"""Accuracy tests before the day: each place's own, played through its pages, then carried into the place file by the command as an office would."""

import contextlib
import io
import json
import multiprocessing
import os
import time
from collections.abc import Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import asdict, dataclass, field, replace
from pathlib import Path
from typing import Any

from demo_precinct.crew import Tally
from demo_precinct.http_window import Stuck
from demo_precinct.rehearsed_test import BEFORE, DeckTest, TestReport
from webapp.commands import main
from webapp.office.setup import enrolment
from webapp.precinct.place import place_file
from webapp.precinct.place.ballot_kinds import COARSE_KINDS
from webapp.precinct.place.place import Place
from webapp.record.audit import verify
from webapp.serving.server import serve_in_thread
from webapp.settings import Settings


@dataclass
class PlayedTest:
    """What came of one test, and the place file of the day as it was filled in."""

    report: TestReport
    tally: Tally
    entries: int
    place: bytes = b""
    next_place: dict[str, Any] = field(default_factory=dict)

    def wrong(self, day: Place) -> str:
        """What is not as it should be; "" where all is well."""
        told = self.report
        if not told.differing_first or told.named_at == 0:
            return "the planted exchange was not found, or not named"
        if told.differing:
            return f"{told.differing} figures differ after the mend"
        counters = {t.id: t.lifetime for t in day.tabulators}
        seals = {one.at: one.number for one in day.applied}
        if counters != told.lifetime or any(seals.get(at) != number for at, number in told.seals.items()):
            return "the place file of the day does not carry the counters and seals of the test"
        return ""


def test_place(place: Place) -> Place:
    """The same place as the file of its test."""
    return replace(place, kind="test", steps=())


test_place.__test__ = False  # type: ignore[attr-defined]


def enrolled(folder: Path, office: Path, place: Place) -> dict[str, str]:
    """Build and enrol the test of this place in `folder`; the slips' codes."""
    sealed = folder.with_suffix(".cose")
    enrolment.build(place_file.write(test_place(place)).encode(), office, sealed)
    made = enrolment.enrol(sealed.read_bytes(), office, folder, time.time_ns() // 1_000_000)
    sealed.unlink()
    if made.codes is None:
        raise Stuck(f"{place.id} is live: a rehearsal plays practice places only")
    return json.loads(made.codes.read_text(encoding="utf-8"))["codes"]


def play(folder: Path, place: Place, codes: Mapping[str, str]) -> PlayedTest:
    """One whole test in a process of its own."""
    import webapp

    app = webapp.create_app(
        Settings("place", folder, mode=place.mode, clock="scripted", start=place.at(place.opens) - BEFORE)
    )
    running = serve_in_thread(app)
    test = DeckTest(test_place(place), running.port, dict(codes))
    try:
        test.play()
    finally:
        running.stop()
        app.extensions["room"].close()
    verdict = verify(folder / "record.db", coarse=COARSE_KINDS)
    if not verdict.ok:
        raise Stuck(f"the record of the test of {place.id} does not check: {verdict.says}")
    return PlayedTest(test.report, test.crew.tally, verdict.entries)


def tests_first(root: Path, places: Sequence[Place]) -> list[PlayedTest]:
    """The test of each place, in `root/tests/ID`, and the place file of the day that comes of it."""
    office, home = root / "office", root / "tests"
    home.mkdir()
    jobs = [(home / place.id, place, enrolled(home / place.id, office, place)) for place in places]
    if len(jobs) == 1:
        played = [play(*jobs[0])]
    else:
        with ProcessPoolExecutor(os.cpu_count() or 1, multiprocessing.get_context("spawn")) as pool:
            played = [job.result() for job in [pool.submit(play, *job) for job in jobs]]
    for place, one in zip(places, played, strict=True):
        _carry(root, office, place, one)
    return played


def _carry(root: Path, office: Path, place: Place, one: PlayedTest) -> None:
    """`place build --after`, as an office runs it."""
    file, out = root / f"{place.id}-before.toml", root / f"{place.id}-after.cose"
    file.write_text(place_file.write(place), encoding="utf-8")
    words = ["place", "build", str(file), "--office", str(office), "--out", str(out), "--json"]
    with contextlib.redirect_stdout(io.StringIO()) as said:
        code = main([*words, "--after", str(root / "tests" / place.id)])
    if code:
        raise Stuck(f"place build --after ended with {code} for {place.id}")
    answer = json.loads(said.getvalue())
    one.place = Path(answer["after"]["toml"]).read_bytes()
    one.next_place = {"digest": answer["digest"], **{key: answer["after"][key] for key in ("lifetime", "seals")}}
    for path in (file, out, out.with_suffix(".toml")):
        path.unlink()


def as_json(played: Sequence[PlayedTest]) -> dict[str, Any]:
    """The object `test` of the rehearsal's answer: of one place its own, of several their sums and the last next place."""
    told = [asdict(one.report) for one in played]
    sums = {key: sum(one[key] for one in told) for key in ("rows", "cells", "differing_first", "differing")}
    return sums | {"next_place": played[-1].next_place}
