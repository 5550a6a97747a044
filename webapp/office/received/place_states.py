"""The state of every place, counted and listed as it changes, so that a page of some of them never looks at all."""

from bisect import bisect_left, insort
from collections.abc import Mapping, Sequence

State = tuple[str, str]  # mark, words
SHOWN: Mapping[str, str] = {
    "awaited": "awaited",
    "goods": "goods in, no figures",
    "gaps": "with a gap",
    "look": "need attention",
    "in": "in, without a gap",
}
"""What may be asked for alone -> its words."""
NO_FIGURES = "goods in, figures awaited"
OF_MARK = {"expected": "awaited", "gap": "gaps", "look": "look", "done": "in", "half": "in"}


def listed(state: State, off: bool) -> tuple[str, ...]:
    """The lists of `SHOWN` that a place in this state is in. off: its ballots and voters do not agree, whatever else is open."""
    own = "goods" if state[1] == NO_FIGURES else OF_MARK[state[0]]
    return tuple(dict.fromkeys(("gaps", own))) if off else (own,)


def shown_words(key: str, n: int) -> str:
    """The words for a list of n places: 1 needs, 2 need attention."""
    return "needs attention" if key == "look" and n == 1 else SHOWN[key]


class States:
    """The state of every place. A place whose state is not known is stale until it is set."""

    def __init__(self, places: Sequence[str]):
        self.order = {place: rank for rank, place in enumerate(places)}
        self.stale = set(places)
        self._now: dict[str, State] = {}
        self._under: dict[str, tuple[str, ...]] = {}
        self._lists: dict[str, list[tuple[int, str]]] = {key: [] for key in SHOWN}

    def __getitem__(self, place: str) -> State:
        return self._now[place]

    def put(self, place: str, state: State, off: bool = False) -> None:
        """A place's state now, and whether its ballots and voters are off."""
        row = (self.order[place], place)
        for key in self._under.get(place, ()):
            del self._lists[key][bisect_left(self._lists[key], row)]
        self._under[place] = listed(state, off)
        for key in self._under[place]:
            insort(self._lists[key], row)
        self._now[place] = state
        self.stale.discard(place)

    def change(self, place: str) -> None:
        """Marks a place whose state must be worked out again when somebody asks."""
        if place in self.order:
            self.stale.add(place)

    def counts(self) -> dict[str, int]:
        """Returns how many places are in each list of `SHOWN`."""
        return {key: len(rows) for key, rows in self._lists.items()}

    def some(self, key: str, first: int, last: int) -> list[str]:
        """Places of one kind, in the office's order."""
        return [place for _, place in self._lists[key][first:last]]
