"""A table kept up entry by entry, such as the readings or the seal log.

A new entry costs one row. When an entry of the table is corrected or taken back, the whole table is written again the
next time it is asked for: corrections are rare, and a table built from nothing cannot be wrong in a way that a
patched one can.
"""

from collections.abc import Callable, Iterable
from typing import Self

from webapp.precinct.day.current_entry import CurrentEntry
from webapp.precinct.place.place import Place


class Projection:
    """A table over the entries of `kinds`. A subclass empties itself with `clear` and takes one entry, in order, with `write`."""

    kinds: frozenset[str] = frozenset()

    def __init__(self, place: Place, everything: Callable[[Iterable[str]], Iterable[CurrentEntry]]):
        """`everything(kinds)` gives all entries of these kinds in force, in the order of the record."""
        self.place = place
        self._everything = everything
        self._stale = False
        self.clear()

    def clear(self) -> None:
        """Empties the table. Each subclass has its own."""
        raise NotImplementedError

    def write(self, kept: CurrentEntry) -> None:
        """Takes one entry of `kinds`. Each subclass has its own."""
        raise NotImplementedError

    def add(self, kept: CurrentEntry) -> None:
        """Takes one more entry of the record."""
        if not self._stale:
            self.write(kept)

    def amend(self) -> None:
        """Notes that an entry of this table has changed: the table is written again when it is next asked for."""
        self._stale = True

    def now(self) -> Self:
        """The table as it is now."""
        if self._stale:
            self._stale = False
            self.clear()
            for kept in self._everything(self.kinds):
                self.write(kept)
        return self
