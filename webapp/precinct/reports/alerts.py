"""What is wrong and not settled yet: a reading that does not add up, a counter that ran back, ballots that run out.

A reading's alert holds until a later reading, a note that accounts for the difference, or two parties who looked
(`looked`) settle it; after the close until the first look, since then the balance shows it. A correction of the
reading opens it again, if it is still off.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import cast

from webapp.precinct.day.current_entry import CurrentEntry
from webapp.precinct.day.day import Day
from webapp.precinct.day.hours import closing_hour, wall
from webapp.precinct.day.readings import Reading
from webapp.precinct.numbers import few
from webapp.precinct.place.place import Place
from webapp.precinct.place.step import DayView
from webapp.precinct.reports.forecast import supplies

NOT_AN_ANSWER = "provisional"  # its voters come all day: one more of them does not account for a difference
FEWER = (
    "Read the check-ins again, on every poll book.",
    "Ask at the check-in table: was somebody let through before the check-in?",
    "Read the public counters again, not the protective ones.",
    "Was a ballot fed twice after a jam, or a provisional ballot fed by mistake?",
)
MORE = (
    "Count the people between check-in and tabulator again.",
    "Read the public counters again, not the protective ones.",
    "Look for a ballot: emergency bin, booths, tables, floor, the feeder after a jam.",
    "Did a voter leave, with the ballot or without one? Write it in Note.",
)
BACK = (
    "Read both again. If the reading was mistyped, change it.",
    "If the screen really shows less: stop using this tabulator, and call the office.",
)
STOCK = ("Call the office and order ballots now.", "When they come, write it in Note: Ballots brought, or copied here.")


@dataclass(frozen=True, slots=True)
class Alert:
    """One thing that is wrong. `says` is a heading without its full stop, `more` the lines below it, `do` what to do, the likeliest first.

    since: ms UTC, None where nobody knows. figures: it shows counters or tallies, so it is withheld while counts are
    taken blind. urgent: it comes before the next step. reading: number of the entry it is about, 0 for none. href,
    button: where it is settled.
    """

    id: str
    says: str
    more: tuple[str, ...] = ()
    do: tuple[str, ...] = ()
    since: int | None = None
    href: str = ""
    button: str = ""
    figures: bool = False
    urgent: bool = False
    reading: int = 0


def of_the_day(place: Place, day: Day) -> tuple[Alert, ...]:
    """What the readings show and nobody settled yet, the most pressing first."""
    if day.opened is None or not day.readings or day.last("first-look") or day.phase in ("hand-over", "done"):
        return ()
    reading = day.readings[-1]
    if _looked(day, reading):
        return ()
    found = (
        *_ran_back(place, day, reading),
        *_against_the_book(place, day, reading),
        *(() if day.closed else _running_out(place, day, reading)),
    )
    return tuple(_of_the_last(alert) for alert in found) if day.closed else found


def _of_the_last(alert: Alert) -> Alert:
    """The last hour's alert after the close: nobody reads that hour again, so it is shown as of then, until the first look."""
    return replace(
        alert,
        says=f"At the last reading: {alert.says}",
        do=(),
        href="/count",
        button="Look at Count",
        urgent=False,
    )


def _looked(day: Day, reading: Reading) -> bool:
    """Whether two parties looked into this reading as it reads now."""
    kept = day.entry(reading.number)
    said = max(kept.corrected_by or 0, kept.number) if kept else reading.number
    return any(day.root(k.body["of"]) == reading.number and k.number > said for k in day.of("looked"))


def _alert(
    id_: str, reading: Reading, says: str, more: tuple[str, ...], do: tuple[str, ...], urgent: bool = True
) -> Alert:
    return Alert(
        id_,
        says,
        more,
        do,
        reading.time,
        f"/look/{reading.number}",
        "Look now, two parties",
        figures=True,
        urgent=urgent,
        reading=reading.number,
    )


def _against_the_book(place: Place, day: Day, reading: Reading) -> Iterator[Alert]:
    """The rule of the readings: nobody is behind a ballot, or somebody or some ballot is missing."""
    if not reading.alarm or _ran_back_in_sum(day, reading) or _accounted_for(day, reading):
        return
    if reading.between < 0:
        n = -reading.between
        head = f"{few(n, 'more ballot')} than {'people checked in' if reading.aside else 'check-ins'}"
        yield _alert(f"fewer:{reading.number}", reading, head, (_behind(n),), FEWER)
        return
    over = reading.between - reading.in_hand
    head = f"{few(over, 'check-in')} with no ballot on a counter and nobody in the room"
    yield _alert(f"more:{reading.number}", reading, head, (), MORE)


def stood(reading: Reading) -> str:
    """How a reading turned out, in words with both figures; never a bare sign."""
    if reading.between < 0:
        return _behind(-reading.between)
    people = f"{few(reading.between, 'person', 'people')} in between by the figures"
    over = reading.between - reading.in_hand
    if not over:
        return f"{people}, and {reading.in_hand:,} counted. Nothing is left over."
    return f"{people}: {few(abs(over), 'more' if over > 0 else 'fewer', 'more' if over > 0 else 'fewer')} than heads counted."


def _behind(n: int) -> str:
    return "1 ballot has no check-in behind it." if n == 1 else f"{n:,} ballots have no check-in behind them."


def _ran_back_in_sum(day: Day, reading: Reading) -> bool:
    """Whether this reading's alarm only says that a sum ran back: counter and book say that already."""
    if len(day.readings) < 2:
        return False
    before = day.readings[-2]
    return reading.counter < before.counter or reading.check_ins < before.check_ins


def _accounted_for(day: Day, reading: Reading) -> bool:
    """Whether ballots noted since the reading make it add up: voters who left, ballots that were taken or wait in the emergency bin."""
    then, now = dict(reading.fates), day.set_aside
    kinds = (set(then) | set(now)) - {NOT_AN_ANSWER}
    between = reading.between - sum(now.get(kind, 0) - then.get(kind, 0) for kind in kinds)
    return between != reading.between and 0 <= between <= reading.in_hand


def _ran_back(place: Place, day: Day, reading: Reading) -> Iterator[Alert]:
    """A counter or a book that reads less than at an earlier reading. A memory that began again begins at zero."""
    now, fresh = day.entry(reading.number), _began_anew(day)
    for field, words in (("counters", "The public counter of {}"), ("check_ins", "The poll book {}")):
        for thing, n in (now.body.get(field) or {}).items() if now else ():
            earlier = [
                k for k in day.of("hourly") if fresh.get(thing, 0) < k.number < reading.number and _has(k, field, thing)
            ]
            best = max(earlier, key=lambda k: k.body[field][thing], default=None)
            if best and n < best.body[field][thing] and fresh.get(thing, 0) < reading.number:
                was, hour = best.body[field][thing], wall(place, best.body.get("hour", best.time))
                name = words.format(thing)
                yield _alert(
                    f"back:{reading.number}:{thing}",
                    reading,
                    f"{name} ran back by {was - n:,}",
                    (f"It reads {n:,}; at {hour} it read {was:,}. It never runs back.",),
                    BACK if field == "counters" else (*BACK[:1], "If the book really shows less, call the office."),
                )


def _has(kept: CurrentEntry, field: str, thing: str) -> bool:
    return isinstance((kept.body.get(field) or {}).get(thing), int)


def _began_anew(day: Day) -> dict[str, int]:
    """Tabulators whose memory began at zero again, each with the entry that says so."""
    return {k.at: k.number for k in day.of("tabulator-in") if k.body.get("how") in ("fresh-start", "fed-again")}


def _running_out(place: Place, day: Day, reading: Reading) -> Iterator[Alert]:
    """A style that does not last to the close with a quarter to spare, unless ballots were brought since."""
    for one in supplies(place, day):
        brought = any(k.number > reading.number and one.style in ("", k.body.get("style")) for k in day.of("resupply"))
        if one.short and not brought:
            name = f" of style {one.style}" if one.style else ""
            early = one.until is not None and one.until < closing_hour(place, cast(DayView, day))
            head = f"Ballots{name} {'run out before the close' if early else 'may run short'}"
            yield _alert(f"stock:{reading.number}:{one.style}", reading, head, (one.says,), STOCK, early)
