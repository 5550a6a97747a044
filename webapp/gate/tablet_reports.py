"""What each tablet reported when it was last in reach: how many entries it holds, and how far its clock is from the laptop's.

No time is kept: whether a report came after the polls closed follows from the number of the record's newest entry at
that moment, and how long a tablet has been silent is known in memory only.
"""

import time
from collections.abc import Callable
from dataclasses import dataclass

from webapp.gate.database import GateDatabase

STEADY = 1_000  # ms: a clock that moved by less is not written again


@dataclass(frozen=True, slots=True)
class TabletReport:
    """held: entries on the tablet that are not in the record yet. heard: the record's length when it said so. offset: tablet's clock less
    the laptop's in ms; None where the laptop's own clock is a scripted one."""

    tablet: str
    held: int
    heard: int
    offset: int | None


class Contacts:
    """Keeps the last report of each tablet in `gate.db`; `monotonic` gives seconds since a tablet was heard."""

    def __init__(self, drawer: GateDatabase, monotonic: Callable[[], float] = time.monotonic):
        self._drawer, self._monotonic = drawer, monotonic
        self._spoke: dict[str, float] = {}

    def of(self, tablet: str) -> TabletReport | None:
        """The last report of this tablet; None when it never reported."""
        row = self._drawer.row("SELECT tablet, held, heard, offset FROM contacts WHERE tablet = ?", tablet)
        return TabletReport(*row) if row else None

    def all(self) -> dict[str, TabletReport]:
        """The last report of each tablet that ever reported."""
        return {
            row[0]: TabletReport(*row) for row in self._drawer.rows("SELECT tablet, held, heard, offset FROM contacts")
        }

    def say(self, tablet: str, held: int, heard: int, offset: int | None, since: int) -> None:
        """Stores that this tablet holds so many entries, if that is new or its first report since entry `since`."""
        self._spoke[tablet] = self._monotonic()
        old = self.of(tablet)
        if old and old.held == held and old.heard >= min(since, heard) and _steady(old.offset, offset):
            return
        with self._drawer.change() as db:
            db.execute(
                "INSERT INTO contacts (tablet, held, heard, offset) VALUES (?, ?, ?, ?) "
                "ON CONFLICT (tablet) DO UPDATE SET held = excluded.held, heard = excluded.heard, offset = excluded.offset",
                (tablet, held, heard, offset),
            )

    def silent(self, tablet: str) -> float | None:
        """Seconds since this tablet was last in contact; None when it was not since the program started."""
        spoke = self._spoke.get(tablet)
        return None if spoke is None else self._monotonic() - spoke


def _steady(old: int | None, new: int | None) -> bool:
    return old == new if old is None or new is None else abs(old - new) < STEADY
