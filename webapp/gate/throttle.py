"""Wrong tries slow down: per person and tablet, so that nobody can lock an official out from across the room.

Three wrong tries are free; from the fourth on each costs a wait of 5, 10, 20, then 30 seconds; after ten that tablet
refuses that person until two officials of different parties reset it. A try during a wait is refused unread, the
right PIN too. Numbers of tries are kept on disk, the waits in memory: after a restart a wait begins again at the next
try. Waits run by seconds that nobody can set: a clock set back would keep an official out until it has caught up, one
set forward would let a guesser in.

A fresh browser window on the laptop is a fresh tablet, so anybody who can open windows could have tries without end.
Once a person has 30 wrong tries in all, a window on which that person never signed waits 30 seconds between tries
from the first one on. Such windows take turns with one another, so that many at one moment get one try, too. A tablet
that somebody admitted by hand is no such window: it waits for its own wrong tries only.
"""

import math
import threading
import time
from collections.abc import Callable

from webapp.gate.database import GateDatabase
from webapp.gate.refusals import GateRefused, WrongPin

FREE = 3
WAITS = (5, 10, 20, 30)  # seconds after the 4th, 5th, 6th, 7th wrong try; the last one from then on
LAST = 10
IN_ALL = 30

Key = tuple[str, str, str]  # person, tablet, what
ANY = "*"  # in the place of the tablet: whichever window is new to the person


class Throttle:
    """Makes repeated wrong tries wait; counts them in `gate.db`. `monotonic` gives seconds."""

    def __init__(self, drawer: GateDatabase, monotonic: Callable[[], float] = time.monotonic):
        self._drawer, self._monotonic = drawer, monotonic
        self._guard = threading.Lock()
        self._turns: dict[Key, threading.Lock] = {}
        self._since: dict[Key, float] = {}  # monotonic seconds of the last wrong try
        self._known: set[Key] = set()

    def attempt(self, person: str, tablet: str, right: Callable[[], bool], what: str = "PIN") -> None:
        """One try: `right` is asked only when no wait is running. Raises GateRefused, or WrongPin when it was asked and said no.

        Tries of one person on one tablet take turns, so that twenty at once are twenty tries and not one; so do those on all new windows.
        """
        key = (person, tablet, what)
        with self._turn(key if self._own(key) else (person, ANY, what)):
            self._bar(key)
            if not right():
                raise WrongPin(self._count(key))
            self._forgive(key)

    def reset(self, person: str) -> None:
        """Two vouchers have spoken: every tablet takes this person's PIN again."""
        with self._drawer.change() as db:
            db.execute("DELETE FROM wrong_tries WHERE person = ?", (person,))
        with self._guard:
            self._since = {key: ms for key, ms in self._since.items() if key[0] != person}

    def refusing(self) -> tuple[tuple[str, str], ...]:
        """Who is refused until reset, and on which tablet."""
        return tuple(
            self._drawer.rows(
                "SELECT DISTINCT person, tablet FROM wrong_tries WHERE tries >= ? ORDER BY person, tablet", LAST
            )
        )

    def _turn(self, key: Key) -> threading.Lock:
        with self._guard:
            return self._turns.setdefault(key, threading.Lock())

    def _tries(self, key: Key) -> int:
        row = self._drawer.row("SELECT tries FROM wrong_tries WHERE person = ? AND tablet = ? AND what = ?", *key)
        return row[0] if row else 0

    def _own(self, key: Key) -> bool:
        """Whether this person signed on this tablet since the start, or somebody admitted it by hand."""
        return key in self._known or bool(
            self._drawer.row("SELECT 1 FROM tablets WHERE tablet = ? AND admitted = 1", key[1])
        )

    def _bar(self, key: Key) -> None:
        tries, what = self._tries(key), key[2]
        if tries >= LAST:
            raise GateRefused(
                f"This tablet takes no {what} from this person after {LAST} wrong ones: two officials of different parties reset it, "
                "or another tablet is used; until then a step can be kept short-signed."
            )
        with self._guard:
            left = max(self._own_wait(key, tries), self._shared_wait(key))
        if left:
            raise GateRefused(
                f"Wait {left} more second{'s' if left > 1 else ''} before the next {what} of this person here: this one was not looked at."
            )

    def _own_wait(self, key: Key, tries: int) -> int:
        return self._left(wait_after(tries), self._since.setdefault(key, self._monotonic())) if wait_after(tries) else 0

    def _shared_wait(self, key: Key) -> int:
        """The wait of a window that is new to this person, counted from their last wrong try anywhere."""
        if self._own(key):
            return 0
        total = self._drawer.row("SELECT total(tries) FROM wrong_tries WHERE person = ?", key[0])
        last = max((since for k, since in self._since.items() if k[0] == key[0]), default=None)
        return self._left(WAITS[-1], last) if last is not None and total and total[0] >= IN_ALL else 0

    def _left(self, wait: int, since: float) -> int:
        """Whole seconds still to wait, rounded up."""
        return max(0, math.ceil(since + wait - self._monotonic()))

    def _count(self, key: Key) -> str:
        with self._drawer.change() as db:
            db.execute("INSERT INTO wrong_tries VALUES (?, ?, ?, 1) ON CONFLICT DO UPDATE SET tries = tries + 1", key)
        with self._guard:
            self._since[key] = self._monotonic()
        return sentence_after(self._tries(key), key[2])

    def _forgive(self, key: Key) -> None:
        if self._tries(key):
            with self._drawer.change() as db:
                db.execute("DELETE FROM wrong_tries WHERE person = ? AND tablet = ? AND what = ?", key)
        with self._guard:
            self._since.pop(key, None)
            self._known.add(key)


def wait_after(tries: int) -> int:
    """Seconds to wait after this many wrong tries."""
    return 0 if tries <= FREE else WAITS[min(tries - FREE, len(WAITS)) - 1]


def sentence_after(tries: int, what: str) -> str:
    """The sentence after a wrong try."""
    if tries >= LAST:
        return (
            f"That is not this person's {what}, and it was wrong try {tries} here: this tablet takes no more until two officials of different "
            "parties reset it. Another tablet still does, and a step can be kept short-signed."
        )
    wait = wait_after(tries)
    if wait:
        return f"That is not this person's {what} (wrong try {tries} here): wait {wait} seconds, then type it again."
    return f"That is not this person's {what} (wrong try {tries} here): type it again."
