"""The mistakes people make, their order, and how usual each size of each is.

Costs are bits: the higher, the rarer. The first three ranks follow the only ranked list found (Michigan's state audit of 2017: book
handling, ballots left in the bin, envelopes mis-recorded); the rest is our judgement. A family holds one mistake in all its sizes.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from webapp.precinct.explain.mistake_sizes import Keys, Piles, Size

CODES = (
    "unrecorded",
    "recorded-twice",
    "misfiled",
    "miscounted",
    "miskeyed",
    "not-checked-in",
    "checked-in-twice",
    "double-scan",
    "uncounted-in-bin",
    "left-in-bin",
    "strays-in-bin",
    "emergency-scanned",
    "provisional-scanned",
    "bin-fed-again",
    "tape-missing",
    "zero-not-zero",
    "short-pack",
    "over-pack",
    "resupply-unlogged",
    "sent-unlogged",
    "spoiled-with-unused",
    "card-as-paper",
    "absentee-unmarked",
    "wrong-precinct",
)
BASE: Mapping[str, float] = {
    "not-checked-in": 3,
    "left-in-bin": 3,
    "checked-in-twice": 4,
    "double-scan": 4,
    "bin-fed-again": 4,
    "uncounted-in-bin": 5,
    "emergency-scanned": 5,
    "provisional-scanned": 5,
    "resupply-unlogged": 5,
    "tape-missing": 5,
    "short-pack": 6,
    "zero-not-zero": 6,
    "spoiled-with-unused": 6,
    "strays-in-bin": 6,
    "over-pack": 7,
    "sent-unlogged": 7,
    "card-as-paper": 7,
    "absentee-unmarked": 7,
    "wrong-precinct": 7,
    "miskeyed": 9,
}
UNRECORDED: Mapping[str, float] = {"spoiled": 3, "provisional": 4, "left": 5, "taken": 6, "emergency": 6}
RECORDED_TWICE: Mapping[str, float] = {"spoiled": 6, "provisional": 7}
MISCOUNTED: Mapping[str, float] = {"unused": 4, "received": 8}
ANOTHER = 2.0


@dataclass(frozen=True, slots=True)
class Family:
    """One mistake in all its sizes. `keys`: its JSON keys but the number; `effects`: (line, ballots on it) for size 1.

    `figures`: what it distorts, with the direction, so that no explanation bends one figure both ways. `drift`: what one ballot does to
    check-ins less counter while people vote (-1 a fall, 1 a rise). `spot`: the path of a typed figure.
    """

    code: str
    keys: tuple[tuple[str, str], ...]
    effects: tuple[tuple[int, int], ...]
    size: Size
    rank: tuple[Any, ...]
    scope: tuple[tuple[str, str], ...] = ()
    figures: tuple[tuple[Any, int], ...] = ()
    drift: int = 0
    corrects: tuple[str, int] | None = None

    @property
    def signed(self) -> bool:
        """Whether its size has a sign: written less true."""
        return isinstance(self.size, (Piles, Keys))


@dataclass(frozen=True, slots=True)
class Mistake:
    """A family in one size, and between which readings it showed."""

    family: Family
    n: int
    between: tuple[str | None, str | None] | None = None

    @property
    def code(self) -> str:
        """Its code."""
        return self.family.code

    def get(self, key: str) -> str | None:
        """The value of one of its keys; None where it has none."""
        return dict(self.family.keys).get(key)

    @property
    def ballots(self) -> int:
        """Its ballots, for ranking answers of equal cost; 0 for a typed figure."""
        return 0 if isinstance(self.family.size, Keys) else abs(self.n)

    def as_json(self) -> dict[str, Any]:
        """The object in `because` of `tapeseal balance`."""
        found: dict[str, Any] = {"code": self.code, **dict(self.family.keys)}
        if isinstance(self.family.size, Keys):
            found["likely"] = self.family.size.written - self.n
        elif isinstance(self.family.size, Piles):
            found["by"] = self.n
        else:
            found["ballots"] = self.n
        if self.family.scope:
            found["scope"] = dict(self.family.scope)
        if self.between is not None:
            found["between"] = list(self.between)
        return found

    def seen(self, between: tuple[str | None, str | None] | None) -> "Mistake":
        """The same mistake with the readings between which it showed."""
        return replace(self, between=between)


def pull(family: Family, n: int) -> int:
    """1 where a mistake of this size bends its figures in the listed direction, else -1."""
    return -1 if n < 0 and family.signed else 1


def clash(one: Family, n: int, other: Family, m: int, both_ways: bool = False) -> bool:
    """Whether two mistakes cannot be in one explanation: the same twice, or one figure bent both ways.

    `both_ways` allows two opposite events of one room (a jam fed twice and one dropped uncounted), never a figure bent both ways.
    """
    if one.code == other.code and one.keys == other.keys and one.scope == other.scope:
        return True
    if not one.figures or not other.figures:
        return False
    up, down = pull(one, n), -pull(other, m)
    return any(
        figure == also and way * up == back * down and not (both_ways and figure[0][0] != "figure")
        for figure, way in one.figures
        for also, back in other.figures
    )
