"""Which seals an entry names: for each kind, (point, read | cut | applied, number) in the order in which it was done."""

from collections.abc import Callable, Iterator, Mapping

from webapp.precinct.place.step import EntryView

Told = Iterator[tuple[str, str, str]]


def _each(what: str, points: Mapping[str, str] | None, at: str = "") -> Told:
    """A map of points and numbers; `at` goes before points that are bins of a box."""
    return ((at + point, what, number) for point, number in (points or {}).items())


def _seals(what: str) -> Callable[[EntryView], Told]:
    return lambda kept: _each(what, kept.body.get("seals"))


def _seals_cut(kept: EntryView) -> Told:
    yield from _each("cut", kept.body.get("old"))
    yield from _each("applied", kept.body.get("new"))


def _one_swapped(kept: EntryView) -> Told:
    point = kept.body.get("where", "")
    yield point, "cut", kept.body.get("old", "")
    yield point, "applied", kept.body.get("new", "")


def _bin_emptied(kept: EntryView) -> Told:
    body = kept.body
    door = f"{kept.at}-{body.get('bin', '')}"
    yield door, "cut", body.get("old_seal", "")
    yield door, "applied", body.get("new_seal", "")
    yield body.get("container", ""), "applied", body.get("seal", "")


def _tabulator_in(kept: EntryView) -> Told:
    yield f"{kept.at}-memory", "applied", kept.body.get("memory_seal", "")
    yield f"{kept.at}-door", "applied", kept.body.get("door_seal", "")


def _memory(kept: EntryView) -> Told:
    """On its bag; on the tabulator's own door where the memory stays in it."""
    part = "memory" if kept.body.get("goes") == "stays" else "bag"
    yield f"{kept.at}-{part}", "applied", kept.body.get("seal", "")


def _tabulator_away(kept: EntryView) -> Told:
    yield f"{kept.at}-door", "read", kept.body.get("seal", "")
    yield f"{kept.at}-case", "applied", kept.body.get("case_seal", "")


def _deck_away(kept: EntryView) -> Told:
    yield kept.body.get("container", ""), "applied", kept.body.get("seal", "")


READERS: dict[str, Callable[[EntryView], Told]] = {
    "case-seals": _seals("read"),
    "tabulator-seals": _seals("read"),
    "closing-seals": _seals("read"),
    "containers-sealed": _seals("applied"),
    "bins-locked": lambda kept: _each("applied", kept.body.get("seals"), f"{kept.at}-"),
    "seals-cut": _seals_cut,
    "seal-broken": _one_swapped,
    "seal-applied": _one_swapped,
    "bin-emptied": _bin_emptied,
    "tabulator-in": _tabulator_in,
    "sealed": _seals("applied"),
    "deck-away": _deck_away,
    "memory": _memory,
    "tabulator-away": _tabulator_away,
}


def _emptied(kept: EntryView) -> tuple[str, ...]:
    bins = [name for name, out in (kept.body.get("out") or {}).items() if out]
    return tuple(f"{kept.at}-{name}" for name in dict.fromkeys([*bins, *(kept.body.get("container") or {})]))


OPENED: dict[str, Callable[[EntryView], tuple[str, ...]]] = {
    "emergency-opened": lambda kept: (f"{kept.at}-emergency",),
    "bins-out": _emptied,
    "memory": lambda kept: (f"{kept.at}-memory",) if kept.body.get("goes") == "goes" else (),
}
"""Doors that are opened at the close without a word of their seal: for each kind, the points."""
