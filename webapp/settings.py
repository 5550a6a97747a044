"""The settings with which one server is started, and the one clock it reads.

Time is read once per request, from this clock, and handed down. A scripted clock is for practice: the demo starts part-way through a day
and the rehearsal plays a whole one; `record-opened` says so, and a live record refuses it.
"""

import threading
import time
from dataclasses import dataclass, field
from pathlib import Path

ROLES = ("place", "office")
MODES = ("live", "practice")
CLOCKS = ("real", "scripted")


class Unfit(ValueError):
    """Settings that do not go together: one sentence saying what to change."""


@dataclass(frozen=True, slots=True)
class Settings:
    """`folder` holds the files of one place or of the office; `port` 0 picks a free one; `start` (ms UTC) sets a scripted clock going."""

    role: str  # place | office
    folder: Path
    mode: str = "practice"  # live | practice
    port: int = 0
    host: str = "127.0.0.1"
    clock: str = "real"  # real | scripted
    start: int = 0  # ms UTC, for a scripted clock only
    secret: bytes | None = field(default=None, repr=False)  # signs the cookies; None: made afresh at each start

    def __post_init__(self) -> None:
        for name, value, allowed in (
            ("role", self.role, ROLES),
            ("mode", self.mode, MODES),
            ("clock", self.clock, CLOCKS),
        ):
            if value not in allowed:
                raise Unfit(f"{name} is {value!r}: choose {' or '.join(allowed)}.")
        if self.mode == "live" and self.clock == "scripted":
            raise Unfit("A live record runs on the laptop's own clock: a scripted clock is for practice only.")
        if not 0 <= self.port <= 65535:
            raise Unfit(f"Port {self.port} does not exist: give a number from 1 to 65535, or 0 for any free one.")

    @property
    def cookie(self) -> str:
        """The session cookie's name: by role and port, so that place and office on one laptop keep theirs apart."""
        return f"tapeseal-{self.role}-{self.port}"


class Clock:
    """A clock in ms UTC: the laptop's own, or a scripted one that stops until it is set."""

    def __init__(self, kind: str = "real", start: int = 0):
        if kind not in CLOCKS:
            raise Unfit(f"clock is {kind!r}: choose {' or '.join(CLOCKS)}.")
        self.scripted = kind == "scripted"
        self._ms = start
        self._going: int | None = None  # monotonic ns since when a scripted clock runs on by itself
        self._lock = threading.Lock()

    @classmethod
    def of(cls, settings: Settings) -> "Clock":
        """Returns the clock that these settings ask for."""
        return cls(settings.clock, settings.start)

    @property
    def runs(self) -> bool:
        """Whether it moves by itself; a scripted clock does not until `go`."""
        return not self.scripted or self._going is not None

    def now(self) -> int:
        """Returns the time in ms UTC; of a scripted clock, the time it shows."""
        if not self.scripted:
            return time.time_ns() // 1_000_000
        with self._lock:
            return self._ms if self._going is None else self._ms + (time.monotonic_ns() - self._going) // 1_000_000

    def go(self) -> None:
        """Lets a scripted clock run on from its time: for practice by hand, after the script has played its part."""
        with self._lock:
            self._going = time.monotonic_ns()

    def set(self, ms: int) -> None:
        """Moves a scripted clock to this moment (ms UTC); it may go back, as a laptop's clock may. Raises Unfit for the laptop's own clock."""
        if not self.scripted:
            raise Unfit("This server runs on the laptop's own clock, which only the laptop can set.")
        with self._lock:
            self._ms = ms
            self._going = None if self._going is None else time.monotonic_ns()
