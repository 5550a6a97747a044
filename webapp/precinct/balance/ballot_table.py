"""The one table behind every line: a ballot's origin (what it was) and its fate (where it ended) say which tallies count it.

A ballot counts in *from stock* and *in the poll book* when both its fate and its origin say so; in *counted* and *in
a bin* by its fate alone. A place changes flags or adds kinds by `dispositions`; nothing here knows any figure.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field


@dataclass(frozen=True)
class Fate:
    """The four flags of one disposition of a ballot."""

    from_stock: bool
    in_poll_book: bool
    counted: bool = False
    in_bin: bool = False


@dataclass(frozen=True)
class Origin:
    """The two flags of one origin of a ballot."""

    from_stock: bool
    in_poll_book: bool


CAST = "cast"
PAPER = "paper"

ORIGINS: Mapping[str, Origin] = {
    PAPER: Origin(True, True),
    "card": Origin(False, True),
    "copy": Origin(False, True),
    "absentee": Origin(False, False),
}

FATES: Mapping[str, Fate] = {
    CAST: Fate(True, True, True, True),
    "spoiled": Fate(True, False),
    "spoiled-not-reissued": Fate(True, True),
    "provisional": Fate(True, False),
    "emergency": Fate(True, True),
    "hand-counted": Fate(True, True),
    "taken": Fate(True, True),
    "left": Fate(False, True),
    "found": Fate(True, True),
    "set-apart": Fate(True, True),
}


@dataclass(frozen=True)
class BallotTable:
    """Origins and dispositions with the flags of one place; `named` are the ids its `dispositions` mention, in that order."""

    origins: Mapping[str, Origin] = field(default_factory=lambda: dict(ORIGINS))
    fates: Mapping[str, Fate] = field(default_factory=lambda: dict(FATES))
    named: tuple[str, ...] = ()

    def stock_weight(self, kind: str, origin: str = PAPER) -> int:
        """What one such ballot adds to the right side of `stock`: from stock (1 or 0) less counted (1 or 0)."""
        fate = self.fates[kind]
        return int(fate.from_stock and self.origins[origin].from_stock) - int(fate.counted)

    def book_weight(self, kind: str, origin: str = PAPER, includes: Iterable[str] = ()) -> int:
        """What one such ballot adds to the right side of `poll-book`: in the book less counted.

        Kinds in `includes` count as in this book whatever their flags.
        """
        fate, from_where = self.fates[kind], self.origins[origin]
        in_book = (fate.in_poll_book or kind in includes) and (from_where.in_poll_book or origin in includes)
        return int(in_book) - int(fate.counted)

    def own_stock(self, kind: str) -> int:
        """1 where such a ballot was drawn from the pile of its own origin (copies from copies), else 0."""
        return int(self.fates[kind].from_stock)

    def kind_order(self, kind: str) -> tuple[int, str]:
        """The kinds in the order of the table, added ones after them by name."""
        order = list(FATES)
        return (order.index(kind), "") if kind in FATES else (len(order), kind)
