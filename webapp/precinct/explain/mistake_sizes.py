"""How many ballots a mistake usually has, and what each number costs in bits: the higher, the rarer (our judgment).

A size class says what a number costs (None: impossible), whether it is usual, and which numbers are ordinary. An open-ended class goes on
beyond these, from `least` to `most` (None: without end), at one cost, at least one number in every `step`.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

FEW = 4
MANY = 60
BUNDLES = (25, 50, 100)


@dataclass(frozen=True, slots=True)
class OneByOne:
    """One ballot at a time: 1 to 4 are ordinary, 2.5 bits for each further one; from 5 up 10 bits in all."""

    base: float
    most: int | None = None

    def cost(self, n: int) -> float | None:
        """Returns the bits for n ballots; None where n is impossible."""
        if n < 1 or self.most is not None and n > self.most:
            return None
        return self.base + (2.5 * (n - 1) if n <= FEW else 10)

    def usual(self, n: int) -> bool:
        """Whether n is from 1 to `FEW` and possible."""
        return n <= FEW and self.cost(n) is not None

    def ordinary(self) -> Iterable[int]:
        """Returns the ordinary numbers: 1 to `FEW`, at most `most`."""
        return range(1, (FEW if self.most is None else min(FEW, self.most)) + 1)

    least, step, open_ended = 1, 1, True


@dataclass(frozen=True, slots=True)
class AtOnce:
    """Many ballots at once, from `least` to `most`; above one ballot `more` bits, whatever the number.

    Every number is usual. Sixty are listed as ordinary, so that the list does not grow with what was counted. Larger
    ones are found from the ordinary sizes of another mistake, since all of them cost the same.
    """

    base: float
    least: int = 1
    most: int | None = None
    more: float = 0

    def cost(self, n: int) -> float | None:
        """Returns the bits for n ballots; None where n is impossible."""
        if n < self.least or self.most is not None and n > self.most:
            return None
        return self.base + (self.more if n > 1 else 0)

    def usual(self, n: int) -> bool:
        """Whether n is possible: every possible number is usual here."""
        return self.cost(n) is not None

    def ordinary(self) -> Iterable[int]:
        """Returns the ordinary numbers: `MANY` from `least`, at most `most`; `FEW` where there is no `most`."""
        return range(
            self.least, (self.least + FEW - 1 if self.most is None else min(self.most, self.least + MANY - 1)) + 1
        )

    step, open_ended = 1, True


@dataclass(frozen=True, slots=True)
class Packs:
    """Sheets of a pack: 1 to 4, or a whole bundle; 1.5 bits for each further sheet, at most 4.5."""

    base: float
    sizes: frozenset[int]

    def cost(self, n: int) -> float | None:
        """Returns the bits for n sheets; None where n is no size of a pack."""
        return self.base + min(1.5 * (n - 1), 4.5) if n in self.sizes else None

    def usual(self, n: int) -> bool:
        """Whether n is a size of a pack."""
        return n in self.sizes

    def ordinary(self) -> Iterable[int]:
        """Returns the sizes of a pack, smallest first."""
        return sorted(self.sizes)

    open_ended = False


@dataclass(frozen=True, slots=True)
class Lots:
    """Deliveries: in 25s or in packs."""

    base: float
    pack: int

    def cost(self, n: int) -> float | None:
        """Returns the bits for n ballots; None unless n is whole 25s or whole packs."""
        return self.base if n > 0 and (n % 25 == 0 or n % self.pack == 0) else None

    def usual(self, n: int) -> bool:
        """Whether n is whole 25s or whole packs."""
        return self.cost(n) is not None

    def ordinary(self) -> Iterable[int]:
        """Returns up to 40 times 25 and up to 10 packs, smallest first."""
        return sorted({25 * k for k in range(1, 41)} | {self.pack * k for k in range(1, 11)})

    least, most, step, open_ended = 1, None, 25, True


@dataclass(frozen=True, slots=True)
class Piles:
    """A pile counted wrong by 1, 2 or a bundle, up or down; what was there cannot be below nothing."""

    base: float
    sizes: frozenset[int]
    written: int

    def cost(self, n: int) -> float | None:
        """Returns the bits for a pile counted n too high (below 0: too low); None where n is impossible."""
        if abs(n) not in self.sizes or n > self.written:
            return None
        return self.base + (2 if abs(n) > 1 else 0)

    def usual(self, n: int) -> bool:
        """Whether n is a possible slip of a pile's count."""
        return self.cost(n) is not None

    def ordinary(self) -> Iterable[int]:
        """Returns the possible slips, smallest first, up before down."""
        return [sign * n for n in sorted(self.sizes) for sign in (1, -1) if sign * n <= self.written]

    open_ended = False


@dataclass(frozen=True, slots=True)
class Keys:
    """A figure typed wrong: n = written less true. Two digits swapped, one misread, one dropped, all moved one place."""

    base: float
    written: int

    def cost(self, n: int) -> float | None:
        """Returns the bits for a figure typed n too high (below 0: too low); None where no single slip gives it."""
        return self.base if self.written - n in slips(self.written) else None

    def usual(self, n: int) -> bool:
        """Whether one slip of the keys gives n."""
        return self.cost(n) is not None

    def ordinary(self) -> Iterable[int]:
        """Returns what each possible slip of the keys would add to the true figure."""
        return [self.written - true for true in sorted(slips(self.written))]

    open_ended = False


Size = OneByOne | AtOnce | Packs | Lots | Piles | Keys
Wide = OneByOne | AtOnce | Lots  # those that can go on without end


@lru_cache(maxsize=4096)
def slips(written: int) -> frozenset[int]:
    """Every figure that one usual slip types as `written`: Kester's transpositions and slides, a digit misread or dropped. None has a leading zero."""
    w = str(written)
    found = {w[:i] + d + w[i + 1 :] for i in range(len(w)) for d in "0123456789"}
    found |= {w[:i] + d + w[i:] for i in range(len(w) + 1) for d in "0123456789"}
    found |= {w[:i] + w[j] + w[i + 1 : j] + w[i] + w[j + 1 :] for i in range(len(w)) for j in range(i + 1, len(w))}
    if len(w) > 1 and w.endswith("0"):
        found.add(w[:-1])
    return frozenset(int(t) for t in found if t != w and (len(t) == 1 or t[0] != "0"))
