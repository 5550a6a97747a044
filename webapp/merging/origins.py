"""Each place's desk as it is read here, where several desks kept something about it: whose goods stand, and what another desk has otherwise.

Of goods that were taken over at two desks those of the office itself stand on the place's page, else those of the first desk by name: a rule
over the set of entries, whatever came first. Nothing of the others is lost; what differs is a question.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace

from webapp.merging.brought import CHANGES, GOODS
from webapp.office.desk_questions import DeskQuestion
from webapp.precinct.account.balanced_day import BalancedDay
from webapp.precinct.place.place import Place
from webapp.record.entry import Entry

OWN, HERE = "", "here"
"""The office's own desk, among the names of desks apart; the desk that stands, whichever it is."""


@dataclass(slots=True)
class _Row:
    origin: str
    entry: Entry
    texts: Mapping[str, str]
    goods: bool


@dataclass(slots=True)
class _OfPlace:
    rows: list[_Row] = field(default_factory=list)
    goods: set[int] = field(default_factory=set)  # numbers of entries about goods
    origins: set[str] = field(default_factory=set)  # desks that signed for goods of the place
    stands: str = OWN


class PlaceDesks:
    """By place what stands of its desk. In the order in which entries come, each costs the same until a second desk takes goods over."""

    def __init__(self, places: Mapping[str, Place]):
        self.places = places
        self._days = {id: BalancedDay(place) for id, place in places.items()}
        self._of = {id: _OfPlace() for id in places}

    def __contains__(self, place: object) -> bool:
        return place in self._days

    def __getitem__(self, place: str) -> BalancedDay:
        return self._days[place]

    def add(self, place: str, origin: str, entry: Entry, texts: Mapping[str, str]) -> None:
        """One more entry about a place, kept at this desk."""
        mine = self._of[place]
        goods = entry.kind in GOODS or (entry.kind in CHANGES and entry.body["of"] in mine.goods)
        mine.rows.append(_Row(origin, entry, texts, goods))
        if goods:
            mine.goods.add(entry.number)
            mine.origins.add(origin)
        stands = OWN if OWN in mine.origins or not mine.origins else min(mine.origins)
        if stands != mine.stands and len(mine.origins) > 1:
            mine.stands = stands
            self._days[place] = self._folded(place, stands, True)
        elif not goods or origin == stands:
            self._days[place].add(entry, texts)
        mine.stands = stands

    def desk(self, place: str) -> str:
        """The desk whose goods stand; "" for the office's own, or where none has any."""
        return self._of[place].stands

    def others(self, place: str) -> dict[str, BalancedDay]:
        """What other desks kept about the goods of a place that was taken over at several, by desk."""
        mine = self._of[place]
        return {origin: self._folded(place, origin, False) for origin in sorted(mine.origins - {mine.stands})}

    def all(self, place: str) -> Iterator[tuple[str, BalancedDay]]:
        """The desk that stands, under the name "here", then the others by theirs."""
        yield HERE, self._days[place]
        if len(self._of[place].origins) > 1:
            yield from self.others(place).items()

    def _folded(self, place: str, origin: str, whole: bool) -> BalancedDay:
        """The goods of one desk; `whole`: with everything else that any desk kept about the place."""
        day = BalancedDay(self.places[place])
        for row in self._of[place].rows:
            if row.origin == origin if row.goods else whole:
                day.add(row.entry, row.texts)
        return day


def questions(place: str, desks: PlaceDesks) -> Iterator[DeskQuestion]:
    """What two desks have otherwise about the goods of one place."""
    others = desks.others(place) if place in desks else {}
    for origin, day in others.items():
        here, there = _said(desks[place]), _said(day)
        if here and there and here != there:
            says = f"{called(desks.desk(place), True)} has {_in_words(here)}; {called(origin)} has {_in_words(there)}. Look at the goods, and say which is so."
            yield DeskQuestion(f"desks/{origin or 'office'}", "Containers", says, (_in_words(here), _in_words(there)))


def at(origin: str, asked: Iterable[DeskQuestion]) -> Iterator[DeskQuestion]:
    """The questions of one desk: those of another than the one that stands bear its name, so that both are asked."""
    for one in asked:
        name, says = f"{one.name}/{origin or 'office'}", f"At {called(origin)}: {one.says}"
        yield one if origin == HERE else replace(one, name=name, says=says)


def called(desk: str, first: bool = False) -> str:
    """A desk as it is called in a sentence."""
    words = f"desk {desk}" if desk else "this office"
    return words[:1].upper() + words[1:] if first else words


def _said(day: BalancedDay) -> dict[str, str]:
    """Each container with its seal as this desk has them; {} where it has not got so far."""
    seen, read = day.last("containers-in"), day.last("seals-read")
    here = {name: "" for name, there in (seen.body.get("here") or {}).items() if there} if seen else {}
    seals = read.body.get("seals") or {} if read else {}
    return here | {name: number for name, number in seals.items() if number}


def _in_words(found: Mapping[str, str]) -> str:
    return ", ".join(f"{name} with seal {seal}" if seal else name for name, seal in sorted(found.items()))
