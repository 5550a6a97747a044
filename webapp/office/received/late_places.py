"""Places that are late: when each is due, what of it is still out, and who was called. Sorted by how long it is past due."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import time
from typing import Any

from webapp.precinct.place.place import Place

HOUR = 3_600_000
AFTER_CLOSING = 90 * 60_000  # ms from the close until a place is due, where the office file does not say
PACKET, GOODS, MEMORY = "packet", "goods", "memory"
WHATS = ((PACKET, "The packet"), (GOODS, "The goods"), (MEMORY, "The memory devices"), ("answer", "An answer"))
WHAT_WORDS = {PACKET: "packet", GOODS: "goods", MEMORY: "memory devices", "answer": "an answer"}
BYS = (("phone", "By telephone"), ("radio", "By radio"), ("car", "By a driver who went there"))
NOBODY = "nobody"


@dataclass(frozen=True, slots=True)
class LateCall:
    """One `late-call`: `who` was reached, by role, or "nobody"; `promised`: when they said it comes, ms UTC; `answer` as written."""

    number: int
    time: int
    what: str
    who: str
    by: str
    promised: int | None
    answer: str = ""

    @property
    def reached(self) -> bool:
        return self.who != NOBODY


@dataclass(frozen=True, slots=True)
class LatePlace:
    """One place of which something is out. `due` in ms UTC; None: no place file was issued, so that nobody knows when."""

    place: str
    name: str
    due: int | None
    out: tuple[str, ...]
    phones: tuple[str, ...] = ()
    calls: tuple[LateCall, ...] = ()

    def minutes(self, now: int) -> int | None:
        """Whole minutes past due; below 0 while it is not due yet."""
        return None if self.due is None else (now - self.due) // 60_000

    def late(self, now: int) -> bool:
        """Whether the place is past due at `now` (ms UTC); no where nothing says when it is due."""
        return self.due is not None and now >= self.due

    @property
    def out_says(self) -> str:
        """ "packet, goods, memory devices"."""
        return ", ".join(WHAT_WORDS[what] for what in self.out)

    @property
    def last(self) -> LateCall | None:
        return self.calls[-1] if self.calls else None


def due(place: Place, said: time | None = None) -> int:
    """When the goods of a place are due, ms UTC: as the office file says, an hour before its opening being the night after; else 90 minutes after it closes."""
    if said is None:
        return place.at(place.closes) + AFTER_CLOSING
    return place.at(said) + (24 * HOUR if said < place.opens else 0)


def out_of(figures: bool, desk: Any, tabulators: int) -> tuple[str, ...]:
    """What of a place is still out. `figures`: whether a packet or its paper counts; `desk`: what was kept at the desk about it."""
    found = [] if figures else [PACKET]
    found += [] if desk.last("containers-in") or desk.last("goods-in") else [GOODS]
    found += [MEMORY] if tabulators and not (desk.last("memory-in") or desk.last("goods-in")) else []
    return tuple(found)


def calls(entries: Iterable[Any]) -> tuple[LateCall, ...]:
    """The `late-call` entries of one place, in order."""
    return tuple(
        LateCall(
            k.number, k.time, k.body["what"], k.body["who"], k.body["by"], k.body.get("promised"), k.word("answer")
        )
        for k in entries
    )


def ordered(places: Iterable[LatePlace], now: int) -> list[LatePlace]:
    """The places longest past due first; of equal ones those without their packet, then in the office's order. Those with no due time are at the end."""
    return sorted(places, key=lambda one: (one.due is None, -(one.minutes(now) or 0), PACKET not in one.out))


def body(
    place: str, form: Mapping[str, str], may: Sequence[str], roles: Sequence[str]
) -> tuple[dict[str, Any], dict[str, str]]:
    """(the body of `late-call`, what to correct by input name); the page reads the time that was promised."""
    mistakes = {}
    if form.get("what") not in may:
        mistakes["what"] = "Choose what you asked for."
    if form.get("who") not in (*roles, NOBODY):
        mistakes["who"] = "Choose who was reached, or that nobody was."
    if form.get("by") not in dict(BYS):
        mistakes["by"] = "Choose how you asked."
    found = {"place": place, "what": form.get("what"), "who": form.get("who"), "by": form.get("by"), "promised": None}
    return found, mistakes
