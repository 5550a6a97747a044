"""Browser windows as tablets: each has its own id, and a holder for as long as somebody uses it.

The cookie carries a random handle of 128 bits; only its SHA-256 is kept. A holder lapses after 30 idle minutes. The
time of the last touch is kept in memory, and on disk only as a quarter hour: a tap about a ballot must not be dated
by the tablet it was made on.

A visit is a window in memory; it becomes a row with its first form, so that looking fills no file. A person who signs
in on a tablet gets a new handle (OWASP ASVS 5.0.0, 7.2.4). The handle before opens the tablet without its holder
until the new one was used once: an answer that was lost on its way locks nobody out, and a handle that somebody else
planted signs for nobody.
"""

import secrets
import sqlite3
import threading
import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from hashlib import sha256

from webapp.gate.database import GateDatabase
from webapp.gate.refusals import GateDiskRefused, GateRefused

IDLE = 30 * 60  # seconds
QUARTER = 15 * 60 * 1000  # ms
VISITS = 1000  # windows that have sent nothing yet; the oldest goes


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
    """Opens, finds and ends windows in `gate.db`; `monotonic` gives seconds, by which a holder lapses."""

    def __init__(self, drawer: GateDatabase, monotonic: Callable[[], float] = time.monotonic):
        self._drawer = drawer
        self._monotonic = monotonic
        self._guard = threading.Lock()
        self._seen: dict[str, tuple[int, float]] = {}  # tablet -> ms UTC and monotonic seconds of the last touch
        self._visits: dict[bytes, tuple[str, int]] = {}  # hashed handle -> tablet and ms UTC
        self._visited = 0
        self._newest_used: set[str] = (
            set()
        )  # tablets whose newest handle came back: the one before opens nothing any more

    def open(self, now: int, letter: str = "L") -> str:
        """A new window: the handle for its cookie. Its tablet is named by `letter` (L: on the laptop itself) and a number of its own."""
        with self._guard, self._drawer.change() as db:
            return self.opened(db, f"{letter}{self._next(letter)}", now)

    def visit(self, now: int, letter: str = "L") -> str:
        """The handle of a new window that has sent nothing yet and is in no file; `settle` puts it there."""
        handle = secrets.token_urlsafe(16)
        with self._guard:
            self._visits[_hashed(handle)] = f"{letter}{self._next(letter)}", now
            while len(self._visits) > VISITS:
                self._visits.pop(next(iter(self._visits)))
        return handle

    def settle(self, handle: str) -> None:
        """Stores a window that has sent a form as a row; the handle that it had before is forgotten."""
        hashed = _hashed(handle)
        with self._guard:
            tablet, now = self._visits.get(hashed, ("", 0))
            if tablet:
                with self._drawer.change() as db:
                    self._filed(db, tablet, hashed, now)
                self._visits.pop(hashed)
        if self._drawer.row(
            "SELECT 1 FROM former_handles f JOIN sessions s ON s.tablet = f.tablet WHERE s.handle = ?", hashed
        ):
            with self._drawer.change() as db:
                db.execute(
                    "DELETE FROM former_handles WHERE tablet IN (SELECT tablet FROM sessions WHERE handle = ?)",
                    (hashed,),
                )

    def _next(self, letter: str) -> int:
        """The number of the next window; none is given twice, also not while the first has sent nothing."""
        last = max(
            (
                int(tablet[len(letter) :])
                for (tablet,) in self._drawer.rows("SELECT tablet FROM sessions WHERE tablet GLOB ?", f"{letter}[0-9]*")
                if tablet[len(letter) :].isdigit()
            ),
            default=0,
        )
        self._visited = max(self._visited, last) + 1
        return self._visited

    @staticmethod
    def opened(db: sqlite3.Connection, tablet: str, now: int) -> str:
        """Within a change that is under way: the handle of a new window of this name."""
        handle = secrets.token_urlsafe(16)
        Sessions._filed(db, tablet, _hashed(handle), now)
        return handle

    @staticmethod
    def _filed(db: sqlite3.Connection, tablet: str, hashed: bytes, now: int) -> None:
        db.execute(
            "INSERT INTO sessions (tablet, handle, opened, seen) VALUES (?, ?, ?, ?)",
            (tablet, hashed, now, now - now % QUARTER),
        )

    def get(self, handle: str, now: int) -> Session | None:
        """The window of this handle, its holder lapsed where nobody touched it for 30 minutes; None when it is unknown or revoked."""
        row = self._drawer.row(
            "SELECT tablet, holder, holder_since, seen FROM sessions WHERE handle = ?", _hashed(handle)
        )
        if row is None:
            return self._without_holder(_hashed(handle))
        tablet, holder, since, seen = row
        self._newest_used.add(tablet)
        if holder and self._idle(tablet, seen, now):
            with suppress(GateDiskRefused):  # a disk that takes nothing keeps nobody from looking
                self.leave(tablet)
            holder = since = None
        return Session(tablet, holder, since)

    def _without_holder(self, hashed: bytes) -> Session | None:
        """A window that has sent nothing yet, or a tablet by the handle it had before somebody took it."""
        with self._guard:
            visit = self._visits.get(hashed)
        if visit:
            return Session(visit[0], None, None)
        row = self._drawer.row(
            "SELECT f.tablet FROM former_handles f JOIN sessions s ON s.tablet = f.tablet WHERE f.handle = ? AND s.handle IS NOT NULL",
            hashed,
        )
        return Session(row[0], None, None) if row and row[0] not in self._newest_used else None

    def take(self, tablet: str, person: str, now: int) -> str:
        """Makes this person the holder of this tablet; returns the new handle for its cookie. The page has checked the PIN. now: ms UTC.

        Raises GateRefused where the tablet is not admitted here.
        """
        handle = secrets.token_urlsafe(16)
        with self._drawer.change() as db:
            before = db.execute(
                "SELECT handle FROM sessions WHERE tablet = ? AND handle IS NOT NULL", (tablet,)
            ).fetchone()
            if before is None:
                raise GateRefused(f"Tablet {tablet} is not admitted here: open the link on the laptop's screen again.")
            db.execute(
                "UPDATE sessions SET handle = ?, holder = ?, holder_since = ?, seen = ? WHERE tablet = ?",
                (_hashed(handle), person, now, now - now % QUARTER, tablet),
            )
            db.execute("INSERT OR REPLACE INTO former_handles VALUES (?, ?)", (tablet, before[0]))
        self._newest_used.discard(tablet)
        self._mark(tablet, now)
        return handle

    def touch(self, tablet: str, now: int) -> None:
        """Notes that somebody used this tablet: its holder stays. The disk is written once a quarter hour at most."""
        self._mark(tablet, now)
        quarter = now - now % QUARTER
        if self._drawer.row("SELECT 1 FROM sessions WHERE tablet = ? AND seen <> ?", tablet, quarter):
            with self._drawer.change() as db:
                db.execute("UPDATE sessions SET seen = ? WHERE tablet = ?", (quarter, tablet))

    def leave(self, tablet: str) -> None:
        """Ends the hold on this tablet: nobody holds it now."""
        with self._drawer.change() as db:
            db.execute("UPDATE sessions SET holder = NULL, holder_since = NULL WHERE tablet = ?", (tablet,))

    def put_down(self, person: str) -> None:
        """Ends this person's hold on every tablet: after relief, or when the PIN was lost."""
        with self._drawer.change() as db:
            db.execute("UPDATE sessions SET holder = NULL, holder_since = NULL WHERE holder = ?", (person,))

    def revoke(self, tablet: str) -> None:
        """Ends the handle of this tablet; its id is not given again."""
        with self._drawer.change() as db:
            db.execute(
                "UPDATE sessions SET handle = NULL, holder = NULL, holder_since = NULL WHERE tablet = ?", (tablet,)
            )
            db.execute("DELETE FROM former_handles WHERE tablet = ?", (tablet,))

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
