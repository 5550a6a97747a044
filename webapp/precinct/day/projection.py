"""A sheet kept up line by line as entries come, such as the readings or the book of seals.

A new entry costs one line. When an entry on the sheet is corrected or taken back, the sheet is written out anew the next time somebody
looks at it: corrections are rare, and a sheet built afresh cannot be wrong in a way that a patched one can.
"""

from collections.abc import Callable, Iterable
from typing import Self

from webapp.precinct.day.current_entry import CurrentEntry
from webapp.precinct.place.place import Place


class Projection:
    """`kinds` are the entries it lists; a subclass clears itself with `clear` and takes one entry, in order, with `write`."""

    kinds: frozenset[str] = frozenset()

    def __init__(self, place: Place, everything: Callable[[Iterable[str]], Iterable[CurrentEntry]]):
        """`everything(kinds)` gives all entries of these kinds in force, in the order of the record."""
        self.place = place
        self._everything = everything
        self._stale = False
        self.clear()

    def clear(self) -> None:
        raise NotImplementedError

    def write(self, kept: CurrentEntry) -> None:
        raise NotImplementedError

    def add(self, kept: CurrentEntry) -> None:
        """One more entry came."""
        if not self._stale:
            self.write(kept)

    def amend(self) -> None:
        """An entry on this sheet is no longer what it was."""
        self._stale = True

    def now(self) -> Self:
        """The sheet as it stands now."""
        if self._stale:
            self._stale = False
            self.clear()
            for kept in self._everything(self.kinds):
                self.write(kept)
        return self
