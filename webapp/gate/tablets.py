"""Tablets that reach the laptop over the network: invited with a code, admitted by somebody at the laptop, removed.

A code has eight digits, holds for two minutes, for one tablet, for five tries from each address and 100 in all; it is
kept in memory only, as its digest. Guessing uses up the tries of the guesser's own address and keeps nobody else out;
a hundred tries find one code in a million. A code opens a place in the line: a tablet sees nothing of the record
before it is admitted at the laptop with a PIN.
"""

import hmac
import secrets
import threading
import time
from collections import Counter
from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import dataclass
from hashlib import sha256
from itertools import count

from webapp.gate.database import GateDatabase
from webapp.gate.refusals import GateRefused
from webapp.gate.sessions import Sessions

CODE_DIGITS = 8
CODE_SECONDS = 120
CODE_TRIES = 5  # from one address
TRIES_IN_ALL = 100
ADDRESSES = 1000  # whose wrong codes are counted; of more, the sum only
LEVELS = ("full", "online")
LETTERS = "ABCDEFGHJKMNPQRSTUVWXYZ"  # L is the laptop itself; I and O look like figures


@dataclass(frozen=True, slots=True)
class Paired:
    """One tablet that came with a code. `level`: full (worker and storage hold) or online; `asked`: ms UTC."""

    id: str
    level: str
    admitted: bool
    revoked: bool
    asked: int
    holder: str | None


class Tablets:
    """Invites, admits and removes tablets in `gate.db`; `monotonic` gives seconds, by which a code lapses."""

    def __init__(self, drawer: GateDatabase, sessions: Sessions, monotonic: Callable[[], float] = time.monotonic):
        self._drawer, self._sessions, self._monotonic = drawer, sessions, monotonic
        self._guard = threading.Lock()
        self._digest, self._until = b"", 0.0
        self._tries: Counter[str] = Counter()  # wrong codes since this code was shown, by address
        self._wrong: Counter[str] = Counter()  # since the start

    def invite(self) -> str:
        """Returns a new code for the laptop's screen; the one before no longer works."""
        code = f"{secrets.randbelow(10**CODE_DIGITS):0{CODE_DIGITS}d}"
        with self._guard:
            self._digest, self._until = _digest(code), self._monotonic() + CODE_SECONDS
            self._tries.clear()
        return code

    def seconds_left(self) -> int:
        """How long the newest code still opens; 0 when none does."""
        with self._guard:
            return max(0, round(self._until - self._monotonic())) if self._digest else 0

    def wrong_codes(self) -> dict[str, int]:
        """How many wrong codes came since the start, by the address they came from, the most first; "" for addresses beyond the first thousand."""
        with self._guard:
            return dict(self._wrong.most_common())

    def ask(self, code: str, level: str, now: int, taken: Collection[str] = (), asker: str = "") -> tuple[str, str]:
        """A tablet comes with a code: its letter and the handle for its cookie. It waits until it is admitted. Raises GateRefused.

        `taken`: letters that the record knows, perhaps from another laptop; none is given twice. `asker`: the address it comes from.
        """
        self._use("".join(code.split()), asker)
        with self._drawer.change() as db:
            given = {*taken, *(tablet for (tablet,) in db.execute("SELECT tablet FROM tablets"))}
            letter = next(letter for letter in _letters() if letter not in given)
            db.execute(
                "INSERT INTO tablets (tablet, level) VALUES (?, ?)", (letter, level if level in LEVELS else "online")
            )
            handle = self._sessions.opened(db, letter, now)
        return letter, handle

    def _use(self, code: str, asker: str) -> None:
        """The code is used up, or a try of it. One sentence for every way of being wrong: a guesser learns nothing else."""
        with self._guard:
            open_ = bool(self._digest) and self._monotonic() < self._until and self._tries[asker] < CODE_TRIES
            if open_ and hmac.compare_digest(self._digest, _digest(code)):
                self._digest = b""
                return
            self._wrong[asker if asker in self._wrong or len(self._wrong) < ADDRESSES else ""] += 1
            self._tries[asker] += open_
            if self._tries.total() >= TRIES_IN_ALL:
                self._digest = b""
        raise GateRefused(
            "This is not the code that the laptop shows now. A code has eight digits, holds two minutes, for one tablet, with five tries on each: "
            "press “Pair a tablet” at the laptop again."
        )

    def admit(self, tablet: str) -> None:
        """Admits a tablet. The page has checked the PIN of the person at the laptop and recorded the entry."""
        with self._drawer.change() as db:
            db.execute("UPDATE tablets SET admitted = 1 WHERE tablet = ?", (tablet,))

    def set_level(self, tablet: str, level: str) -> bool:
        """Notes the level that the tablet's own test found; whether that is another one than before. Raises GateRefused for no level."""
        if level not in LEVELS:
            raise GateRefused("A tablet is full or online only: open the page This tablet again.")
        with self._drawer.change() as db:
            return bool(
                db.execute(
                    "UPDATE tablets SET level = ? WHERE tablet = ? AND level <> ?", (level, tablet, level)
                ).rowcount
            )

    def strike_off(self, tablet: str) -> None:
        """Removes a tablet: its handle no longer works, and its letter is not given again."""
        self._sessions.revoke(tablet)

    def agree(self, record: Mapping[str, bool]) -> None:
        """Brings each tablet to what the record says of it last (True: admitted, False: removed), also where the power failed between the two."""
        for one in self.all():
            said = record.get(one.id)
            if said is False and not one.revoked:
                self.strike_off(one.id)
            elif said and not one.admitted:
                self.admit(one.id)

    def get(self, tablet: str) -> Paired | None:
        """Returns the paired tablet with this id; None if there is none."""
        return next((one for one in self.all() if one.id == tablet), None)

    def all(self) -> tuple[Paired, ...]:
        """Every tablet that ever came with a right code, in that order."""
        rows = self._drawer.rows(
            "SELECT t.tablet, t.level, t.admitted, s.handle IS NULL, s.opened, s.holder FROM tablets t JOIN sessions s ON s.tablet = t.tablet ORDER BY t.rowid"
        )
        return tuple(
            Paired(tablet, level, bool(admitted), bool(revoked), opened, holder)
            for tablet, level, admitted, revoked, opened, holder in rows
        )


def _letters() -> Iterator[str]:
    """A, B ... Z, then A2, B2 ..."""
    for round_ in count(1):
        yield from (letter + (str(round_) if round_ > 1 else "") for letter in LETTERS)


def _digest(code: str) -> bytes:
    return sha256(code.encode()).digest()
