"""The slip each official gets from the office, separately from the laptop: a code that admits its owner once.

Read as a tired hand types it (slip_code.py), kept like a PIN and throttled like one.
"""

from webapp.gate import slip_code, verifier
from webapp.gate.database import GateDatabase
from webapp.gate.refusals import GateRefused
from webapp.gate.throttle import Throttle

WHAT = "slip code"


class Slips:
    """Checks and uses up the slip codes in `gate.db`; `pepper` is the secret that goes into every verifier."""

    def __init__(self, drawer: GateDatabase, pepper: bytes, throttle: Throttle):
        self._drawer = drawer
        self._pepper = pepper
        self._throttle = throttle

    def use(self, person: str, code: str, now: int, tablet: str = "L") -> None:
        """Use this person's slip up. Raises GateRefused where there is none or it was used, WrongPin where the code is another."""
        self.check(person, code, now, tablet)
        with self._drawer.change() as db:
            used = db.execute(
                "UPDATE slips SET used_at = ? WHERE person = ? AND used_at IS NULL", (now, person)
            ).rowcount
        if not used:
            raise GateRefused(_USED)

    def check(self, person: str, code: str, now: int, tablet: str = "L") -> None:
        """Checks that this code opens this person's unused slip; it stays unused. Raises GateRefused or WrongPin where it does not."""
        row = self._drawer.row("SELECT verifier, used_at FROM slips WHERE person = ?", person)
        if row is None:
            raise GateRefused(
                "The office made no slip for this person: two officials of different parties vouch for them instead."
            )
        if row[1] is not None:
            raise GateRefused(_USED)
        symbols = slip_code.read_slip(code)
        if symbols is None:
            raise GateRefused(
                "A letter or digit of this code is wrong: its last one does not fit the others. Type it again from the slip."
                if slip_code.mistyped(code)
                else f"A slip code has {slip_code.OF_A_SLIP + 1} letters and digits, as in 7K3-M0Q-XT1, or {slip_code.LENGTH} on an older slip: "
                "type it again from the slip."
            )
        self._throttle.attempt(person, tablet, lambda: verifier.holds(self._pepper, symbols, row[0]), WHAT)

    def used(self, person: str) -> bool | None:
        """Whether the slip was used; None when the office made none for this person."""
        row = self._drawer.row("SELECT used_at FROM slips WHERE person = ?", person)
        return None if row is None else row[0] is not None


_USED = "This person's slip was used already, and a slip is used once: sign with the PIN, or let two officials of different parties vouch."
