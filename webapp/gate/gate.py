"""The gate of one place or of the office: the only reader of `gate.db`, which holds every secret.

What passes here never enters the record and never goes onto the backup stick.
"""

import time
from collections.abc import Callable
from contextlib import suppress
from datetime import date
from pathlib import Path

from webapp.gate import keys
from webapp.gate.database import GateDatabase, prepare
from webapp.gate.drafts import Drafts
from webapp.gate.handed_back_taps import Tallies
from webapp.gate.pending_signatures import PendingSignatures
from webapp.gate.pins import Pins, shaped, too_easy
from webapp.gate.refusals import GateDiskRefused, GateRefused, WrongPin
from webapp.gate.sessions import Sessions
from webapp.gate.slips import Slips
from webapp.gate.tablet_reports import Contacts
from webapp.gate.tablets import Tablets
from webapp.gate.throttle import Throttle


class Gate:
    """`Gate.open(path)`; then `pins`, `slips`, `throttle`, `sessions`, `tablets`, `pending`, `drafts`, `tallies`, and keys by `webapp.gate.keys` with `gate.path`."""

    def __init__(self, path: Path, monotonic: Callable[[], float] = time.monotonic):
        self.path = Path(path)
        self._drawer = GateDatabase(self.path)
        pepper = self._pepper()
        self.throttle = Throttle(self._drawer, monotonic)
        self.pins = Pins(self._drawer, pepper)
        self.slips = Slips(self._drawer, pepper, self.throttle)
        self.sessions = Sessions(self._drawer, monotonic)
        self.pending = PendingSignatures(self._drawer, monotonic)
        self.drafts = Drafts(self._drawer)
        self.tallies = Tallies(self._drawer)
        self.contacts = Contacts(self._drawer, monotonic)
        self.tablets = Tablets(self._drawer, self.sessions, monotonic)

    @classmethod
    def open(cls, path: Path, monotonic: Callable[[], float] = time.monotonic) -> "Gate":
        """Open `gate.db`, its tables made where they are still missing. Raises GateRefused where there is no such file."""
        if Path(path).is_file():
            with suppress(GateDiskRefused):  # a disk that takes nothing: what is there is looked at
                prepare(path)
        return cls(path, monotonic)

    def _pepper(self) -> bytes:
        try:
            return keys.pepper(self.path)
        except GateRefused:
            self._drawer.close()
            raise

    def check_pin(self, person: str, pin: str, tablet: str, now: int) -> None:
        """Returns when this is the person's own PIN. Raises WrongPin when it is not, GateRefused when it was not even looked at."""
        if not self.pins.has(person):
            raise GateRefused(
                "This person has set no PIN yet: set one first, under People, with the code on their own slip."
            )
        if not shaped(pin):
            raise GateRefused("A PIN has 6 to 12 digits: type it again.")
        self.throttle.attempt(person, tablet, lambda: self.pins.holds(person, pin))

    def set_pin_with_slip(
        self, person: str, code: str, pin: str, tablet: str, now: int, election: date | None = None
    ) -> None:
        """At roll call: the slip is used up and the PIN set, both or neither. Sent again with the same PIN, it is as if it had not been.

        Raises GateRefused where the PIN is too easy or the slip was used, WrongPin where the code is another.
        """
        refusal = too_easy(pin, election)
        if refusal:
            raise GateRefused(refusal)
        if self.slips.used(person) and self.pins.has(person):
            self.throttle.attempt(person, tablet, lambda: self.pins.holds(person, pin))
            return
        self.slips.check(person, code, now, tablet)
        self.pins.set_using_slip(person, pin, now, election)

    def close(self) -> None:
        """Closes `gate.db`; nothing may be asked of the gate afterward."""
        self._drawer.close()


__all__ = ["Gate", "GateRefused", "WrongPin"]
