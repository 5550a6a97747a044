"""Every seal's life: issued by the office or on the equipment when it came, applied, read, cut, and what does not agree in it.

A number that was never issued, that was applied before, or that is read where another was applied is never altered
and never refused for good: the log says so, and people say what is true.
"""

from dataclasses import dataclass, replace
from typing import cast

from webapp.precinct.day.current_entry import CurrentEntry
from webapp.precinct.day.projection import Projection
from webapp.precinct.day.seal_events import OPENED, READERS
from webapp.precinct.place.place import Place
from webapp.precinct.place.seal_points import one_door, seal_points, twins
from webapp.precinct.place.step import DayView, all_of


@dataclass(frozen=True, slots=True)
class SealEvent:
    """One thing that happened to a seal point: `what` is read | cut | applied; `entry` the number of the entry, 0 for the office's list; `time`
    ms UTC; `expected` the number that should have been there, "" where none was known."""

    point: str
    what: str
    number: str
    entry: int
    time: int
    kind: str = ""
    expected: str = ""

    @property
    def differs(self) -> bool:
        """Whether another number was read or cut than the one last applied."""
        return self.what != "applied" and bool(self.expected) and self.number != self.expected


class SealLog(Projection):
    """Kept up with the day. `touches` in order; `on` = the number now on each point; `used` = point by number applied today."""

    kinds = frozenset(READERS)

    def clear(self) -> None:
        """Begins with the seals that were on the equipment when it came."""
        self.touches = [SealEvent(seal.at, "applied", seal.number, 0, 0) for seal in self.place.applied if seal.number]
        self.on = {seal.at: seal.number for seal in self.place.applied if seal.number}
        self.used: dict[str, str] = {}
        self._one = twins(self.place)  # one door, one name
        self.twice: list[SealEvent] = []

    def write(self, kept: CurrentEntry) -> None:
        """Takes each seal number that the entry names: applied, read or cut."""
        for point, what, number in READERS[kept.kind](kept):
            if number:
                point = self._one.get(point, point)
                self._touch(SealEvent(point, what, number, kept.number, kept.time, kept.kind, self.on.get(point, "")))

    def _touch(self, touch: SealEvent) -> None:
        if touch.what == "applied" and touch.number == touch.expected:
            touch = replace(
                touch, what="read"
            )  # written once more of a seal that is on already, such as a container closed at noon
        self.touches.append(touch)
        if touch.what == "applied":
            if touch.number in self.used or touch.number in self.on.values():
                self.twice.append(touch)
            self.on[touch.point] = touch.number
            self.used[touch.number] = touch.point
        elif touch.what == "cut":
            self.on.pop(touch.point, None)


def book(place: Place, day: DayView) -> SealLog:
    """The day's own book of seals, or one written for a day that keeps none."""
    own = getattr(day, "seals", None)
    if own is not None:
        return own
    made = SealLog(
        place,
        lambda kinds: sorted(
            (cast(CurrentEntry, k) for kind in kinds for k in all_of(day, kind)), key=lambda k: k.number
        ),
    )
    made.amend()
    return made.now()


def touches(place: Place, day: DayView) -> list[SealEvent]:
    """All that happened to seals here, in order."""
    return book(place, day).touches


def on_now(place: Place, day: DayView) -> dict[str, str]:
    """The number that was last applied and not cut since, by point."""
    return book(place, day).on


def opened(place: Place, day: DayView) -> dict[str, int]:
    """Points with a door that was opened at the close after its seal was applied, and the entry that says so: that seal is off, and no entry has its number as it came off."""
    found: dict[str, int] = {}
    for kind, points in OPENED.items():
        for kept in all_of(day, kind):
            for point in points(kept):
                found.setdefault(one_door(place, point), kept.number)
    last = {touch.point: touch.entry for touch in touches(place, day) if touch.what == "applied"}
    on = on_now(place, day)
    return {point: entry for point, entry in found.items() if point in on and last.get(point, 0) < entry}


def still_on(place: Place, day: DayView) -> dict[str, str]:
    """The seals that are on now, by point, without those of doors that were opened at the close."""
    off = opened(place, day)
    return {point: number for point, number in on_now(place, day).items() if point not in off}


def unsealed(place: Place, day: DayView) -> tuple[SealEvent, ...]:
    """Seals that came off during the day, broken or cut to empty a bin, and were followed by no other at their point."""
    newest = {touch.point: touch for touch in touches(place, day)}
    return tuple(t for t in newest.values() if t.what == "cut" and t.kind in ("seal-broken", "bin-emptied"))


def taken_off(place: Place, day: DayView) -> int:
    """How many seals came off today: cut, replaced by another, or off with a door that was opened at the close."""
    on: set[str] = set()
    replaced = 0
    for touch in touches(place, day):
        if touch.what == "applied":
            replaced += touch.point in on
            on.add(touch.point)
        elif touch.what == "cut":
            on.discard(touch.point)
    return sum(touch.what == "cut" for touch in touches(place, day)) + replaced + len(opened(place, day))


def expected(place: Place, day: DayView, point: str) -> str | None:
    """The number that should be read at this point now."""
    return book(place, day).on.get(one_door(place, point))


def used(place: Place, day: DayView) -> dict[str, str]:
    """Every number that was applied today, and the point."""
    return book(place, day).used


def next_unused(place: Place, day: DayView) -> str | None:
    """The first number of the issued list that nobody has applied."""
    gone = used(place, day)
    return next((number for number in place.seals if number not in gone), None)


def life(place: Place, day: DayView, number: str) -> tuple[SealEvent, ...]:
    """Everything that happened to one number, in order; empty for one that nobody has seen."""
    return tuple(touch for touch in touches(place, day) if touch.number == number)


def amiss(place: Place, day: DayView) -> tuple[str, ...]:
    """A sentence for each number that was never issued, was applied twice, was read where another was applied, or came off and was followed by none."""
    words, issued = dict(seal_points(place)), {*place.seals, *(seal.number for seal in place.applied)}
    told, again = [], {(t.entry, t.point, t.number) for t in book(place, day).twice}
    for t in touches(place, day):
        where = words.get(t.point, t.point)
        if t.differs:
            told.append(
                f"Seal {t.number} was {t.what} at {where}, entry {t.entry}; {t.expected} was last applied there. Say in a remark which of them is right."
            )
        if t.what == "applied" and t.entry and place.seals and t.number not in issued:
            told.append(
                f"Seal {t.number} at {where}, entry {t.entry}, was not issued to this place. Say in a remark where it came from."
            )
        if (t.entry, t.point, t.number) in again:
            told.append(
                f"Seal {t.number} was applied at {where}, entry {t.entry}, and had been applied before. Read it again, and correct the entry that is wrong."
            )
    told += [
        f"Seal {t.number} came off {words.get(t.point, t.point)}, entry {t.entry}, and no entry says that another was applied there."
        for t in unsealed(place, day)
    ]
    return tuple(told)


def why_not_spare(place: Place, day: DayView, number: str) -> str | None:
    """The sentence when this number is no spare seal of the place; None when it is."""
    if place.seals and number not in place.seals:
        return f"Seal {number} was not issued to this place. Read it again; if it stays so, say below what is wrong."
    where = used(place, day).get(number)
    if where:
        words = dict(seal_points(place)).get(where, where)
        return f"Seal {number} was applied already, at {words}. Read it again; if it stays so, say below what is wrong."
    return None


def counts(place: Place, day: DayView) -> dict[str, int]:
    """Seals issued to the place, and how many of them were applied today."""
    return {"issued": len(place.seals), "applied": len([n for n in used(place, day) if n in place.seals])}


def found_and_applied(place: Place, day: DayView) -> list[tuple[str, str, str]]:
    """(point, last applied, found) for each point whose seal was read or cut, in the order of the points: where one ever differed, that time."""
    seen: dict[str, SealEvent] = {}
    for touch in touches(place, day):
        if touch.what != "applied" and not (touch.point in seen and seen[touch.point].differs):
            seen[touch.point] = touch
    order = [point for point, _ in seal_points(place)]
    ranked = sorted(seen, key=lambda point: (order.index(point) if point in order else len(order), point))
    return [(point, seen[point].expected, seen[point].number) for point in ranked]
