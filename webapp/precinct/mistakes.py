"""The mistakes people make, their order, and how usual each size of each is.

Costs are bits: the higher, the rarer. The first three ranks follow the only ranked list found (Michigan's state audit of 2017: book
handling, ballots left in the bin, envelopes mis-recorded); the rest is our judgement. A family holds one mistake in all its sizes.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any

CODES = (
    "unrecorded", "recorded-twice", "misfiled", "miscounted", "miskeyed", "not-checked-in", "checked-in-twice", "double-scan",
    "uncounted-in-bin", "left-in-bin", "strays-in-bin", "emergency-scanned", "provisional-scanned", "bin-fed-again", "tape-missing",
    "zero-not-zero", "short-pack", "over-pack", "resupply-unlogged", "sent-unlogged", "spoiled-with-unused", "card-as-paper",
    "absentee-unmarked", "wrong-precinct",
)
BASE: Mapping[str, float] = {
    "not-checked-in": 3, "left-in-bin": 3, "checked-in-twice": 4, "double-scan": 4, "bin-fed-again": 4, "uncounted-in-bin": 5,
    "emergency-scanned": 5, "provisional-scanned": 5, "resupply-unlogged": 5, "tape-missing": 5, "short-pack": 6, "zero-not-zero": 6,
    "spoiled-with-unused": 6, "strays-in-bin": 6, "over-pack": 7, "sent-unlogged": 7, "card-as-paper": 7, "absentee-unmarked": 7,
    "wrong-precinct": 7, "miskeyed": 9,
}
UNRECORDED: Mapping[str, float] = {"spoiled": 3, "provisional": 4, "left": 5, "taken": 6, "emergency": 6}
RECORDED_TWICE: Mapping[str, float] = {"spoiled": 6, "provisional": 7}
MISCOUNTED: Mapping[str, float] = {"unused": 4, "received": 8}
ANOTHER = 2.0
FEW = 4
BUNDLES = (25, 50, 100)


@dataclass(frozen=True, slots=True)
class OneByOne:
    """One ballot at a time: 1 to 4 are ordinary, 2.5 bits for each further one; from 5 up 10 bits in all."""

    base: float
    most: int | None = None

    def cost(self, n: int) -> float | None:
        if n < 1 or self.most is not None and n > self.most:
            return None
        return self.base + (2.5 * (n - 1) if n <= FEW else 10)

    def usual(self, n: int) -> bool:
        return n <= FEW and self.cost(n) is not None

    def ordinary(self) -> Iterable[int]:
        return range(1, (FEW if self.most is None else min(FEW, self.most)) + 1)

    open_ended = True


@dataclass(frozen=True, slots=True)
class AtOnce:
    """A whole lot at a time, from `least` to `most`; above one ballot `more` bits, whatever the number."""

    base: float
    least: int = 1
    most: int | None = None
    more: float = 0

    def cost(self, n: int) -> float | None:
        if n < self.least or self.most is not None and n > self.most:
            return None
        return self.base + (self.more if n > 1 else 0)

    def usual(self, n: int) -> bool:
        return self.cost(n) is not None

    def ordinary(self) -> Iterable[int]:
        return range(self.least, (self.least + FEW - 1 if self.most is None else self.most) + 1)

    open_ended = True


@dataclass(frozen=True, slots=True)
class Packs:
    """Sheets of a pack: 1 to 4, or a whole bundle; 1.5 bits for each further sheet, at most 4.5."""

    base: float
    sizes: frozenset[int]

    def cost(self, n: int) -> float | None:
        return self.base + min(1.5 * (n - 1), 4.5) if n in self.sizes else None

    def usual(self, n: int) -> bool:
        return n in self.sizes

    def ordinary(self) -> Iterable[int]:
        return sorted(self.sizes)

    open_ended = False


@dataclass(frozen=True, slots=True)
class Lots:
    """Deliveries come in 25s or in packs."""

    base: float
    pack: int

    def cost(self, n: int) -> float | None:
        return self.base if n > 0 and (n % 25 == 0 or n % self.pack == 0) else None

    def usual(self, n: int) -> bool:
        return self.cost(n) is not None

    def ordinary(self) -> Iterable[int]:
        return sorted({25 * k for k in range(1, 41)} | {self.pack * k for k in range(1, 11)})

    open_ended = True


@dataclass(frozen=True, slots=True)
class Piles:
    """A pile counted wrong by 1, 2 or a bundle, up or down; what was there cannot be below nothing."""

    base: float
    sizes: frozenset[int]
    written: int

    def cost(self, n: int) -> float | None:
        if abs(n) not in self.sizes or n > self.written:
            return None
        return self.base + (2 if abs(n) > 1 else 0)

    def usual(self, n: int) -> bool:
        return self.cost(n) is not None

    def ordinary(self) -> Iterable[int]:
        return [sign * n for n in sorted(self.sizes) for sign in (1, -1) if sign * n <= self.written]

    open_ended = False


@dataclass(frozen=True, slots=True)
class Keys:
    """A figure typed wrong: n = written less what should stand there. Two digits swapped, one misread, one dropped, all slid."""

    base: float
    written: int

    def cost(self, n: int) -> float | None:
        return self.base if n and slipped(self.written, self.written - n) else None

    def usual(self, n: int) -> bool:
        return self.cost(n) is not None

    def ordinary(self) -> Iterable[int]:
        return [self.written - true for true in slips(self.written)]

    open_ended = False


Size = OneByOne | AtOnce | Packs | Lots | Piles | Keys


def slipped(written: int, true: int) -> bool:
    """Whether `true` is typed as `written` by one usual slip: Kester's transpositions and slides, a digit misread or dropped."""
    if true < 0 or true == written:
        return False
    w, t = str(written), str(true)
    if len(w) == len(t):
        differs = [i for i, (a, b) in enumerate(zip(w, t)) if a != b]
        if len(differs) == 1:
            return True
        return len(differs) == 2 and w[differs[0]] == t[differs[1]] and w[differs[1]] == t[differs[0]]
    if len(t) == len(w) + 1:
        return any(t[:i] + t[i + 1:] == w for i in range(len(t)))
    return len(w) == len(t) + 1 and w == t + "0"


def slips(written: int) -> list[int]:
    """Every figure that one usual slip types as `written`, smallest first; none has a leading zero."""
    w = str(written)
    found = {w[:i] + d + w[i + 1:] for i in range(len(w)) for d in "0123456789"}
    found |= {w[:i] + d + w[i:] for i in range(len(w) + 1) for d in "0123456789"}
    found |= {w[:i] + w[j] + w[i + 1:j] + w[i] + w[j + 1:] for i in range(len(w)) for j in range(i + 1, len(w))}
    if len(w) > 1 and w.endswith("0"):
        found.add(w[:-1])
    return sorted(int(t) for t in found if t != w and (len(t) == 1 or t[0] != "0"))


@dataclass(frozen=True, slots=True)
class Family:
    """One mistake in all its sizes. `keys` are its JSON keys but the number; `effects` (line, ballots on it) for size 1.

    `figures` are what it distorts, with the direction, so that no explanation bends one figure both ways; `drift` is what one ballot does
    to check-ins less counter while people still vote (-1 a fall, 1 a rise); `spot` is where a typed figure stands.
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
        """Its size has a direction of its own: written less true."""
        return isinstance(self.size, (Piles, Keys))


@dataclass(frozen=True, slots=True)
class Mistake:
    """One mistake of an explanation: a family in one size, and between which readings it showed."""

    family: Family
    n: int
    between: tuple[str | None, str | None] | None = None

    @property
    def code(self) -> str:
        return self.family.code

    def get(self, key: str) -> str | None:
        return dict(self.family.keys).get(key)

    @property
    def ballots(self) -> int:
        """Ballots for the order of answers of equal cost: a typed figure counts none."""
        return 0 if isinstance(self.family.size, Keys) else abs(self.n)

    def as_json(self) -> dict[str, Any]:
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
        return replace(self, between=between)


def pulls(family: Family, n: int) -> tuple[tuple[Any, int], ...]:
    """Which figures this mistake bends, and which way."""
    if family.signed:
        return tuple((figure, way if n > 0 else -way) for figure, way in family.figures)
    return family.figures


def clash(one: Family, n: int, other: Family, m: int) -> bool:
    """Not in one explanation: the same mistake twice, or one figure bent both ways."""
    if one.code == other.code and one.keys == other.keys and one.scope == other.scope:
        return True
    if not one.figures or not other.figures:
        return False
    return any(figure == also and way == -back for figure, way in pulls(one, n) for also, back in pulls(other, m))
