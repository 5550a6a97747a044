"""What the record of a test holds for its certificate: counters, seals, comparisons, changes. Only what was signed as so in the round that counts."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime

from webapp.deck.typed_tapes import Round
from webapp.precinct.day.hours import wall
from webapp.precinct.place.step import EntryView, all_of

CHANGED = {
    "program": "program or memory",
    "tabulator": "tabulator or a part of it",
    "ballot": "ballot printed again",
    "deck": "ballot of the deck marked again",
}


@dataclass(frozen=True)
class Outcome:
    """Figures of the record as text; "" where it does not hold them (yet), and the paper leaves room for a pen."""

    counters: Mapping[str, tuple[str, str]] = field(
        default_factory=dict
    )  # public and protective counter of a tabulator
    seals: Mapping[str, tuple[str, str]] = field(default_factory=dict)  # of its memory, of its doors
    container: str = ""
    seal: str = ""
    until: str = ""
    spoiled: str = ""
    observers: str = ""
    began: str = ""
    ended: str = ""
    tapes: tuple[str, ...] = ()  # a sentence for each tape of this round
    changes: tuple[str, ...] = ()  # a sentence for each difference and change of the rounds before


def outcome(now: Round, on: Mapping[str, str]) -> Outcome:
    """`on`: the seal that is on at each point."""
    away, marked, board = _so(now, "deck-away"), _so(now, "marked"), _so(now, "test-board")
    boards = all_of(now.day, "test-board")
    return Outcome(
        counters={t: found for t in now.deck.plan.tabulators if (found := _counters(now, t))},
        seals={t: found for t in now.deck.plan.tabulators if (found := _seals(now, t, on))},
        container=str(away.body["container"]) if away else "",
        seal=str(away.body["seal"]) if away else "",
        until=str(away.body["until"]) if away else "",
        spoiled=str(marked.body["spoiled"]) if marked else "",
        observers=str(board.body["observers"]) if board else "",
        began=f"{_day(now, boards[0])}, {wall(now.place, boards[0].time)}" if boards else "",
        ended=f"{_day(now, away)}, {wall(now.place, away.time)}" if away else "",
        tapes=tuple(_tapes(now)),
        changes=tuple(_changes(now)),
    )


def _so(now: Round, step: str, at: str = "") -> EntryView | None:
    """The entry of a step that counts now, unless it was signed as not so."""
    kept = now.last(step, at)
    return None if kept is None or kept.not_so else kept


def _counters(now: Round, tabulator: str) -> tuple[str, str] | None:
    kept = _so(now, "zeroed", tabulator)
    return (f"{kept.body['public']:,}", f"{kept.body['lifetime']:,}") if kept else None


def _seals(now: Round, tabulator: str, on: Mapping[str, str]) -> tuple[str, str] | None:
    kept = _so(now, "sealed", tabulator)
    if kept is None:
        return None
    points = {point: on.get(point, "") for point in kept.body.get("seals", {})}
    memory = points.pop(f"{tabulator}-memory", "")
    doors = (f"{point.partition('-')[2]} {number}" for point, number in points.items() if number)
    return memory, ", ".join(doors)


def _tapes(now: Round) -> Iterator[str]:
    for tabulator in now.deck.plan.tabulators:
        kept = _so(now, "compared", tabulator)
        if kept:
            yield f"{tabulator}: all {kept.body['cells']:,} figures of its tape are as expected (entry {kept.number})."
        elif tabulator not in now.tested():
            yield f"{tabulator} stayed shut and was not tested."
    kept = _so(now, "sums")
    if kept:
        yield f"All tabulators together: {kept.body['cells']:,} figures of the report are their sum (entry {kept.number})."


def _changes(now: Round) -> Iterator[str]:
    """What was not as expected, and what began a further round, in the order of the record."""
    kinds = ("compared", "sums", "deck-fed", "changed", "again")
    for kept in sorted((kept for kind in kinds for kept in all_of(now.day, kind)), key=lambda one: one.number):
        when = f"{_day(now, kept)}, {wall(now.place, kept.time)}, entry {kept.number}"
        if kept.kind == "changed":
            at = ", ".join(kept.body.get("tabulators", {}))
            yield f"{when}: {CHANGED[kept.body['part']]} changed{f' at {at}' if at else ''}; the whole test was begun again."
        elif kept.kind == "again":
            yield f"{when}: the test was begun again with the same deck."
        elif kept.not_so:
            yield f"{when}: {_off(kept)}"


def _off(kept: EntryView) -> str:
    at = f" of {kept.at}" if kept.at else ""
    if kept.kind == "deck-fed":
        return f"counter or cards{at} were not as expected."
    figures = len(kept.body.get("differ", ()))
    what = "the tape" if kept.kind == "compared" else "the sums"
    return f"{figures} figure{'s' if figures != 1 else ''} of {what}{at} differed."


def _day(now: Round, kept: EntryView) -> str:
    return f"{datetime.fromtimestamp(kept.time / 1000, now.place.tz):%d %B %Y}"
