"""Every seal's life: which number is on which point now, which were issued, which are used, as the day's entries tell."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from webapp.precinct.place import Place
from webapp.precinct.step import Day, Kept, all_of, last
from webapp.precinct.things import seal_points


@dataclass(frozen=True, slots=True)
class Touch:
    """One thing that happened to a seal point: `what` is read | cut | applied; `entry` the number of the entry, 0 for the office's list; `time` ms UTC."""

    point: str
    what: str
    number: str
    entry: int
    time: int
    kind: str = ""


def touches(place: Place, day: Day) -> list[Touch]:
    """All that happened to seals here, in order."""
    found = [Touch(seal.at, "applied", seal.number, 0, 0) for seal in place.applied]
    kept = sorted((k for kind in _READERS for k in all_of(day, kind)), key=lambda k: k.number)
    for one in kept:
        found += [Touch(point, what, number, one.number, one.time, one.kind) for point, what, number in _READERS[one.kind](one) if number]
    return found


def on_now(place: Place, day: Day) -> dict[str, str]:
    """The number that was last applied and not cut since, by point."""
    on: dict[str, str] = {}
    for touch in touches(place, day):
        if touch.what == "applied":
            on[touch.point] = touch.number
        elif touch.what == "cut":
            on.pop(touch.point, None)
    return on


def expected(place: Place, day: Day, point: str) -> str | None:
    """The number that should be read at this point now."""
    return on_now(place, day).get(point)


def used(place: Place, day: Day) -> dict[str, str]:
    """Every number that was applied today, and the point."""
    return {t.number: t.point for t in touches(place, day) if t.what == "applied" and t.entry}


def next_unused(place: Place, day: Day) -> str | None:
    """The first number of the issued list that nobody has applied."""
    gone = used(place, day)
    return next((number for number in place.seals if number not in gone), None)


def why_not_spare(place: Place, day: Day, number: str) -> str | None:
    """The sentence when this number is no spare seal of the place; None when it is."""
    if place.seals and number not in place.seals:
        return f"Seal {number} was not issued to this place. Read it again; if it stays so, say below that it is not so."
    where = used(place, day).get(number)
    if where:
        words = dict(seal_points(place)).get(where, where)
        return f"Seal {number} was applied already, at {words}. Read it again; if it stays so, say below that it is not so."
    return None


def counts(place: Place, day: Day) -> dict[str, int]:
    """Seals issued to the place, and how many of them were applied today."""
    return {"issued": len(place.seals), "applied": len([n for n in used(place, day) if n in place.seals])}


def _mapped(key: str, what: str, points: Mapping[str, str] | None) -> Iterator[tuple[str, str, str]]:
    yield from ((point, what, number) for point, number in (points or {}).items())


def _cut(kept: Kept) -> Iterator[tuple[str, str, str]]:
    yield from _mapped("old", "cut", kept.body.get("old"))
    yield from _mapped("new", "applied", kept.body.get("new"))


def _swap(kept: Kept) -> Iterator[tuple[str, str, str]]:
    point = kept.body["where"]
    yield point, "cut", kept.body.get("old", "")
    yield point, "applied", kept.body.get("new", "")


def _emptied(kept: Kept) -> Iterator[tuple[str, str, str]]:
    body = kept.body
    door = f"{kept.at}-{body.get('bin', '')}"
    yield door, "cut", body.get("old_seal", "")
    yield door, "applied", body.get("new_seal", "")
    yield body.get("container", ""), "applied", body.get("seal", "")


def _back_in(kept: Kept) -> Iterator[tuple[str, str, str]]:
    yield f"{kept.at}-memory", "applied", kept.body.get("memory_seal", "")
    yield f"{kept.at}-door", "applied", kept.body.get("door_seal", "")


def _locked(kept: Kept) -> Iterator[tuple[str, str, str]]:
    yield from ((f"{kept.at}-{name}", "applied", number) for name, number in (kept.body.get("seals") or {}).items())


def _away(kept: Kept) -> Iterator[tuple[str, str, str]]:
    yield f"{kept.at}-door", "read", kept.body.get("seal", "")
    yield f"{kept.at}-case", "applied", kept.body.get("case_seal", "")


_READERS = {
    "case-seals": lambda k: _mapped("seals", "read", k.body.get("seals")),
    "tabulator-seals": lambda k: _mapped("seals", "read", k.body.get("seals")),
    "closing-seals": lambda k: _mapped("seals", "read", k.body.get("seals")),
    "containers-sealed": lambda k: _mapped("seals", "applied", k.body.get("seals")),
    "seals-cut": _cut, "seal-broken": _swap, "seal-applied": _swap, "bin-emptied": _emptied, "tabulator-in": _back_in,
    "bins-locked": _locked, "tabulator-away": _away,
    "memory": lambda k: iter([(f"{k.at}-bag", "applied", k.body.get("seal", ""))]),
}


def found_and_applied(place: Place, day: Day) -> list[tuple[str, str, str]]:
    """(point, last applied, found) for each seal that was read at the close, in the order of the points."""
    closing = last(day, "closing-seals")
    if closing is None:
        return []
    on: dict[str, str] = {}
    for touch in touches(place, day):
        if touch.entry >= closing.number:
            break
        if touch.what == "applied":
            on[touch.point] = touch.number
        elif touch.what == "cut":
            on.pop(touch.point, None)
    read = closing.body.get("seals", {})
    return [(point, on.get(point, ""), read[point]) for point, _ in seal_points(place) if point in read]
