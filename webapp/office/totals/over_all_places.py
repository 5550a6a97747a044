"""What is kept up over all places as packets come in: ballots, contests that are in, small places grouped with a neighbor. Never worked out again as a whole."""

from collections.abc import Iterable, Mapping
from itertools import islice

from webapp.office.setup.roster import Roster
from webapp.office.totals import totals
from webapp.office.totals.small_place_groups import SmallPlaceGroups
from webapp.office.totals.totals import PacketFigures
from webapp.precinct.place.place import Contest

Counted = tuple[bytes, PacketFigures]
"""(digest of what counts for a place, its figures with what the desk found)."""


class OverAllPlaces:
    """The places that are in the totals. Each `put` and `take` costs the same, however many places there are."""

    def __init__(self, roster: Roster):
        self.office = roster.office
        self.counting: dict[str, Counted] = {}  # place -> what counts for it; not those held out of the totals
        self.ballots = 0
        self.small_groups: dict[str, SmallPlaceGroups] = {}  # contest -> which small places are shown with whom
        self._listed = contests_of(roster)  # every contest that is asked for, with the choices of all its ballots
        self._promised: dict[str, set[str]] = {}  # contest -> places that are in and whose file asks for it
        self._order = {place: rank for rank, place in enumerate(roster.places)}

    def put(self, place: str, counted: Counted) -> None:
        """A place is in the totals with these figures."""
        packet = counted[1]
        self.counting[place] = counted
        self.ballots += totals.ballots(packet.core)
        for contest in packet.core["contests"]:
            self.small_groups.setdefault(contest, SmallPlaceGroups(self.office)).put(
                place, self._rank(place), totals.carried(packet, contest)
            )
        for one in packet.place.typed_contests():
            self._promised.setdefault(one.id, set()).add(place)
            if one.id in packet.core["contests"]:
                self._listed[one.id] = totals.with_choices(self._listed.get(one.id, one), one)

    def take(self, place: str) -> None:
        """Removes a place, for good or before it is added with other figures."""
        if (before := self.counting.pop(place, None)) is None:
            return
        packet = before[1]
        for contest in packet.core["contests"]:
            self.small_groups[contest].take(place)
        for one in packet.place.typed_contests():
            self._promised[one.id].discard(place)
        self.ballots -= totals.ballots(packet.core)

    def _rank(self, place: str) -> int:
        return self._order.get(place, len(self._order))

    @property
    def contests(self) -> dict[str, Contest]:
        """Every contest that is in, or that a place that is in should have, in the order of the office's place files, whatever order packets came in."""
        inn = {id for id, groups in self.small_groups.items() if groups.sizes} | {
            id for id, due in self._promised.items() if due
        }
        return {id: one for id, one in self._listed.items() if id in inn}

    def without(self, contest: str) -> list[str]:
        """Places that are in, whose file asks for this contest and whose packet has none of it, in the office's order."""
        sizes: Mapping[str, int] = self.small_groups[contest].sizes if contest in self.small_groups else {}
        return sorted(self._promised.get(contest, set()) - sizes.keys(), key=self._rank)

    def groups(self, contest: str, first: int = 0, last: int | None = None) -> list[tuple[tuple[str, ...], int]]:
        """The places whose ballots carry a contest, small ones joined with a neighbour: ((places), ballots); of all groups those from `first` to `last`."""
        return list(islice(self.small_groups[contest].all(), first, last)) if contest in self.small_groups else []

    def alone(self, place: str) -> frozenset[str]:
        """Contests whose votes may be shown for this place by itself: it has ballots enough, and no small place is shown with it."""
        found = self.counting.get(place)
        inn: Iterable[str] = found[1].core["contests"] if found else ()
        return frozenset(contest for contest in inn if self.small_groups[contest].alone(place))


def contests_of(roster: Roster) -> dict[str, Contest]:
    """Every contest that the newest place files ask for, in the office's order, each with the choices of all its ballots."""
    found: dict[str, Contest] = {}
    for place in roster.places.values():
        for contest in place.typed_contests():
            found[contest.id] = totals.with_choices(found.get(contest.id, contest), contest)
    return found
