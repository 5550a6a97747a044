"""The state of every place, counted and listed as it changes, so that a page of some of them never looks at all."""

from bisect import bisect_left, insort
from collections.abc import Mapping, Sequence

State = tuple[str, str]  # mark, words
SHOWN: Mapping[str, tuple[tuple[str, ...], str]] = {
    "awaited": (("expected",), "awaited"),
    "gaps": (("gap",), "with a gap"),
    "look": (("look",), "need attention"),
    "in": (("done", "half"), "in, without a gap"),
}
"""What may be asked for alone -> (marks of such a place, its words)."""


class States:
    """By place. A place whose state is not known stands among the stale ones until somebody says it."""

    def __init__(self, places: Sequence[str]):
        self.order = {place: rank for rank, place in enumerate(places)}
        self.stale = set(places)
        self._now: dict[str, State] = {}
        self._lists: dict[str, list[tuple[int, str]]] = {key: [] for key in SHOWN}

    def __getitem__(self, place: str) -> State:
        return self._now[place]

    def put(self, place: str, state: State) -> None:
        """A place's state now."""
        row, before = (self.order[place], place), self._now.get(place)
        for key, (marks, _) in SHOWN.items():
            if before and before[0] in marks:
                del self._lists[key][bisect_left(self._lists[key], row)]
            if state[0] in marks:
                insort(self._lists[key], row)
        self._now[place] = state
        self.stale.discard(place)

    def change(self, place: str) -> None:
        """Something of this place was kept: its state is worked out anew when somebody looks."""
        if place in self.order:
            self.stale.add(place)

    def counts(self) -> dict[str, int]:
        return {key: len(rows) for key, rows in self._lists.items()}

    def some(self, key: str, first: int, last: int) -> list[str]:
        """Places of one kind, in the office's order."""
        return [place for _, place in self._lists[key][first:last]]
