"""Browser windows as tablets: each has its own id, and a holder for as long as somebody uses it.

The cookie carries a random handle of 128 bits; only its SHA-256 is kept. A holder lapses after 30 idle minutes. The time of the last
touch is kept in memory, and on disk only as a quarter hour: a tap about a ballot must not be dated by the tablet it was made on.
"""

import secrets
import sqlite3
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from hashlib import sha256

from webapp.gate.database import GateDatabase
from webapp.gate.refusals import GateRefused

IDLE = 30 * 60  # seconds
QUARTER = 15 * 60 * 1000  # ms


@dataclass(frozen=True, slots=True)
class Session:
    """One window: `tablet` is its id, `holder` a person's id or None, `holder_since` ms UTC."""

    tablet: str
    holder: str | None
    holder_since: int | None


@dataclass(frozen=True, slots=True)
class Tablet:
    id: str
    opened: int  # ms UTC
    holder: str | None
    revoked: bool


class Sessions:
    def __init__(self, drawer: GateDatabase, monotonic: Callable[[], float] = time.monotonic):
        self._drawer = drawer
        self._monotonic = monotonic
        self._guard = threading.Lock()
        self._seen: dict[str, tuple[int, float]] = {}  # tablet -> ms UTC and monotonic seconds of the last touch

    def open(self, now: int, letter: str = "L") -> str:
        """A new window: the handle for its cookie. Its tablet is named by `letter` (L: on the laptop itself) and a number of its own."""
        with self._drawer.change() as db:
            (count,) = db.execute("SELECT count(*) FROM sessions WHERE tablet GLOB ?", (f"{letter}[0-9]*",)).fetchone()
            return self.opened(db, f"{letter}{count + 1}", now)

    @staticmethod
    def opened(db: sqlite3.Connection, tablet: str, now: int) -> str:
        """Within a change that is under way: the handle of a new window of this name."""
        handle = secrets.token_urlsafe(16)
        db.execute(
            "INSERT INTO sessions (tablet, handle, opened, seen) VALUES (?, ?, ?, ?)",
            (tablet, _hashed(handle), now, now - now % QUARTER),
        )
        return handle

    def get(self, handle: str, now: int) -> Session | None:
        """The window of this handle, its holder lapsed where nobody touched it for 30 minutes; None when it is unknown or revoked."""
        row = self._drawer.row(
            "SELECT tablet, holder, holder_since, seen FROM sessions WHERE handle = ?", _hashed(handle)
        )
        if row is None:
            return None
        tablet, holder, since, seen = row
        if holder and self._idle(tablet, seen, now):
            self.leave(tablet)
            holder = since = None
        return Session(tablet, holder, since)

    def take(self, tablet: str, person: str, now: int) -> None:
        """This person holds this tablet from now on. The page has checked the PIN."""
        with self._drawer.change() as db:
            changed = db.execute(
                "UPDATE sessions SET holder = ?, holder_since = ?, seen = ? WHERE tablet = ? AND handle IS NOT NULL",
                (person, now, now - now % QUARTER, tablet),
            ).rowcount
        if not changed:
            raise GateRefused(f"Tablet {tablet} is not admitted here: open the link on the laptop's screen again.")
        self._mark(tablet, now)

    def touch(self, tablet: str, now: int) -> None:
        """Somebody used this tablet: its holder stays. The disk is written once a quarter hour at most."""
        self._mark(tablet, now)
        quarter = now - now % QUARTER
        if self._drawer.row("SELECT 1 FROM sessions WHERE tablet = ? AND seen <> ?", tablet, quarter):
            with self._drawer.change() as db:
                db.execute("UPDATE sessions SET seen = ? WHERE tablet = ?", (quarter, tablet))

    def leave(self, tablet: str) -> None:
        """Nobody holds this tablet."""
        with self._drawer.change() as db:
            db.execute("UPDATE sessions SET holder = NULL, holder_since = NULL WHERE tablet = ?", (tablet,))

    def put_down(self, person: str) -> None:
        """This person holds no tablet any more: after relief, or when the PIN was lost."""
        with self._drawer.change() as db:
            db.execute("UPDATE sessions SET holder = NULL, holder_since = NULL WHERE holder = ?", (person,))

    def revoke(self, tablet: str) -> None:
        """The handle of this tablet opens nothing any more; its id is not given again."""
        with self._drawer.change() as db:
            db.execute(
                "UPDATE sessions SET handle = NULL, holder = NULL, holder_since = NULL WHERE tablet = ?", (tablet,)
            )

    def tablets(self) -> tuple[Tablet, ...]:
        """Every tablet there has been, in the order in which they came."""
        rows = self._drawer.rows(
            "SELECT tablet, opened, holder, handle IS NULL FROM sessions ORDER BY opened, length(tablet), tablet"
        )
        return tuple(Tablet(tablet, opened, holder, bool(revoked)) for tablet, opened, holder, revoked in rows)

    def _mark(self, tablet: str, now: int) -> None:
        with self._guard:
            self._seen[tablet] = (now, self._monotonic())

    def _idle(self, tablet: str, quarter: int, now: int) -> bool:
        """By the clock or by the monotonic seconds, so that a clock set back keeps nobody; after a restart from the quarter hour on disk."""
        with self._guard:
            clock, seconds = self._seen.setdefault(tablet, (quarter, self._monotonic()))
            return now - clock >= IDLE * 1000 or self._monotonic() - seconds >= IDLE


def _hashed(handle: str) -> bytes:
    return sha256(handle.encode()).digest()
