"""First signatures of a pair, waiting for the next one: the very bytes that were shown, and who has signed them.

The second person signs what the first one signed or nothing: one changed byte, or 15 minutes, voids it. Where a ballot kind is among the
claims, no time finer than its quarter hour is stored; the 15 minutes are then counted by the monotonic clock in memory, and from the
first look after a restart, yet never past 30 minutes from the quarter hour's start.
"""

import secrets
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from hashlib import sha256

from webapp.gate.database import GateDatabase
from webapp.gate.refusals import GateRefused

LASTS = 15 * 60  # seconds
QUARTER = 15 * 60 * 1000  # ms

GONE = "Nothing waits for a signature here any more: it was signed, taken back, or it lapsed after 15 minutes. Open the step to see."


@dataclass(frozen=True, slots=True)
class Pending:
    """`claims` are the bytes that were signed, `digest` what the pages show of them; `signers` = ((person, ms UTC), ...) in order of signing."""

    id: str
    claims: bytes
    digest: bytes
    weight: str
    coarse: bool
    signers: tuple[tuple[str, int], ...]

    @property
    def people(self) -> tuple[str, ...]:
        return tuple(person for person, _ in self.signers)


class PendingSignatures:
    """Keeps claims that lack a signature in `gate.db`; `monotonic` gives seconds, by which they lapse."""

    def __init__(self, drawer: GateDatabase, monotonic: Callable[[], float] = time.monotonic):
        self._drawer = drawer
        self._monotonic = monotonic
        self._guard = threading.Lock()
        self._began: dict[str, float] = {}

    def keep(self, claims: bytes, digest: bytes, weight: str, person: str, now: int, coarse: bool) -> str:
        """Hold these claims with their first signature. `digest` (32 bytes) is what the next signer's screen must show. Returns the id to sign on with."""
        name, moment = secrets.token_hex(16), _rounded(now, coarse)
        with self._drawer.change() as db:
            db.execute(
                "INSERT INTO pending VALUES (?, ?, ?, ?, ?, ?, ?)",
                (name, claims, digest, sha256(claims).digest(), weight, int(coarse), moment),
            )
            db.execute("INSERT INTO pending_signers VALUES (?, 1, ?, ?)", (name, person, moment))
        with self._guard:
            self._began[name] = self._monotonic()
        return name

    def get(self, name: str, now: int) -> Pending:
        """What waits under this id. Raises GateRefused where nothing does."""
        row = self._drawer.row("SELECT claims, digest, sha256, weight, coarse, begun FROM pending WHERE id = ?", name)
        if row is None:
            raise GateRefused(GONE)
        claims, digest, whole, weight, coarse, begun = row
        if self._lapsed(name, bool(coarse), begun, now) or sha256(claims).digest() != whole:
            self._end(name, "lapsed")
            raise GateRefused(GONE)
        signers = self._drawer.rows("SELECT person, signed FROM pending_signers WHERE pending = ? ORDER BY place", name)
        return Pending(name, claims, digest, weight, bool(coarse), tuple(signers))

    def waiting(self, now: int) -> tuple[Pending, ...]:
        """Everything that waits, those that lapsed cleared away."""
        found = []
        for (name,) in self._drawer.rows("SELECT id FROM pending ORDER BY begun, id"):
            try:
                found.append(self.get(name, now))
            except GateRefused:
                continue
        return tuple(found)

    def add(self, name: str, person: str, shown: bytes, now: int) -> Pending:
        """Adds a signature under the figures whose digest (`shown`) was on this person's screen. now: ms UTC.

        Raises GateRefused for a person who has signed already, and for other figures, which void what waits.
        """
        waits = self.get(name, now)
        if shown != waits.digest:
            self.withdraw(name)
            raise GateRefused(
                "The figures on this screen are not those that were signed first: neither signature counts. Open the step; both sign again."
            )
        if person in waits.people:
            raise GateRefused("This person has signed already: the next signature is another person's.")
        with self._drawer.change() as db:
            db.execute(
                "INSERT INTO pending_signers SELECT ?, max(place) + 1, ?, ? FROM pending_signers WHERE pending = ?",
                (name, person, _rounded(now, waits.coarse), name),
            )
        return self.get(name, now)

    def withdraw(self, name: str) -> None:
        """What waits is taken away, its signatures with it; the page that was filled in stays, unsigned."""
        self._end(name, "taken-back")

    def done(self, name: str) -> None:
        """Removes what waited under this id once its entries are recorded, and the page's draft with it."""
        self._end(name, "")

    def _end(self, name: str, draft: str) -> None:
        """Nothing waits under this id any more; its page is left in this state, or not at all."""
        with self._drawer.change() as db:
            db.execute("DELETE FROM pending WHERE id = ?", (name,))
            if draft:
                db.execute("UPDATE drafts SET state = ? WHERE pending = ? AND state = 'waits'", (draft, name))
            else:
                db.execute("DELETE FROM drafts WHERE pending = ?", (name,))
        with self._guard:
            self._began.pop(name, None)

    def _lapsed(self, name: str, coarse: bool, begun: int, now: int) -> bool:
        with self._guard:
            waited = self._monotonic() - self._began.setdefault(name, self._monotonic())
        return waited >= LASTS or now - begun >= LASTS * 1000 * (2 if coarse else 1)


def _rounded(now: int, coarse: bool) -> int:
    return now - now % QUARTER if coarse else now
