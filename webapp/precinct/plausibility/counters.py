"""Counters and check-ins only ever rise: public and protective counters, the poll book's check-ins; prints that were signed were printed."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from webapp.precinct.day.hours import clock
from webapp.precinct.plausibility.asked import NOT_SO, Asked, Stop, Stops, apart

READ = (
    "hourly",
    "bin-emptied",
    "relief",
    "power-lost",
    "power-back",
    "evacuation",
)  # steps with `counters` by tabulator
ALONE = ("zero-tape", "tabulator-out", "counter-read")  # steps with `public` of their own tabulator
FRESH = ("fresh-start", "fed-again")


@dataclass(frozen=True, slots=True)
class Seen:
    """An earlier counter reading: the figure, and the words that say where it was read."""

    figure: int
    where: str
    number: int


def counters_never_run_back(asked: Asked) -> Stops:
    """A public counter is at least what it was when it was last read, unless its tabulator began again at zero (common practice)."""
    if asked.blind:
        return
    for name, tabulator, found in _public(asked):
        before = last_public(asked, tabulator)
        if before and found < before.figure:
            yield Stop(
                name,
                f"Public counter of {tabulator}: {found:,}. It stood at {before.figure:,} {before.where}: {apart(found, before.figure)} now. "
                f"A counter never runs back. Read it again; if it stays so, {NOT_SO}.",
            )


def _public(asked: Asked) -> Iterator[tuple[str, str, int]]:
    """(input name, tabulator, figure) of each public counter in this body."""
    if asked.step in READ:
        counters: dict[str, Any] = asked.body.get("counters") or {}
        yield from ((f"counters.{t}", t, n) for t, n in counters.items() if isinstance(n, int))
    elif asked.step in ("tabulator-out", "counter-read") and isinstance(asked.body.get("public"), int):
        yield "public", asked.at, asked.body["public"]


def last_public(asked: Asked, tabulator: str) -> Seen | None:
    """The highest figure at which this tabulator's public counter was seen since it last began at 0; None where it was never read."""
    began = max(
        (k.number for k in asked.before("tabulator-in") if k.at == tabulator and k.body.get("how") in FRESH), default=0
    )
    found: list[Seen] = []
    for kind in (*READ, *ALONE):
        for kept in asked.before(kind):
            one = kept.body.get("counters", {}).get(tabulator) if kind in READ else kept.body.get("public")
            if isinstance(one, int) and kept.number > began and (kind in READ or kept.at == tabulator):
                found.append(Seen(one, _where(asked, kind, kept.body.get("hour") or kept.time), kept.number))
    return max(found, key=lambda seen: (seen.figure, seen.number), default=None)


def _where(asked: Asked, kind: str, time: int) -> str:
    at = clock(asked.place, time)
    return {"hourly": f"at the {at} reading", "zero-tape": "on its zero tape"}.get(kind, f"at {at}")


def protective_counter_as_listed(asked: Asked) -> Stops:
    """At opening the protective counter is the one that the office wrote down, until a spare came into use."""
    listed = next((t.lifetime for t in asked.place.tabulators if t.id == asked.at), None)
    found = asked.body.get("lifetime")
    if asked.step not in ("power", "zero-tape") or listed is None or not isinstance(found, int) or found == listed:
        return
    if asked.place.kind == "test" and any(kept.at == asked.at for kept in asked.before("zero-tape")):
        return  # a round before has fed it ballots
    yield Stop(
        "lifetime",
        f"Protective counter of {asked.at}: {found:,}. The office wrote {listed:,}: {apart(found, listed)}. "
        f"Read it again; if it stays so, {NOT_SO}.",
    )


def protective_counter_never_runs_back(asked: Asked) -> Stops:
    """While the same unit counts, its protective counter is at least what the zero tape printed."""
    found = asked.body.get("lifetime")
    if asked.blind or asked.step not in ("tabulator-out", "counter-read") or not isinstance(found, int):
        return
    changed = any(k.at == asked.at for k in asked.before("tabulator-in"))
    zero = next((k.body.get("lifetime") for k in reversed(asked.before("zero-tape")) if k.at == asked.at), None)
    if not changed and isinstance(zero, int) and found < zero:
        yield Stop(
            "lifetime",
            f"Protective counter of {asked.at}: {found:,}. Its zero tape printed {zero:,}: {apart(found, zero)} now. "
            f"It never runs back. Read it again; if it stays so, {NOT_SO}.",
        )


def check_ins_never_fall(asked: Asked) -> Stops:
    """A poll book shows at least the check-ins that it showed at the last reading."""
    if asked.blind or asked.step != "hourly":
        return
    names = {p.id: p.name for p in asked.place.precincts}
    for book, found in (asked.body.get("check_ins") or {}).items():
        seen = [(k.body.get("check_ins", {}).get(book), k.time) for k in asked.before("hourly")]
        before = max(((n, time) for n, time in seen if isinstance(n, int)), default=None)
        if before and found < before[0]:
            yield Stop(
                f"check_ins.{book}",
                f"Check-ins of {names.get(book, book)}: {found:,}. They stood at {before[0]:,} at {clock(asked.place, before[1])}: "
                f"{apart(found, before[0])} now. Read the poll book again; if it stays so, {NOT_SO}.",
            )


def signed_prints_were_printed(asked: Asked) -> Stops:
    """No more zero tapes are signed, or torn, than were printed."""
    if asked.step == "zero-signed":
        name, what, printed = "prints_signed", "signed in ink", asked.number_beside("zero-tape", "prints")
    elif asked.step == "zero-tape":
        name, what, printed = "torn", "torn", asked.body.get("prints")
    else:
        return
    found = asked.body.get(name)
    if isinstance(found, int) and isinstance(printed, int) and found > printed:
        yield Stop(
            name,
            f"{found} prints {what}, {printed} printed: {apart(found, printed)}. Count the prints again; if it stays so, {NOT_SO}.",
        )
