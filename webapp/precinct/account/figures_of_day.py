"""The figures of one day in the shapes of the balance (the JSON of `tapeseal balance`): only what is kept, nothing guessed.

Before the close it gives what there is. Figures that cannot be a day's (more unused than ever came) are left out and said in `impossible`.
"""

from collections.abc import Sequence
from typing import Any

from webapp.precinct.account.ballot_stock import cast_from, copies, counted, plain, stock, stubs, too_many_unused
from webapp.precinct.account.contest_rows import contests
from webapp.precinct.account.impossible_figures import PossibleFigures, possible
from webapp.precinct.account.set_aside import set_aside
from webapp.precinct.account.tabulator_memories import tabulators, too_much_subtracted
from webapp.precinct.day import seal_log
from webapp.precinct.day.day import Day
from webapp.precinct.day.hours import clock
from webapp.precinct.day.notes import dispositions
from webapp.precinct.day.readings import Reading
from webapp.precinct.place.place import Place

__all__ = ["Reading", "checked", "noted", "plain", "running"]


def checked(place: Place, day: Day) -> PossibleFigures:
    """All parts that this day can give, and sentences about figures that cannot be and were left out: what each was compared with, what to correct.

    Rows name their style or precinct only where the place has several."""
    said = (too_many_unused(place, day), _too_many_cancelled(day), too_much_subtracted(place, day))
    found = possible(_all(place, day))
    return found._replace(said=tuple(filter(None, said)) + found.said)


def figures_for_search(known: dict[str, Any], readings: Sequence[Reading]) -> dict[str, Any]:
    """The figures with what was set aside by each reading: for the place's own search of a gap, never for a packet."""
    rows = [
        {**row, "set_aside": dict(reading.fates)}
        for row, reading in zip(known.get("readings", ()), readings, strict=False)
    ]
    return {**known, "readings": rows} if len(rows) == len(readings) and rows else known


def _all(place: Place, day: Day) -> dict[str, Any]:
    parts = {
        "rules": rules(place),
        "dispositions": dispositions(place),
        "cast_from": cast_from(day),
        "stock": stock(place, day),
        "other_stock": copies(day),
        "stubs": stubs(place, day),
        "voters": _voters(place, day),
        "set_aside": set_aside(place, day),
        "tabulators": tabulators(place, day),
        "boxes": [row for box in place.boxes if (row := _box(place, day, box.id))],
        "containers": containers(place, day),
        "contests": contests(place, day),
        "seals": [
            {"at": at, **({"applied": applied} if applied else {}), "found": found}
            for at, applied, found in seal_log.found_and_applied(place, day)
        ],
        "seal_stock": seal_stock(day),
        "readings": [_reading(place, reading) for reading in day.readings],
    }
    return {
        name: part for name, part in parts.items() if part
    }  # an empty part is not there yet; a figure that may be 0 is a value by name


def rules(place: Place) -> dict[str, Any]:
    """What the place file says that the balance must know."""
    packs = {s.pack for s in place.stock if s.pack}
    return {
        "overvotes": place.rules.overvotes,
        "bins_counted": place.rules.bins_counted,
        "sheets": max((s.sheets for s in place.styles), default=1),
        **({"pack": packs.pop()} if len(packs) == 1 else {}),
        **({"votes": place.rules.votes} if place.split() else {}),
    }


def running(place: Place, day: Day) -> tuple[Reading, ...]:
    """Each reading of the day with what the rule of readings says of it."""
    return day.readings


def noted(day: Day, kind: str) -> int:
    """How many ballots (envelopes handed in) the notes of one kind tell of."""
    return day.notes.noted[kind]


def _voters(place: Place, day: Day) -> list[dict[str, Any]]:
    """Check-ins by precinct where the place has several, cancelled ones apart; signed slips as a second count of people."""
    kept = day.last("book-count")
    books, said = [p.id for p in place.precincts], kept.body if kept else {}
    if not books or any(book not in said.get("check_ins", {}) for book in books):
        return []
    gone = {} if _too_many_cancelled(day) else said.get("cancelled", {})
    several = len(books) > 1
    book: dict[str, Any] = {
        "id": "poll_book",
        "n": [{"precinct": b, "n": counted(said["check_ins"][b])} for b in books]
        if several
        else counted(said["check_ins"][books[0]]),
    }
    if any(gone.values()):
        book["cancelled"] = (
            [{"precinct": b, "n": gone[b]} for b in books if gone.get(b)] if several else sum(gone.values())
        )
    return [book, *([{"id": "slips", "n": said["slips"]}] if said.get("slips") is not None else [])]


def _too_many_cancelled(day: Day) -> str:
    kept = day.last("book-count")
    if kept is None:
        return ""
    for book, gone in kept.body.get("cancelled", {}).items():
        there = plain(kept.body.get("check_ins", {}).get(book))
        if gone > there:
            return (
                f"{gone:,} check-ins of {book} are cancelled and the book shows {there:,}: {gone - there:,} more than there are. "
                f"Read the book again, and correct entry {kept.corrected_by or kept.number}."
            )
    return ""


def _box(place: Place, day: Day, box: str) -> dict[str, Any]:
    """Bins counted by hand once every one of them was, paper taken out during the day, the emergency bin."""
    out, opened = day.last(f"bins-out:{box}"), day.last(f"emergency-opened:{box}")
    found: dict[str, Any] = {}
    bins = next(b.bins for b in place.boxes if b.id == box)
    by_hand = out.body.get("ballots", {}) if out else {}
    if by_hand and all(name in by_hand for name in bins):
        found["bins"] = {name: counted(by_hand[name]) for name in bins}
    emptied = [_emptied(place, k) for k in day.all(f"bin-emptied:{box}") if k.body.get("counters")]
    if emptied:
        found["emptied"] = emptied
    if opened and "ballots_found" in opened.body:
        found["emergency"] = {
            "found": plain(opened.body["ballots_found"]),
            **{key: opened.body.get(key, 0) for key in ("fed", "hand_counted", "left")},
        }
    return {"id": box, **found} if found else {}


def _emptied(place: Place, kept: Any) -> dict[str, Any]:
    n = kept.body.get("ballots")
    return {
        "at": clock(place, kept.time),
        "counter": sum(kept.body["counters"].values()),
        "n": None if n is None else counted(n),
        **({"container": kept.body["container"]} if kept.body.get("container") else {}),
    }


def containers(place: Place, day: Day) -> list[dict[str, Any]]:
    """Containers with ballots in them, each with the seal that is on it now."""
    filled = day.last("containers-filled")
    ballots, on = filled.body.get("ballots", {}) if filled else {}, seal_log.on_now(place, day)
    return [
        {"id": c.id, **({"seal": on[c.id]} if c.id in on else {}), "ballots": counted(ballots[c.id])}
        for c in place.containers
        if c.id in ballots
    ]


def seal_stock(day: Day) -> dict[str, int]:
    """Returns the seals issued, applied, returned and damaged, as recorded at the close; {} before that."""
    kept = day.last("seals-accounted")
    return (
        {key: kept.body[key] for key in ("issued", "applied", "returned", "damaged") if key in kept.body}
        if kept
        else {}
    )


def _reading(place: Place, reading: Reading) -> dict[str, Any]:
    return {
        "at": clock(place, reading.hour),
        "counter": reading.counter,
        "poll_book": reading.check_ins,
        "in_hand": reading.in_hand,
        **({"unused": reading.unused} if reading.unused is not None else {}),
    }
