"""What a finished test leaves for the place file of the day: protective counters, the seals that are on, the stock less the ballots used."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

from webapp.precinct.day.day import Day
from webapp.precinct.day.out_of_use import shut
from webapp.precinct.day.rounds import counting
from webapp.precinct.place.default_steps import steps
from webapp.precinct.place.place import Applied, Place, Stock, Tabulator
from webapp.precinct.place.seal_points import seal_points
from webapp.precinct.place.step import EntryView

__all__ = ["Carried", "NotCarried", "carried"]


class NotCarried(ValueError):
    """A test that cannot be carried into this place file: one sentence with what to do."""


@dataclass(frozen=True, slots=True)
class Carried:
    """The place of the day, filled in. says: each line where the file said something else. The rest is for the answer of the command."""

    place: Place
    says: tuple[str, ...]
    lifetime: dict[str, int]
    seals: dict[str, str]
    used: dict[str, int]


def carried(place: Place, test: Place, day: Day) -> Carried:
    """The place file of the day with what the test leaves. Raises `NotCarried`."""
    for sentence in _refused(place, test, day):
        raise NotCarried(sentence)
    says: list[str] = []
    lifetime = {t.id: _last(day, "zeroed", t.id).body["lifetime"] for t in place.tabulators}
    points = dict(seal_points(place))
    seals = {point: number for point, number in day.seals.on.items() if point in points}
    used = dict(_last(day, "marked").body.get("taken") or {})
    filled = replace(
        place,
        tabulators=tuple(_counter(one, lifetime[one.id], says) for one in place.tabulators),
        applied=_applied(place, seals, points, says),
        seals=_issued(place, day, says),
        stock=tuple(_less(one, used.get(one.style, 0), says) for one in place.stock),
    )
    return Carried(filled, tuple(says), lifetime, seals, used)


def _refused(place: Place, test: Place, day: Day) -> Iterator[str]:
    if test.kind != "test":
        yield f'{test.name} ({test.id}) is not an accuracy test: give the folder of one, whose place file says kind = "test".'
    if place.kind == "test":
        yield 'This place file is of a test itself: give the place file of the day, without kind = "test".'
    if place.id != test.id:
        yield f"The test was of {test.id}, and this place file is of {place.id}: give the folder of this place's own test."
    if place.mode != test.mode:
        yield f"The test was {test.mode}, and this place file is {place.mode}: test with the equipment and the mode of the day."
    if not day.over:
        yield "This test is not over: its certificate is not signed, or something was changed after it. Finish the test first."
    known, listed = {t.id: t.serial for t in test.tabulators}, steps(test)
    for one in place.tabulators:
        if known.get(one.id) != one.serial:
            yield f"Tabulator {one.id}, serial {one.serial}, was not tested: test it, or take it out of the place file."
        if shut(test, day, one.id, listed):
            yield f"Tabulator {one.id} stayed shut at the test: it does not go to the polls. Take it out, or test it again."
    if _ballot(place) != _ballot(test):
        yield "The ballots of this place file are not those that were tested: contests, choices, styles or precincts differ. Test with this file."


def _ballot(place: Place) -> tuple[Any, ...]:
    """What a change of which asks for another test."""
    return place.contests, place.styles, place.precincts, place.rules.overvotes


def _last(day: Day, name: str, at: str = "") -> EntryView:
    step = next(step for step in steps(day.place) if step.id == name)
    kept = counting(day, step, at)
    if not kept:
        where = f" of {at}" if at else ""
        raise NotCarried(f"The test holds no entry “{step.title.replace(' {at}', where)}”: finish the test first.")
    return kept[-1]


def _counter(one: Tabulator, found: int, says: list[str]) -> Tabulator:
    if one.lifetime not in (None, found):
        says.append(f"{one.id}: protective counter {found:,} after the test; the file said {one.lifetime:,}.")
    return replace(one, lifetime=found)


def _applied(place: Place, seals: dict[str, str], points: dict[str, str], says: list[str]) -> tuple[Applied, ...]:
    """Every seal that is on after the test, then what the file has at points that the test never touched."""
    before = {one.at: one for one in place.applied}
    for at, one in before.items():
        if at in seals and one.number != seals[at]:
            says.append(f"{points[at]}: seal {seals[at]} is on since the test; the file said {one.number}.")
    new = [Applied(at, number, before[at].door if at in before else points[at]) for at, number in seals.items()]
    return (*new, *(one for at, one in before.items() if at not in seals))


def _issued(place: Place, day: Day, says: list[str]) -> tuple[str, ...]:
    """The seals issued for the day, without those that were applied at the test."""
    gone = [number for number in place.seals if number in day.seals.used]
    if gone:
        says.append(
            f"{len(gone)} of the issued seals were applied at the test and are taken off the list: {', '.join(gone)}."
        )
    return tuple(number for number in place.seals if number not in day.seals.used)


def _less(one: Stock, used: int, says: list[str]) -> Stock:
    if not used:
        return one
    if used > one.received:
        raise NotCarried(
            f"The test took {used:,} ballots of style {one.style} from the stock, and the file has {one.received:,}."
        )
    says.append(
        f"Style {one.style}: {one.received:,} in stock less {used:,} used at the test: {one.received - used:,}."
    )
    return replace(one, received=one.received - used)
