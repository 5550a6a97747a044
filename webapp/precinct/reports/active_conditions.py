"""What holds in the room at this moment and ends later: an instruction, a tabulator out of use, an emergency bin in use, power lost, voters outside,
a door without its seal.

Each is a sentence with the entry that began it, so that the next person at the tablet knows what the last one knew.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from webapp.precinct.day import out_of_use, seal_log
from webapp.precinct.day.day import Day
from webapp.precinct.day.hours import MINUTE, wall
from webapp.precinct.day.instructions import Order, orders
from webapp.precinct.day.notes import ballots
from webapp.precinct.place.place import Place
from webapp.precinct.place.seal_points import seal_points
from webapp.precinct.place.step import last
from webapp.precinct.reports.forecast import battery

ISSUERS = {
    "court": "a court",
    "office": "the election office",
    "police-or-fire": "police or fire service",
    "other": "someone else",
}


@dataclass(frozen=True, slots=True)
class Condition:
    """One condition in force: a sentence, what to do (or what held before), and the number of the entry that began it."""

    says: str
    then: str
    entry: int


def holds_now(place: Place, day: Day, now: int) -> tuple[Condition, ...]:
    """Every condition in force, the most pressing first. `now` in ms UTC."""
    if day.phase in ("before-dawn", "done"):
        return ()
    return (
        *_outside(place, day),
        *_power(place, day, now),
        *_out(place, day),
        *_emergency(place, day),
        *_unsealed(place, day),
        *(_order(place, one) for one in orders(day)),
    )


def _outside(place: Place, day: Day) -> Iterator[Condition]:
    cleared = day.last("evacuation")
    if cleared and "back" not in cleared.body and day.closed is None:
        yield Condition(
            f"The room was cleared at {wall(place, cleared.body.get('time', cleared.time))}.",
            f"Back in? Correct entry {cleared.number}: enter the time.",
            cleared.number,
        )


def _power(place: Place, day: Day, now: int) -> Iterator[Condition]:
    """The condition "power lost", with how long the batteries last."""
    lost, back = day.last("power-lost"), day.last("power-back")
    if lost is None or (back is not None and back.number > lost.number):
        return
    since, holds = wall(place, lost.body.get("time", lost.time)), battery(place, day)
    if holds is None:
        yield Condition(f"No mains power since {since}.", "When it is back, keep a note “Power back”.", lost.number)
    elif holds.until > now:
        left = (holds.until - now) // MINUTE
        yield Condition(
            f"On battery since {since}: it holds until about {wall(place, holds.until)} by {holds.by}, {left // 60} h {left % 60:02d} min left.",
            "Ask the office now what to do after that. When the power is back, keep a note “Power back”.",
            lost.number,
        )
    else:
        yield Condition(
            f"On battery since {since}: by {holds.by} it is used up since {wall(place, holds.until)}.",
            "Use the emergency bin when a screen goes dark.",
            lost.number,
        )


def _out(place: Place, day: Day) -> Iterator[Condition]:
    for tabulator in place.tabulators:
        out = out_of_use.out_with(day, tabulator.id)
        if out is not None and day.closed is None:
            yield Condition(
                f"{tabulator.id} is out of use since {wall(place, out.body.get('time', out.time))}.",
                "Use the emergency bin until it or its spare is in use.",
                out.number,
            )


def _emergency(place: Place, day: Day) -> Iterator[Condition]:
    """Emergency bins in use. How many ballots wait in one is not said: that is hidden from the close."""
    for box in place.boxes:
        on, off = last(day, "emergency-on", box.id), last(day, "emergency-off", box.id)
        if (
            on is not None
            and (off is None or off.number < on.number)
            and not day.kept.get(f"emergency-opened:{box.id}")
        ):
            waits = sum(ballots(k) for k in day.kept.get(f"emergency-plus:{box.id}", ()) if k.number > on.number)
            told = "" if day.folded_away else f" {waits} ballot{'' if waits == 1 else 's'} went in since."
            yield Condition(
                f"The emergency bin of box {box.id} is in use.{told}", "Locked, and never out of sight.", on.number
            )


def _unsealed(place: Place, day: Day) -> Iterator[Condition]:
    """Doors that lost their seal while the polls were open. At the close every door is opened."""
    words = dict(seal_points(place))
    for touch in seal_log.unsealed(place, day) if day.closed is None else ():
        yield Condition(
            f"No seal is on since {wall(place, touch.time)}: {words.get(touch.point, touch.point)}.",
            "Seal it, and write it in Note: Seal applied.",
            touch.entry,
        )


def _order(place: Place, order: Order) -> Condition:
    """An instruction, with the rule that held before it."""
    by = f"Instruction{' ' + order.code if order.code else ''} from {ISSUERS.get(order.issuer, 'someone else')}"
    words = f": “{order.words}”" if order.words else ": words withheld"
    before = (
        f"The polls close at {wall(place, order.closes)}; before this instruction, at {wall(place, place.at(place.closes))}."
        if order.closes and order.changes == "hours"
        else ""
    )
    return Condition(by + words, before, order.number)
