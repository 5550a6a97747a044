"""The rehearsal of a count board: two days through its pages, its packet and its list of batches at the desk, beside the demo's polling place.

It is well only if, besides what every rehearsal asks, each line of the board is 0 or has its remark, and the desk's totals are those of both truths.
"""

import multiprocessing
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from pathlib import Path
from typing import Any

from demo_precinct import rehearsal, rehearsal_report, rehearsed_county
from demo_precinct.board_days import BoardDays
from demo_precinct.count_board import BoardTruth, board_place, board_truth
from demo_precinct.office_night import Brought
from demo_precinct.rehearsal_report import PlaceDay, Report
from demo_precinct.true_figures import Truth, invented
from webapp.packet import codes, frames
from webapp.packet.envelope import parts_of
from webapp.precinct.place import place_file
from webapp.precinct.place.ballot_kinds import COARSE_KINDS
from webapp.precinct.place.place import Place
from webapp.record.audit import verify
from webapp.serving.server import serve_in_thread
from webapp.settings import Settings


def board_files(envelopes: int, seed: int) -> tuple[bytes, Place, BoardTruth]:
    """The board's place file, as bytes and as read, and what lies in its carriers."""
    place = board_place(2 if envelopes < 1000 else 8)
    assert place.board is not None
    toml = place_file.write(replace(place, board=replace(place.board, votes="by-precinct"))).encode()
    place = place_file.read(toml)
    return toml, place, board_truth(place, envelopes, seed)


def play_board(
    folder: Path, place: Place, slips: dict[str, str], truth: BoardTruth, seed: int
) -> tuple[PlaceDay, dict[str, Any], Truth]:
    """Both days in a process of their own; what the report says of the board; what its tapes print."""
    import webapp

    start = place.at(place.opens) - 24 * 3_600_000
    app = webapp.create_app(Settings("place", folder, mode=place.mode, clock="scripted", start=start))
    running = serve_in_thread(app)
    days = BoardDays(truth, running.port, slips, seed)
    try:
        days.play()
        days.pass_time(2)
        sealed, day = days.packet_file(), app.extensions["room"].day
        table, votes = (days.fetched(f"/packet/{name}.csv").body for name in ("batches", "votes"))
        pictures = [
            (f"frame-{i:02d}.png", codes.as_png(text, 4)) for i, text in enumerate(frames.split(parts_of(sealed)), 1)
        ]
        gaps = [(line.id, line.says) for line in day.balance.gaps]
        said = {
            "envelopes": sum(day.board.received().values()),
            "batches": len(day.board.batches),
            "stopped": days.seen.stopped,
            "duplicates": days.seen.duplicates,
            "remarked": len(day.balance.gaps) - len(day.unremarked),
            "equal": day.balance.complete
            and not day.unremarked
            and len(table.splitlines()) == len(day.board.batches) + 1,
        }
    finally:
        running.stop()
        app.extensions["room"].close()
    verdict = verify(folder / "record.db", coarse=COARSE_KINDS)
    came: Brought = rehearsal.brought(days, pictures)
    came.batches, came.votes = table, votes
    return PlaceDay(came, days.crew.tally, verdict.entries, verdict.ok, verdict.says, gaps, days.now), said, days.truth


def rehearse_board(folder: Path, envelopes: int, seed: int, beside: bool = True) -> Report:
    """The board, and `beside` it the demo's polling place; then the office's night with both."""
    toml, place, truth = board_files(envelopes, seed)
    demo = (rehearsed_county.HERE / "place.toml").read_bytes()
    polling = place_file.read(demo)
    made = rehearsed_county.prepare(folder, rehearsed_county.board_office(), [toml, demo] if beside else [toml])
    told: dict[str, Any] = {}
    expected = sums([invented(polling, seed)] if beside else [])

    def days() -> Iterator[PlaceDay]:
        jobs = [(folder / "places" / place.id, place, made[place.id], truth, seed)]
        if not beside:
            day, said, truth_of_it = play_board(*jobs[0])
            told.update(said)
            expected.update(sums([truth_of_it]))
            yield day
            return
        with ProcessPoolExecutor(2, multiprocessing.get_context("spawn")) as pool:
            other = pool.submit(
                rehearsal.play_place,
                folder / "places" / polling.id,
                polling,
                made[polling.id],
                invented(polling, seed),
                True,
            )
            day, said, truth_of_it = pool.submit(play_board, *jobs[0]).result()
            told.update(said)
            expected.update(sums([truth_of_it, invented(polling, seed)]))
            yield day
            yield other.result()

    report = rehearsal.rehearse_days(folder, [polling, place] if beside else [place], made, expected, days())
    report.board = told
    report.ok = report.ok and bool(told.get("equal"))
    return report


def sums(truths: Sequence[Truth]) -> dict[tuple[str, str], int]:
    """Votes by contest and line over all tapes of all of them."""
    found: dict[tuple[str, str], int] = {}
    for truth in truths:
        for rows in truth.contests.values():
            for contest, row in rows.items():
                for line, n in rehearsal_report.lines_of(row):
                    found[contest, line] = found.get((contest, line), 0) + n
    return found
