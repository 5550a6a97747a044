"""Make the test deck of a place file, with what each tape must read, or compare typed tapes with it.

`deck PLACEFILE --out DIR` writes marking.pdf, tallies.pdf, certificate.pdf, deck.json and expected.csv. `deck compare PLACEFILE TAPE.json ...` makes
the same deck again and holds typed tapes against it. Exit 0: all faults are shown, or all tapes agree; 1: a fault stays hidden, or a tape
differs; 2: a file that cannot be read.
"""

import argparse
import json
import sys
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

from webapp.commands import Stop
from webapp.commands.balance import figures_in
from webapp.commands.place import readable
from webapp.deck import comparison, diagnosis, fault_words
from webapp.deck.comparison import Comparison, UnreadableTape
from webapp.deck.deck import Deck, build
from webapp.deck.diagnosis import Diagnosis
from webapp.deck.pattern import NoDeck
from webapp.deck.plan import plan
from webapp.deck.playing import Played, play
from webapp.deck.positions import DEALING, DeckPlan
from webapp.paper.deck_certificate import certificate_pdf
from webapp.paper.deck_tallies import tallies_pdf
from webapp.paper.parts.deck_marking import marking_pdf
from webapp.precinct.balance.figure_rows import Unreadable
from webapp.precinct.place.place import Place

NAME = "deck"
HELP = "make the test deck of a place file, or compare typed tapes with it"
COMPARE = "compare"
MADE = ("marking.pdf", "tallies.pdf", "certificate.pdf", "deck.json", "expected.csv")


def arguments(parser: argparse.ArgumentParser) -> None:
    """PLACEFILE --out DIR, or compare PLACEFILE TAPE.json ..."""
    parser.add_argument(
        "files",
        nargs="+",
        metavar="FILE",
        help="PLACEFILE (TOML or place.cose); or the word compare, PLACEFILE and TAPE.json ... (a place file named compare is ./compare)",
    )
    parser.add_argument(
        "--out", type=Path, metavar="DIR", help="a folder for the papers and deck.json; it must not hold them yet"
    )
    parser.add_argument("--before", type=Path, metavar="OLDFILE", help="the place file of the edition before")
    parser.add_argument(
        "--dealing",
        type=int,
        choices=range(1, DEALING + 1),
        default=DEALING,
        help="the dealing that deck.json names; 1 where it names none and there is a straight-party contest. Left out: the newest",
    )
    parser.add_argument("--json", action="store_true", help="one object on one line (compare: a line each tape)")


def run(options: argparse.Namespace) -> int:
    if options.files[0] == COMPARE:
        return compare(options)
    return make(options)


def make(options: argparse.Namespace) -> int:
    """0 written, 1 written and a fault stays hidden, 2 refused."""
    if len(options.files) > 1:
        raise Stop(
            "deck takes one place file: give one, or write deck compare PLACEFILE TAPE.json ... to compare tapes."
        )
    if options.out is None:
        raise Stop("Say which folder the deck goes into: --out DIR.")
    place, deck, before = made(options)
    played = play(deck, before)
    write(options.out, place, deck, played)
    print(
        json.dumps(answer(options.out, deck, played), ensure_ascii=False, separators=(",", ":"))
        if options.json
        else "\n".join(print_result(options.out, deck, played, before))
    )
    return 1 if played.hidden else 0


def made(options: argparse.Namespace, file: str = "") -> tuple[Place, Deck, DeckPlan | None]:
    """The place, its deck, and the plan of the edition before where one is given."""
    path = Path(file or options.files[0])
    place = readable(path, "tested")
    try:
        deck = build(replace(plan(place), dealing=options.dealing))
    except NoDeck as wrong:
        raise Stop(f"{path}: {wrong}") from None
    if options.before is None:
        return place, deck, None
    old = readable(options.before, "compared with")
    if old.id != place.id:
        raise Stop(
            f"{options.before} is of {old.id} and {path} of {place.id}: give the edition before of the same place."
        )
    try:
        return place, deck, plan(old)
    except NoDeck as wrong:
        raise Stop(f"{options.before}: {wrong}") from None


def write(folder: Path, place: Place, deck: Deck, played: Played) -> None:
    """Every file of the deck; nothing is written over."""
    there = next((folder / name for name in MADE if (folder / name).exists()), None)
    if there:
        raise Stop(
            f"{there} is there already, and nothing is written over: choose another folder, or move it away first."
        )
    contents = {
        "deck.json": deck.json_bytes,
        "expected.csv": deck.csv_bytes,
        "marking.pdf": marking_pdf(place, deck),
        "tallies.pdf": tallies_pdf(place, deck),
        "certificate.pdf": certificate_pdf(place, deck, played.total, tuple(hidden_says(deck, played))),
    }
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name, data in contents.items():
            (folder / name).write_bytes(data)
    except OSError as wrong:
        raise Stop(f"{folder} cannot be written ({wrong.strerror}): give a folder that may be written to.") from None


def answer(folder: Path, deck: Deck, played: Played) -> dict[str, Any]:
    return {
        "place": deck.plan.place,
        "edition": deck.plan.edition,
        "ballots": len(deck.rows),
        "fed": {tabulator: one.ballots for tabulator, one in deck.feeds.items()},
        "cells": len(deck.cells[deck.plan.tabulators[0]]),
        "faults": played.total,
        "hidden": [one.as_json() | {"says": fault_words.describe(deck.plan, one)} for one in played.hidden],
        "deck_digest": deck.digest,
        "out": str(folder),
    }


def hidden_says(deck: Deck, played: Played) -> Iterator[str]:
    for one in played.hidden:
        yield fault_words.describe(deck.plan, one)


def print_result(folder: Path, deck: Deck, played: Played, before: DeckPlan | None) -> Iterator[str]:
    fed = ", ".join(f"{one.ballots} through {tabulator}" for tabulator, one in deck.feeds.items())
    yield f"{folder}: the test deck of {deck.plan.place}, edition {deck.plan.edition}: {len(deck.rows)} ballots, counted {fed}; 3 cards to be refused among them."
    for style in deck.as_json()["styles"]:
        yield f"  style {style['id']}: {style['ballots']} ballots ({style['pattern']} pattern rows; the least would be {style['minimum']} in all)"
    yield f"  {played.total} faults were played on it; {len(played.hidden) or 'none'} stayed hidden."
    for sentence in hidden_says(deck, played):
        yield f"  HIDDEN: {sentence}"
    if before is not None and "edition" not in played.counts:
        yield "  The edition before has the same ovals in the same places: its memory shows in no figure, only by card X-001."
    yield "  Print marking.pdf for the markers, tallies.pdf for those who check, certificate.pdf for the end. deck.json is the deck itself."


def compare(options: argparse.Namespace) -> int:
    """0 all tapes agree, 1 some differ, 2 some cannot be read."""
    if options.out is not None:
        raise Stop("deck compare writes nothing: leave --out away.")
    if len(options.files) < 3:
        raise Stop("Give a place file and at least one typed tape: deck compare PLACEFILE TAPE.json ...")
    _, deck, before = made(options, options.files[1])
    code = 0
    for file in options.files[2:]:
        try:
            found = comparison.compare(deck, figures_in(Path(file)), before)
        except (UnreadableTape, Unreadable) as refusal:
            print(f"{file}: {refusal}", file=sys.stderr)
            if options.json:
                print(json.dumps({"error": str(refusal)}, ensure_ascii=False, separators=(",", ":")), flush=True)
            code = 2
            continue
        explained = diagnosis.explain(deck, found, before)
        code = max(code, 0 if found.equal else 1)
        if options.json:
            print(json.dumps(compared(deck, found, explained), ensure_ascii=False, separators=(",", ":")), flush=True)
        else:
            print(*in_words(file, deck, found, explained), sep="\n", flush=True)
            if not found.equal and agrees_with_dealing_1(deck, figures_in(Path(file)), before):
                print(
                    "  It is the tape of a deck that an earlier version made: compare again with --dealing 1.",
                    flush=True,
                )
    return code


def agrees_with_dealing_1(deck: Deck, typed: Any, before: DeckPlan | None) -> bool:
    """Whether the tape is wholly that of the deck as the first dealing made it."""
    if not deck.plan.names_dealing:
        return False
    older = build(replace(deck.plan, dealing=1))
    return comparison.compare(older, typed, before).equal


def compared(deck: Deck, found: Comparison, explained: list[Diagnosis]) -> dict[str, Any]:
    """The answer on one tape; `missing`, `sums` and `feed` only where they say something."""
    said: dict[str, Any] = {
        "equal": found.equal,
        "cells": len(found.compared),
        "differ": [one.as_json(found.tabulator) for one in found.differ],
        "explanations": [one.as_json(deck.plan) for one in explained],
        "tabulator": found.tabulator,
    }
    more = {
        "missing": [comparison.address(cell) for cell in found.missing],
        "sums": [{"contest": contest, "off": off} for contest, off in found.sums],
        "feed": diagnosis.rows_to_feed(deck, explained),
    }
    return said | {key: value for key, value in more.items() if value}


def in_words(file: str, deck: Deck, found: Comparison, explained: list[Diagnosis]) -> Iterator[str]:
    """The answer for people: what differs, what it is consistent with, what was not typed."""
    many = len(found.compared)
    if found.equal:
        yield f"{file}: All {many} figures{' typed' if found.missing else ''} of {found.tabulator} agree."
    else:
        yield f"{file}: {len(found.differ)} of {many} figures of {found.tabulator} differ. Stop, find the cause, correct it, and begin the whole test again."
    for one in found.differ:
        yield "  ! " + fault_words.difference(comparison.in_words(deck.plan, one.cell), one.expected, one.typed)
    for sentence in comparison.own_sums(deck.plan, found):
        yield f"    {sentence}"
    if explained and not explained[0].exact:
        yield "  No single fault of ours gives this tape. The nearest:"
    for n, cause in enumerate(explained, 1):
        said = cause.as_json(deck.plan)
        left = (
            f" ({cause.off} {'figure' if cause.off == 1 else 'figures'} would still differ)" if not cause.exact else ""
        )
        yield f"  {n}. {said['says']}{left} {said['look']}"
    if not explained and not found.equal:
        yield "  No single fault of ours gives this tape, or comes near it."
    feed = diagnosis.rows_to_feed(deck, explained)
    if feed:
        yield f"  To be sure, feed alone: {', '.join(feed)}."
    if found.missing:
        shown = "; ".join(comparison.in_words(deck.plan, cell) for cell in found.missing[:6])
        yield f"  Not typed, so not compared: {len(found.missing)} figures ({shown}{' ...' if len(found.missing) > 6 else ''})."
