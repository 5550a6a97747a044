"""Small places grouped with a neighbor, for one contest: which places are shown together, kept up as packets come in.

A place where 1 to small - 1 ballots carried the contest is grouped with its named neighbor, else with the smallest
group that has ballots; groups grow until none is small, or nobody is left. Only small places and their groups are
looked at: among five thousand places one packet more costs what it costs among fifty.
"""

from bisect import bisect_left, insort
from collections.abc import Iterator

from webapp.office.setup.office_file import Office


class SmallPlaceGroups:
    """The ballots of each place that carried one contest, and the groups that follow. `order` is the place's rank in the office's list."""

    def __init__(self, office: Office):
        self.office = office
        self.sizes: dict[str, int] = {}
        self._order: dict[str, int] = {}
        self._ranked: list[tuple[int, int, str]] = []  # (ballots, order, place), sorted
        self._listed: list[tuple[int, str]] = []  # (order, place), sorted
        self._home: dict[str, tuple[tuple[str, ...], int]] | None = None

    def put(self, place: str, order: int, ballots: int) -> None:
        """Adds a place that is in, or replaces it."""
        self.take(place)
        self.sizes[place], self._order[place] = ballots, order
        insort(self._ranked, (ballots, order, place))
        insort(self._listed, (order, place))

    def take(self, place: str) -> None:
        """Removes a place that is no longer in."""
        if place in self.sizes:
            row = self.sizes.pop(place), self._order.pop(place), place
            del self._ranked[bisect_left(self._ranked, row)]
            del self._listed[bisect_left(self._listed, row[1:])]
        self._home = None

    def group(self, place: str) -> tuple[tuple[str, ...], int]:
        """(the places it is shown together with, itself among them; their ballots)."""
        return self._groups().get(place) or ((place,), self.sizes[place])

    def alone(self, place: str) -> bool:
        """Whether its votes may be shown by themselves: it has ballots enough, and no small place leans on it."""
        together, size = self.group(place)
        return len(together) == 1 and not 0 < size < self.office.small

    def all(self) -> Iterator[tuple[tuple[str, ...], int]]:
        """Every group in the order of the place that began it."""
        groups = self._groups()
        for _, place in self._listed:
            together, size = groups.get(place) or ((place,), self.sizes[place])
            if together[0] == place:
                yield together, size

    def __len__(self) -> int:
        """How many groups there are."""
        groups = self._groups()
        return len(self.sizes) - len(groups) + len({together[0] for together, _ in groups.values()})

    def _groups(self) -> dict[str, tuple[tuple[str, ...], int]]:
        """Every place that is not alone, with its group; and small ones that found nobody."""
        if self._home is None:
            self._home = self._lean()
        return self._home

    def _lean(self) -> dict[str, tuple[tuple[str, ...], int]]:
        low, high = (bisect_left(self._ranked, (n, -1, "")) for n in (1, self.office.small))
        small = sorted((order, place) for _, order, place in self._ranked[low:high])
        made = {place: [place] for _, place in small}  # groups that were touched, by the place that began them
        size = {place: self.sizes[place] for place in made}
        home = {place: place for place in made}
        waiting = [place for _, place in small]
        for name in waiting:  # grows while it is walked through
            if name not in made or not 0 < size[name] < self.office.small:
                continue
            partner = self._partner(name, made[name], made, size, home)
            if partner is None:
                continue
            if partner not in made:
                made[partner], size[partner], home[partner] = [partner], self.sizes[partner], partner
            made[partner] += made[name]
            size[partner] += size.pop(name)
            home.update(dict.fromkeys(made.pop(name), partner))
            waiting.append(partner)
        return {place: (tuple(group), size[began]) for began, group in made.items() for place in group}

    def _partner(
        self, name: str, group: list[str], made: dict[str, list[str]], size: dict[str, int], home: dict[str, str]
    ) -> str | None:
        """The group of a named neighbour, else the smallest that has ballots, the first among equals."""
        for place in group:
            awaited = self.office.place(place)
            beside = awaited.beside if awaited else ""
            beside = home.get(beside, beside) if beside in self.sizes else ""
            if beside not in ("", name):
                return beside
        touched = ((n, self._order[began], began) for began, n in size.items() if began != name and n)
        from_one = bisect_left(self._ranked, (1, -1, ""))
        fresh = next(
            (self._ranked[i] for i in range(from_one, len(self._ranked)) if self._ranked[i][2] not in home), None
        )
        found = min([*touched, *([fresh] if fresh else [])], default=None)
        return found[2] if found else None
