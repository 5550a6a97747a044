"""PINs: which are too easy, and whether one is a person's own.

A PIN convinces this software that a person was there; it proves nothing against somebody who controls the laptop. The
paper does that.
"""

from collections.abc import Iterator
from datetime import date, datetime

from webapp.gate import verifier
from webapp.gate.database import GateDatabase
from webapp.gate.refusals import GateRefused

SHORTEST, LONGEST = 6, 12
SET = "INSERT INTO pins VALUES (?, ?) ON CONFLICT DO UPDATE SET verifier = excluded.verifier"
ROW = "01234567890123456789"
COMMON = frozenset(
    {"123654", "135790", "246810", "147258", "147852", "258456", "789456", "159357", "159753", "271828", "314159"}
)
"""Rows of keys and numbers people reach for first. From memory: no published list is copied here."""


class Pins:
    """Sets and checks the PINs in `gate.db`; `pepper` is the secret that goes into every verifier."""

    def __init__(self, drawer: GateDatabase, pepper: bytes):
        self._drawer = drawer
        self._pepper = pepper

    def set(self, person: str, pin: str, election: date | None = None) -> None:
        """Make this the person's PIN in place of any before. Raises GateRefused where it is too easy."""
        made = self._made(pin, election)
        with self._drawer.change() as db:
            db.execute(SET, (person, made))

    def set_using_slip(self, person: str, pin: str, now: int, election: date | None = None) -> None:
        """As `set`, and the person's slip is used up with it: both or neither. The gate has checked the code. now: ms UTC.

        Raises GateRefused where the PIN is too easy, or the slip was used already.
        """
        made = self._made(pin, election)
        with self._drawer.change() as db:
            if not db.execute(
                "UPDATE slips SET used_at = ? WHERE person = ? AND used_at IS NULL", (now, person)
            ).rowcount:
                raise GateRefused(
                    "This person's slip was used already, on another tablet: sign with the PIN set there."
                )
            db.execute(SET, (person, made))

    def _made(self, pin: str, election: date | None) -> str:
        refusal = too_easy(pin, election)
        if refusal:
            raise GateRefused(refusal)
        return verifier.make(self._pepper, pin)

    def has(self, person: str) -> bool:
        """Whether this person has a PIN."""
        return self._drawer.row("SELECT 1 FROM pins WHERE person = ?", person) is not None

    def clear(self, person: str) -> None:
        """Removes a lost PIN: it signs nothing from now on."""
        with self._drawer.change() as db:
            db.execute("DELETE FROM pins WHERE person = ?", (person,))

    def holds(self, person: str, pin: str) -> bool:
        """Whether this is the person's PIN. Unthrottled: `Gate.check_pin` is the way in."""
        row = self._drawer.row("SELECT verifier FROM pins WHERE person = ?", person)
        return row is not None and shaped(pin) and verifier.holds(self._pepper, pin, row[0])


def shaped(pin: str) -> bool:
    """6 to 12 digits, the ten of ASCII only."""
    return SHORTEST <= len(pin) <= LONGEST and pin.isascii() and pin.isdigit()


def too_easy(pin: str, election: date | None = None) -> str | None:
    """Why this cannot be a PIN, in a sentence; None when it can."""
    if not shaped(pin):
        return f"A PIN has {SHORTEST} to {LONGEST} digits and nothing else."
    if any(pin == pin[:n] * (len(pin) // n) for n in range(1, len(pin) // 2 + 1)):
        return "That PIN repeats one piece over and over: choose another."
    if pin in ROW or pin in ROW[::-1] or _in_steps(pin):
        return "That PIN counts up or down: choose another."
    if pin == pin[::-1] or len(set(pin)) <= 2:
        return "That PIN has too few different digits or reads the same backwards: choose another."
    if election and pin in set(_written(election)):
        return "That PIN is the day of the election: choose another."
    if reads_as_a_date(pin):
        return "That PIN reads as a date, and dates are the first that anyone who knows you would try: choose another."
    if pin in COMMON:
        return "That PIN is one of the first that anyone would try: choose another."
    return None


def reads_as_a_date(pin: str) -> bool:
    """Whether 6 or 8 digits are a date in one of the usual orders: 041258 and 19580412; four-digit years from 1900 to 2099."""
    forms = {6: ("%d%m%y", "%m%d%y", "%y%m%d"), 8: ("%d%m%Y", "%m%d%Y", "%Y%m%d")}.get(len(pin), ())
    for form in forms:
        try:
            found = datetime.strptime(pin, form)
        except ValueError:
            continue
        if len(pin) == 6 or 1900 <= found.year < 2100:
            return True
    return False


def _in_steps(pin: str) -> bool:
    """Each digit, or each pair of digits, the same step from the one before: 135791, 102030."""
    steps = {(int(b) - int(a)) % 10 for a, b in zip(pin, pin[1:])}
    pairs = [int(pin[i : i + 2]) for i in range(0, len(pin) - 1, 2)]
    return len(steps) == 1 or (len(pin) % 2 == 0 and len({b - a for a, b in zip(pairs, pairs[1:])}) == 1)


def _written(day: date) -> Iterator[str]:
    """The ways a day is written in six or eight digits."""
    for form in ("%d%m%y", "%m%d%y", "%y%m%d", "%d%m%Y", "%m%d%Y", "%Y%m%d"):
        yield day.strftime(form)
