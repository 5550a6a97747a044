"""Watches the laptop's clock while the server runs: when somebody or something sets it, the record says so, since every time in it comes from there.

It is compared with seconds that nobody can set. A laptop that slept has not moved its clock, so these must count its
sleep as well.
"""

import time
from collections.abc import Callable
from typing import Any, Protocol

MOVED = 20_000  # ms between two looks that are no drift any more


class Says(Protocol):
    def laptop_says(self, kind: str, body: dict[str, Any]) -> object: ...


def steady() -> int:
    """Milliseconds since some moment, sleep included, that no setting of the clock changes."""
    for name in ("CLOCK_BOOTTIME", "CLOCK_MONOTONIC"):  # Linux; others count sleep in the second
        if hasattr(time, name):
            return time.clock_gettime_ns(getattr(time, name)) // 1_000_000
    return time.monotonic_ns() // 1_000_000


def wall() -> int:
    return time.time_ns() // 1_000_000


class ClockWatch:
    """`tick` is a round: it keeps an entry `clock-moved {by}` (ms, back is below zero) once for each time the clock was set."""

    def __init__(self, room: Says, wall: Callable[[], int] = wall, steady: Callable[[], int] = steady):
        self._room, self._wall, self._steady = room, wall, steady
        self._apart = wall() - steady()

    def tick(self) -> None:
        """Records `clock-moved` with the shift in ms when the clock was set by `MOVED` or more since the last look."""
        apart = self._wall() - self._steady()
        by = apart - self._apart
        if abs(by) >= MOVED:
            self._apart = apart
            self._room.laptop_says("clock-moved", {"by": by})
