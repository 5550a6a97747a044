"""Ballots added after the night, as the office's record has them: envelopes decided, counts, pools; which of them count, and what is open about them."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from webapp.canvass import counts as rules
from webapp.canvass import envelopes, recounts
from webapp.canvass.atoms import Atom, Figures
from webapp.canvass.counts import Count, CountLine, InForce
from webapp.canvass.edition import Way
from webapp.canvass.envelopes import COUNTY, Envelopes
from webapp.office.canvassing import board_votes
from webapp.office.questions import recounted
from webapp.office.questions.recounted import Recounts
from webapp.office.setup.roster import Roster
from webapp.office.totals.totals import with_choices
from webapp.precinct.place.place import Contest

KINDS = frozenset({"envelopes-decided", "count-in", "pool", "wait-waived", "voters-credited"}) | recounted.KINDS
RETURNS = "election-day"  # the way of the places' own returns: never counted in here


@dataclass(frozen=True, slots=True)
class Pool:
    """Places whose ballots of one way were counted together."""

    id: str
    places: tuple[str, ...]
    number: int
    since: tuple[int, bytes] = (0, b"")  # when it was kept, and the entry's id: of two of one name the first stands


class AddedBallots:
    """Kept up entry by entry. Only what two parties signed is in it."""

    def __init__(self, roster: Roster):
        self.roster = roster
        self.pools: dict[str, Pool] = {}
        self.recounts = Recounts()
        self.waived: set[str] = set()  # places for which no neighbor waits
        self.credited: dict[str, int] = {}  # place -> voters credited with having voted, as the office typed it last
        self._credited_at: dict[str, tuple[int, bytes]] = {}
        self._counts: list[Count] = []
        self.of_boards: dict[str, list[Count]] = {}  # count board -> absentee ballots by place, out of its packet
        self._envelopes: list[Envelopes] = []
        self._parts: dict[tuple[str, str], list[InForce]] = {}  # by unit and way, in the order of the parts
        self._standing: tuple[Mapping[Atom, InForce], Mapping[tuple[str, str], Envelopes]] | None = None

    def add(self, entry: Any) -> None:
        """One entry of the office's record; of any other kind it moves nothing."""
        body, said = entry.body, (entry.kept, entry.id, entry.number)
        if entry.kind == "count-in":
            self._counts.append(rules.of_body(body, *said))
        elif entry.kind == "envelopes-decided":
            self._envelopes.append(envelopes.of_body(body, *said))
        elif entry.kind == "pool":
            pool = Pool(body["id"], tuple(body["places"]), entry.number, (entry.kept, entry.id))
            self.pools[body["id"]] = min(pool, self.pools.get(body["id"], pool), key=lambda one: one.since)
        elif entry.kind == "wait-waived":
            self.waived.add(body["place"])
        elif entry.kind == "voters-credited":
            self._credit(body["credited"], (entry.kept, entry.id))
        else:
            self.recounts.add(entry)
        self._standing = None

    def _credit(self, figures: Mapping[str, int], since: tuple[int, bytes]) -> None:
        """Of two figures of one place the later kept counts, then the higher id."""
        for place, n in figures.items():
            if since >= self._credited_at.get(place, since):
                self.credited[place], self._credited_at[place] = n, since

    def from_board(self, board: str, counts: list[Count]) -> None:
        """The counts that a board's packet gives; [] where it gives none, or is not in the totals."""
        self.of_boards[board] = counts
        self._standing = None

    @property
    def ways(self) -> tuple[Way, ...]:
        """The ways that are counted in here."""
        return tuple(way for way in self.roster.office.ways if way.id != RETURNS)

    def way(self, name: str) -> Way | None:
        """Returns the way of voting with this id; None if the office file names none."""
        return next((way for way in self.ways if way.id == name), None)

    def way_of_return(self, place: str) -> str:
        """The way of the ballots of a place's own return; those of a count board are absentee ballots."""
        file = self.roster.places.get(place)
        return board_votes.way_of(self.roster) if file and file.kind == "board" else RETURNS

    def _stands(self) -> tuple[Mapping[Atom, InForce], Mapping[tuple[str, str], Envelopes]]:
        if self._standing is None:
            theirs = [count for counts in self.of_boards.values() for count in counts]
            self._standing = rules.in_force([*self._counts, *theirs]), envelopes.newest(self._envelopes)
            self._parts = {}
            for atom, found in sorted(self._standing[0].items()):
                self._parts.setdefault((atom.unit, atom.way), []).append(found)
        return self._standing

    @property
    def counts(self) -> Mapping[Atom, InForce]:
        """What is in force for every unit, way and part that was counted."""
        return self._stands()[0]

    def decided(self, unit: str, way: str) -> Envelopes | None:
        """What became of the envelopes of one unit and way."""
        return self._stands()[1].get((unit, way))

    def history(self, unit: str, way: str) -> list[Envelopes]:
        """Every decision about these envelopes, in the order in which they were kept."""
        return [one for one in self._envelopes if (one.unit, one.way) == (unit, way)]

    def parts(self, unit: str, way: str) -> list[InForce]:
        """The counts of one unit and way, part by part."""
        self._stands()
        return self._parts.get((unit, way), [])

    def entries_of(self, atom: Atom) -> list[Count]:
        """Every count that was ever kept of these ballots, in order."""
        return [one for one in self._counts if one.atom == atom]

    def against(self) -> list[Atom]:
        """Counts that contradict each other: none of them is in a figure."""
        return sorted(atom for atom, found in self.counts.items() if found.count is None)

    def counted(self, unit: str, way: str) -> int:
        """Ballots counted of one unit and way."""
        return sum(part.count.ballots for part in self.parts(unit, way) if part.count)

    def all_counted(self) -> int:
        """Ballots counted after the night, over all units and ways; those of a board's packet are in the totals."""
        return sum(part.count.ballots for part in self.counts.values() if part.count and part.count.source != "board")

    def counted_loose(self, way: str) -> int:
        """Ballots counted of one way in units whose own envelopes are not decided: those of envelopes that were not sorted."""
        return sum(
            part.count.ballots
            for atom, part in self.counts.items()
            if part.count and atom.way == way and not self.decided(atom.unit, way)
        )

    # --- units

    def name(self, unit: str) -> str:
        """A unit as people call it: of a pool the names of its places."""
        if unit == COUNTY:
            return "The whole county"
        if unit in self.pools:
            return " + ".join(self.place_name(place) for place in self.pools[unit].places)
        return self.place_name(unit)

    def place_name(self, place: str) -> str:
        """Returns the name of the place with this id; the id where it is not known."""
        found = self.roster.places.get(place) or self.roster.office.place(place)
        return found.name if found else place

    def is_unit(self, unit: str) -> bool:
        """Whether this is the county, a place, or a pool of places."""
        return unit == COUNTY or unit in self.roster.places or unit in self.pools

    def contests(self, unit: str) -> tuple[Contest, ...]:
        """The contests on the unit's ballots, in ballot order, each with the choices of all its places."""
        places = self.pools[unit].places if unit in self.pools else (unit,)
        found: dict[str, Contest] = {}
        for place in places:
            for contest in self.roster.places[place].contests:
                found[contest.id] = with_choices(found.get(contest.id, contest), contest)
        return tuple(found.values())

    def overvotes(self, unit: str) -> str:
        """How overvotes are counted there."""
        place = self.pools[unit].places[0] if unit in self.pools else unit
        return self.roster.places[place].rules.overvotes

    # --- for the editions

    def figures(self) -> Iterator[tuple[Count, Mapping[str, Figures]]]:
        """Every count in force, with its figures by contest. One of a pool that is not known yet waits for it."""
        known: dict[str, Mapping[str, Contest]] = {}
        for found in self.counts.values():
            if found.count and self.is_unit(found.count.unit):
                unit = found.count.unit
                if unit not in known:
                    known[unit] = {contest.id: contest for contest in self.contests(unit)}
                yield found.count, rules.figures(found.count, known[unit]) | self._recounted(found.count, known[unit])

    def _recounted(self, count: Count, known: Mapping[str, Contest]) -> dict[str, Figures]:
        """The rows of a count that were recounted."""
        rows = self.recounts.rows(count.atom)
        return {id: recounts.figures(row, known[id], count.ballots) for id, row in rows.items() if id in count.contests}

    def lines(self, count: Count, contests: Sequence[Contest]) -> list[CountLine]:
        """Every line that one count is checked by, those that agree too. The envelopes of a way are compared with all parts of it."""
        decided = self.decided(count.unit, count.way)
        others = sum(
            part.count.ballots
            for part in self.parts(count.unit, count.way)
            if part.count and part.count.part != count.part
        )
        to_count = decided.to_count - others if decided else None
        return list(rules.lines(count, contests, self.overvotes(count.unit), to_count))

    def open_envelopes(self) -> int:
        """Envelopes that are not decided yet, over all units and ways."""
        return sum(one.open for one in self._stands()[1].values())
