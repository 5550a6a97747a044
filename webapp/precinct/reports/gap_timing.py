"""When a gap opened, and what the record holds of that hour: from the last reading without it to the first one with it.

The explanations say between which readings a mistake showed; where none can, the readings' own rule says which was
the first that was off. What is shown of that time is what the record shows anyway: steps and notes at their time,
ballots by the quarter hour and as counts.
"""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import time
from typing import Any

from webapp.precinct.balance.balance import Balance
from webapp.precinct.day.current_entry import CurrentEntry
from webapp.precinct.day.day import Day
from webapp.precinct.day.hours import clock
from webapp.precinct.day.notes import ballots
from webapp.precinct.day.readings import Reading
from webapp.precinct.place.ballot_kinds import BALLOT_KINDS
from webapp.precinct.place.default_steps import steps
from webapp.precinct.place.place import Place
from webapp.record.entry import QUARTER

MOST = 2  # stretches that are told: beyond them nothing is narrowed down


@dataclass(frozen=True, slots=True)
class Ballots:
    """A number of ballots of one kind of note within one quarter hour; `begins` in ms UTC."""

    begins: int
    kind: str
    n: int


@dataclass(frozen=True, slots=True)
class Stretch:
    """From the last reading without the gap to the first with it. None: the opening, the close. Times in ms UTC; `kept`, `ballots` in order."""

    since: Reading | None
    until: Reading | None
    begins: int
    ends: int
    kept: tuple[CurrentEntry, ...]
    ballots: tuple[Ballots, ...]
    by_rule: bool = False  # no explanation says so: the readings' own rule does


def stretches(balance: Balance, day: Day) -> tuple[Stretch, ...]:
    """The hours in which the gaps of this balance opened, the strongest explanation's first; () where nothing says it or no reading was taken."""
    if not balance.gaps or day.opened is None or not day.readings:
        return ()
    found = [ends for span in _spans(balance) if (ends := _readings(span, day))]
    if found:
        return tuple(_stretch(since, until, day) for since, until in dict.fromkeys(found))[:MOST]
    first = _first_off(day.readings)
    return (_stretch(*first, day, by_rule=True),) if first else ()


def _spans(balance: Balance) -> list[tuple[str | None, str | None]]:
    """The stretches of the explanations of the strongest tie that has any."""
    timed = [
        (one.tie, mistake.between)
        for one in balance.explanations
        if not one.contradicted
        for mistake in one.because
        if mistake.between
    ]
    return [between for tie, between in timed if tie == timed[0][0]]


def _readings(span: tuple[str | None, str | None], day: Day) -> tuple[Reading | None, Reading | None] | None:
    """The two readings of these clock times; None where the record has no such reading."""
    since, until = (next((r for r in day.readings if clock(day.place, r.hour) == at), None) for at in span)
    if (span[0] is not None and since is None) or (span[1] is not None and until is None):
        return None
    return since, until


def _first_off(readings: Iterable[Reading]) -> tuple[Reading | None, Reading] | None:
    """The last reading that agreed by its own rule, and the first that did not."""
    before = None
    for reading in readings:
        if reading.alarm:
            return before, reading
        before = reading
    return None


def _stretch(since: Reading | None, until: Reading | None, day: Day, by_rule: bool = False) -> Stretch:
    begins = since.time if since else day.opened or 0
    ends = until.time if until else day.closed or max((kept.time for kept in day.entries), default=begins)
    listed = {step.id for step in steps(day.place) if step.form != "reading"}
    mine = [kept for kept in day.entries if kept.kind in listed and kept.taken_back is None]
    told = tuple(
        sorted(
            (k for k in mine if k.kind not in BALLOT_KINDS and begins <= k.time <= ends),
            key=lambda k: (k.time, k.number),
        )
    )
    return Stretch(
        since,
        until,
        begins,
        ends,
        told,
        _by_quarter(k for k in mine if k.kind in BALLOT_KINDS and begins < k.time + QUARTER and k.time < ends),
        by_rule,
    )


def _by_quarter(notes: Iterable[CurrentEntry]) -> tuple[Ballots, ...]:
    """Notes of ballots as counts of each quarter hour and kind; their order within it is not shown."""
    found: Counter[tuple[int, str]] = Counter()
    for kept in notes:
        found[kept.time - kept.time % QUARTER, kept.kind] += ballots(kept)
    return tuple(Ballots(begins, kind, n) for (begins, kind), n in sorted(found.items()) if n)


@dataclass(frozen=True, slots=True)
class Hours:
    """The same at the desk, from a packet's steps: clock times HH:MM ("" the opening, the close) and the steps between them."""

    since: str
    until: str
    steps: tuple[Sequence[Any], ...]


def of_steps(balance: Balance, told: Sequence[Sequence[Any]], place: Place) -> Hours | None:
    """The hours in which the strongest explanation says that the gap showed, and the packet's notes ([id, at, time ...]) of that time; None where none says so.

    A reading is taken some minutes after its hour, so notes of one more quarter hour are included.
    """
    spans = _spans(balance)
    if not spans:
        return None
    since, until = spans[0]
    try:
        begins, ends = (place.at(time.fromisoformat(at)) if at else None for at in (since, until))
    except ValueError:  # a stranger's packet may call its readings anything
        return None
    listed = {step.id for step in steps(place) if step.list == "voting" and step.form != "reading"}
    mine = (
        one
        for one in told
        if one[0] in listed and (begins is None or one[2] >= begins) and (ends is None or one[2] <= ends + QUARTER)
    )
    return Hours(since or "", until or "", tuple(sorted(mine, key=lambda one: one[2])))
