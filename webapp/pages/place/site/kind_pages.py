"""Which pages each kind of place has: its places at the foot, the first lines of its menu, the addresses that it lacks.

Addresses in no row belong to every kind. A kind that is not in `NOT_HERE` has all of them except the pages of other
kinds.
"""

from collections.abc import Callable, Mapping
from typing import Any

from webapp.pages.shared.site import Link
from webapp.precinct.reports import carry_slip

# address, words, icon, drawn with the pen
PLACES: Mapping[str, tuple[tuple[str, str, str, bool], ...]] = {
    "place": (
        ("/now", "Now", "now", False),
        ("/steps", "Steps", "steps", False),
        ("/note", "Note", "note", True),
        ("/count", "Count", "count", False),
        ("/seals", "Seals", "seals", False),
    ),
    "board": (
        ("/now", "Now", "now", False),
        ("/steps", "Steps", "steps", False),
        ("/batches", "Batches", "count", False),
        ("/note", "Note", "note", True),
        ("/seals", "Seals", "seals", False),
    ),
    "test": (
        ("/now", "Now", "now", False),
        ("/steps", "Steps", "steps", False),
        ("/deck", "Deck", "note", True),
        ("/tapes", "Tapes", "count", False),
        ("/seals", "Seals", "seals", False),
    ),
}
NOT_HERE: Mapping[str, tuple[str, ...]] = {
    "place": (),
    "board": ("count", "where", "look", "coming-in", "ink", "boot"),
    "test": ("count", "balance", "where", "packet", "look", "carry", "coming-in", "ink", "boot"),
}  # first parts of addresses that this kind has no page for


def _of_a_place(room: Any) -> list[Link]:
    return [
        Link("/tape", "Tapes", small=", ".join(t.id for t in room.place.tabulators)),
        Link("/balance", "Balance", small="after the blind figures" if room.day.folded_away else ""),
        Link("/where", "Where every ballot went"),
        Link("/packet", "Hand-over: summary packet"),
        Link("/coming-in", "For the official who comes in"),
        *([Link("/ink", "Still to sign in ink")] if room.day.closed else []),
        *([Link("/boot", "At the car")] if not carry_slip.why_not(room.place, room.day) else []),
    ]


def _of_a_board(room: Any) -> list[Link]:
    return [
        Link("/feed", "Feed a batch", small=", ".join(t.id for t in room.place.tabulators)),
        Link("/batches/make", "Make batches"),
        Link("/trays", "Carriers and trays"),
        Link("/problems", "Ballots set aside, duplicates"),
        Link("/running", "Running count, without votes"),
        Link("/tape", "Tapes", small="ballots and votes, at the close"),
        Link("/balance", "Balance", small="at the close" if room.day.closed is None else ""),
        Link("/packet", "Hand-over: summary packet"),
    ]


def _of_a_test(room: Any) -> list[Link]:
    return [
        Link("/note/changed", "Something was changed", small="the test begins again"),
        Link("/note", "Note"),
    ]


MENUS: Mapping[str, Callable[[Any], list[Link]]] = {
    "place": _of_a_place,
    "board": _of_a_board,
    "test": _of_a_test,
}


def absent(kind: str, path: str) -> bool:
    """Whether a place of this kind has no page at this address."""
    return path.strip("/").partition("/")[0] in NOT_HERE[kind]
