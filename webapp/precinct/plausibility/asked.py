"""What a rule is asked, and what it answers: a body that was read, the day before it, and a sentence with both figures and what to do.

A stop is gentle: the figure is read again; if it stays so, it is kept as a signed exception, and then no rule is asked.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from webapp.precinct.place.place import Place
from webapp.precinct.place.step import DayView, EntryView, all_of, last

NOT_SO = "say below what is wrong"


@dataclass(frozen=True, slots=True)
class Asked:
    """One body that is about to be recorded. now: when it was filled in, ms UTC.

    beside: what was typed for other steps of the same page, {step id: {input name: text}}.
    """

    step: str
    at: str
    body: Mapping[str, Any]
    place: Place
    day: DayView
    now: int
    beside: Mapping[str, Mapping[str, str]] = field(default_factory=dict)

    @property
    def blind(self) -> bool:
        """Whether counters and piles are out of sight now: then no rule may tell one."""
        return bool(getattr(self.day, "folded_away", False))

    def before(self, kind: str) -> list[EntryView]:
        """Entries of a kind in force that happened before this form was filled in, in order."""
        return [kept for kept in all_of(self.day, kind) if kept.time <= self.now]

    def number_beside(self, step: str, name: str) -> int | None:
        """A figure of another step: as typed on the same page, else as it was kept last here."""
        text = self.beside.get(step, {}).get(name, "").replace(",", "").strip()
        if text.isascii() and text.isdigit():
            return int(text)
        kept = last(self.day, step, self.at)
        found = kept.body.get(name) if kept else None
        return found if isinstance(found, int) else None


@dataclass(frozen=True, slots=True)
class Stop:
    """The input that is looked at again, by its name without the page's prefix, and why."""

    name: str
    says: str


Stops = Iterator[Stop]


def apart(found: int, wanted: int) -> str:
    """ "3 more" or "3 fewer"."""
    return f"{abs(found - wanted):,} {'more' if found > wanted else 'fewer'}"


def last_count(value: Any) -> int | None:
    """A hand count, or the last of several."""
    if isinstance(value, list | tuple):
        value = value[-1] if value else None
    return value if isinstance(value, int) else None
