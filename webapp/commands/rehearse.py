"""Rehearse a whole day and night through the real pages: the demo's place, or places made from a published results file."""

import argparse
import shutil
import tempfile
from pathlib import Path
from typing import Any

from webapp import plain_file
from webapp.commands import Stop

NAME = "rehearse"
LARGEST = 32 * 1024 * 1024  # bytes of a results file, as the desk takes them
HELP = "play a whole day and night through the real pages and say whether all of it was kept, read and added up"


def arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--results", type=Path, metavar="FILE.csv", help="make each precinct of this results file a place"
    )
    parser.add_argument("--places", type=int, metavar="N", help="only the first N precincts of the file")
    parser.add_argument("--board", action="store_true", help="the demo's count board beside its polling place")
    parser.add_argument(
        "--envelopes", type=int, metavar="N", help="with --board: how many envelopes come (default 200)"
    )
    parser.add_argument(
        "--test", action="store_true", help="play the accuracy test of each place first, with a fault that is found"
    )
    parser.add_argument(
        "--canvass",
        action="store_true",
        help="with --results: the tapes hold its first way of voting, the others are counted and published on the days after",
    )
    parser.add_argument(
        "--desks",
        type=int,
        default=0,
        metavar="N",
        help="with --canvass: the night is received at N desks apart, and merged",
    )
    parser.add_argument(
        "--paper",
        type=int,
        default=0,
        metavar="N",
        help="with --canvass: the packets of the last N places never come, and the places are keyed from their paper",
    )
    parser.add_argument("--seed", type=int, default=1, help="for what the figures leave open (default 1)")
    parser.add_argument("--keep", type=Path, metavar="DIR", help="leave the folders of the places and the office here")
    parser.add_argument("--stick", type=Path, metavar="PATH", help="copy each place's record to a stick at this path")
    parser.add_argument("--json", action="store_true", help="one object on one line")


def run(options: argparse.Namespace) -> int:
    """0 all well, 1 something was not kept, read or equal, 2 the input cannot be used."""
    if options.places is not None and options.results is None:
        raise Stop("--places goes with --results: give the results file too.")
    if options.envelopes is not None and not options.board:
        raise Stop("--envelopes goes with --board: add --board too.")
    if options.envelopes is not None and not 100 <= options.envelopes <= 50_000:
        raise Stop(f"--envelopes is {options.envelopes}; give a number from 100 to 50,000.")
    if options.board and options.results is not None:
        raise Stop("--board and --results are two rehearsals: run them one after the other.")
    if options.board and options.test:
        raise Stop("--board and --test are two rehearsals: run them one after the other.")
    if options.canvass and options.results is None:
        raise Stop("--canvass goes with --results: give a results file with a column for each way of voting.")
    if options.desks and not options.canvass:
        raise Stop("--desks goes with --canvass: add --canvass and --results too.")
    if not 0 <= options.desks <= 20:
        raise Stop(f"--desks is {options.desks}; give a number from 1 to 20.")
    if options.canvass and options.test:
        raise Stop("--canvass and --test are two rehearsals: run them one after the other.")
    if options.paper and not options.canvass:
        raise Stop("--paper goes with --canvass: add --canvass too.")
    if options.stick and (options.board or options.canvass):
        raise Stop("--stick goes with places alone: leave out --board and --canvass.")
    if options.keep and options.keep.exists() and any(options.keep.iterdir()):
        raise Stop(f"{options.keep} is not empty, and nothing is written over: name a new folder.")
    with tempfile.TemporaryDirectory(prefix="rehearsal-") as scratch:
        folder = options.keep or Path(scratch) / "rehearsal"
        return played(options, folder)


def played(options: argparse.Namespace, folder: Path) -> int:
    from demo_precinct import canvass_rows, rehearsal, results_file
    from demo_precinct.http_window import Stuck
    from webapp.deck.pattern import NoDeck
    from webapp.office.totals.official_results import UnusableResults
    from webapp.precinct.place.place_file import Mistakes

    try:
        if options.board:
            from demo_precinct import board_rehearsal

            report = board_rehearsal.rehearse_board(folder, options.envelopes or 200, options.seed)
        elif options.results is None:
            report = rehearsal.rehearse_demo(folder, options.seed, options.test, options.stick)
        else:
            data = plain_file.read(options.results, LARGEST)
            files = {
                way: results_file.read(part, options.places)
                for way, part in (canvass_rows.by_way(data) if options.canvass else {"": data}).items()
            }
            file = next(iter(files.values()))
            count = len(file.precincts) if options.places is None else options.places
            if not 1 <= count <= len(file.precincts):
                raise Stop(
                    f"--places is {count}; the file holds {len(file.precincts)} precincts. Give a number from 1 to that."
                )
            if not 0 <= options.paper < count:
                raise Stop(f"--paper is {options.paper}, of {count} places. Give a number from 0 to {count - 1}.")
            report = (
                rehearsal.rehearse_canvass(folder, files, count, options.seed, options.paper, options.desks)
                if options.canvass
                else rehearsal.rehearse_results(folder, file, count, options.seed, options.test, stick=options.stick)
            )
    except OSError as wrong:
        raise Stop(
            f"{options.results or folder} cannot be used ({wrong.strerror}): give the path of a CSV file, or another folder."
        ) from None
    except (UnusableResults, Mistakes, NoDeck) as wrong:
        shutil.rmtree(folder, ignore_errors=True)  # new here, or empty when we came
        raise Stop(str(wrong)) from None
    except Stuck as stuck:
        raise Stop(f"The rehearsal came to a stop: {stuck}", 1) from None
    print(report.as_json() if options.json else in_words(report))
    return 0 if report.ok else 1


def in_words(report: Any) -> str:
    """The report for people."""
    head = "All of it was kept, read back and adds up." if report.ok else "Not all of it is well:"
    rows = [
        head,
        f"{report.places} places, {report.entries} entries, {report.signatures} signatures, {report.steps['kept']} steps and notes kept "
        f"({report.steps['exceptions']} exceptions, {report.steps['short_signed']} short-signed), {report.corrections} corrections, {report.remarks} remarks.",
        f"Packets: {report.packets['built']} built, {report.packets['read']} read from pictures, {report.packets['accepted']} accepted. "
        f"Contests: {report.totals['equal']} of {report.totals['contests']} equal.",
        f"{report.seconds} seconds.",
    ]
    if report.sticks:
        rows.insert(
            2,
            f"Sticks: {report.sticks['places']}, with {report.sticks['entries']} entries; {report.sticks['behind']} entries are on no stick.",
        )
    if report.board:
        b = report.board
        rows.insert(
            2,
            f"Board: {b['envelopes']} envelopes, {b['batches']} batches, {b['stopped']} stopped by the page, {b['duplicates']} duplicates, {b['remarked']} lines remarked; "
            f"every line {'is 0 or remarked' if b['equal'] else 'is NOT 0 or remarked'}.",
        )
    if report.canvass:
        c = report.canvass
        waits = f"; {c['waiting']} contest ballots wait" if c["waiting"] else ""
        if c.get("desks"):
            rows.insert(
                3,
                f"Received at {c['desks']} desks apart, {c['merged']} bundles merged in a drawn order, some of them twice.",
            )
        rows.insert(
            3,
            f"Days after: {c['from_paper']} places from paper, {c['counts']} counts, {c['findings']} corrected returns, {c['recounts']} recounts, "
            f"{c['editions']} editions, of which the board certified number {c['certified']}. "
            f"The last one alone equals the file in {c['equal']} of {c['contests']} contests{waits}. "
            f"{c['small_shown']} contests were shown with few ballots, {c['signed_over']} questions signed over. "
            f"{c['archives']} archives, sealed and public, agree with their own verify.py.",
        )
    if report.test:
        rows.insert(
            2,
            f"Tests: {report.test['rows']} ballots and cards, {report.test['cells']} figures compared; "
            f"{report.test['differing_first']} differed in the first round, {report.test['differing']} in the last.",
        )
    return "\n".join(rows + [f"  {f['place'] or 'office'}: {f['says']}" for f in report.findings[:40]])
