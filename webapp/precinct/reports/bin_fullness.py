"""How full the main bin of each box is: what the counters above it say since it was last emptied, against what the office says it can hold.

An upper bound (common practice): write-in ballots drop into a bin of their own, and the counter does not tell them apart. Ballots of the
emergency bin are not in it. A box whose place file row has no `holds` is not watched.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from webapp.precinct.day.current_entry import CurrentEntry
from webapp.precinct.day.day import Day
from webapp.precinct.day.hours import wall
from webapp.precinct.numbers import few
from webapp.precinct.place.place import Box, Place
from webapp.precinct.reports.alerts import Alert

NEARLY = 85  # percent of what it holds: an hour of a busy morning is left to send for a second official
READ = ("hourly", "bin-emptied", "power-lost", "power-back", "relief", "evacuation", "tabulator-out", "tabulator-in")
FRESH = ("fresh-start", "fed-again")  # the counter began at 0 again
MAIN = "main"
DO = (
    "Two officials of different parties empty it into its container, and write it in Note: Bin emptied.",
    "Only one party here? Keep voting, and use the emergency bin when it is full.",
)


@dataclass(frozen=True, slots=True)
class BinFilling:
    """`ballots` at most in the main bin of `box`, which `holds` so many; `time` of the last counter (ms UTC); `since` it was emptied, None: today."""

    box: str
    ballots: int
    holds: int
    time: int
    since: int | None

    @property
    def percent(self) -> int:
        """Whole percent of what it holds."""
        return 100 * self.ballots // self.holds

    @property
    def nearly_full(self) -> bool:
        return self.percent >= NEARLY


def fillings(place: Place, day: Day) -> tuple[BinFilling, ...]:
    """Each watched bin whose counter was read today, in the order of the place file."""
    found = (_filling(place, day, box) for box in place.boxes if box.holds and MAIN in box.bins)
    return tuple(one for one in found if one)


def full_bins(place: Place, day: Day) -> tuple[Alert, ...]:
    """A bin that is nearly full, until it is emptied or the polls are closed."""
    if day.opened is None or day.closed:
        return ()
    return tuple(_alerts(place, day))


def _alerts(place: Place, day: Day) -> Iterator[Alert]:
    for one in fillings(place, day):
        if not one.nearly_full:
            continue
        full = one.ballots >= one.holds
        since = f"since it was emptied at {wall(place, one.since)}" if one.since else "since the polls opened"
        yield Alert(
            f"bin:{one.box}:{one.ballots}",
            f"The main bin of box {one.box} is {'full' if full else 'nearly full'}",
            (f"About {few(one.ballots, 'ballot')} {since}, by the counter. It holds {one.holds:,}.",),
            DO,
            one.time,
            f"/note/bin-emptied/{one.box}" if len(place.boxes) > 1 else "/note/bin-emptied",
            "Empty the bin",
            figures=True,
            urgent=full,
        )


def _filling(place: Place, day: Day, box: Box) -> BinFilling | None:
    """Walk through every counter that was read above this box, in the order of the record."""
    mine = {t.id for t in place.tabulators if t.box == box.id}
    stood: dict[str, int] = {}
    empty: dict[str, int] = {}  # what each counter stood at when the bin was empty
    time, since = 0, None
    for kept in sorted((k for kind in READ for k in day.of(kind)), key=lambda k: k.number):
        for tabulator, counter in _counters(kept):
            if tabulator not in mine:
                continue
            if kept.kind == "tabulator-in" and kept.body.get("how") in FRESH:
                empty[tabulator] = counter - stood.get(tabulator, 0) + empty.get(tabulator, 0)
            stood[tabulator], time = counter, kept.time
        if kept.kind == "bin-emptied" and kept.at == box.id and kept.body.get("bin") == MAIN:
            empty, since = dict(stood), kept.time
    inside = sum(max(n - empty.get(tabulator, 0), 0) for tabulator, n in stood.items())
    return BinFilling(box.id, inside, box.holds or 0, time, since) if stood else None


def _counters(kept: CurrentEntry) -> Iterator[tuple[str, int]]:
    """(tabulator, public counter) of one entry."""
    if kept.kind in ("tabulator-out", "tabulator-in"):
        if isinstance(kept.body.get("public"), int):
            yield kept.at, kept.body["public"]
        return
    yield from ((t, n) for t, n in (kept.body.get("counters") or {}).items() if isinstance(n, int))
