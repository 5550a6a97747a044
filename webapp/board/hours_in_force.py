"""The hours before which a board may not open, unfold, feed or read a tape, and the sentence for people who come too early.

The hours come from the place file; an order of a court or the office, signed by two, moves them. Practice may go
ahead of time. Times are local, as the clock on the wall of the room shows them.
"""

from dataclasses import dataclass
from datetime import datetime

BARRED = {
    "tray-open": "open_from",
    "unfold": "unfold_from",
    "sleeves-opened": "unfold_from",
    "counting-begins": "count_from",
    "batch-fed": "count_from",
    **dict.fromkeys(("tapes", "tape-prints", "tape-typed", "tape-signed", "tape-precinct"), "tapes_from"),
}
"""Which hour each step waits for."""
WHAT = {
    "open_from": "Envelopes are opened",
    "unfold_from": "Sleeves are opened",
    "count_from": "Counting opens",
    "tapes_from": "Tapes are printed",
}
ORDER = tuple(WHAT)


@dataclass(frozen=True)
class HoursInForce:
    """The four hours of one board, local time; None where the law sets none. `practice` bars nothing."""

    open_from: datetime | None = None
    unfold_from: datetime | None = None
    count_from: datetime | None = None
    tapes_from: datetime | None = None
    practice: bool = False

    def moved(self, hour: str, to: datetime | None) -> "HoursInForce":
        """The hours after an order that moves this one; the other hours stay."""
        hours = {name: getattr(self, name) for name in ORDER} | {hour: to}
        return HoursInForce(**hours, practice=self.practice)

    def barred(self, kind: str, at: datetime) -> str:
        """Why this step cannot be taken at this time yet; "" if it can."""
        hour = BARRED.get(kind, "")
        opens = getattr(self, hour, None)
        if opens is None or self.practice or at >= opens:
            return ""
        return f"{WHAT[hour]} {on(opens)}; it is {on(at)} now. Only an order of a court or the office, signed by two of different parties, moves the hour."


def on(at: datetime) -> str:
    """A time as people say it: Tuesday 3 November, 07:00."""
    return f"{at:%A} {at.day} {at:%B}, {at:%H:%M}"
