"""Which pages each kind of place has: its places at the foot, the first lines of its menu, the addresses that are not there.

Addresses that stand in no row belong to every kind. A kind that is not in `NOT_HERE` has all of them but the pages of other kinds.
"""

from collections.abc import Callable, Mapping
from typing import Any

from webapp.pages.shared.site import Link

# address, words, icon, drawn with the pen
PLACES: Mapping[str, tuple[tuple[str, str, str, bool], ...]] = {
    "place": (
        ("/now", "Now", "now", False),
        ("/steps", "Steps", "steps", False),
        ("/note", "Note", "note", True),
        ("/count", "Count", "count", False),
        ("/seals", "Seals", "seals", False),
    ),
}
NOT_HERE: Mapping[str, tuple[str, ...]] = {"place": ()}  # first parts of addresses that this kind has no page for


def _of_a_place(room: Any) -> list[Link]:
    return [
        Link("/tape", "Tapes", small=", ".join(t.id for t in room.place.tabulators)),
        Link("/balance", "Balance", small="after the blind figures" if room.day.folded_away else ""),
        Link("/where", "Where every ballot went"),
        Link("/packet", "Hand-over: summary packet"),
    ]


MENUS: Mapping[str, Callable[[Any], list[Link]]] = {"place": _of_a_place}


def absent(kind: str, path: str) -> bool:
    """Whether a place of this kind has no page at this address."""
    return path.strip("/").partition("/")[0] in NOT_HERE[kind]
