"""Each place's desk as it is read here, where several desks recorded something about it: whose steps count, and what another desk has otherwise.

A step about goods that one desk alone signed counts. Of one that two desks signed, that of the office itself is on
the place's page, else that of the first desk by name: a rule over the set of entries, in whatever order they came.
Nothing of the others is lost; what differs is a question.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace

from webapp.merging.brought import CHANGES, GOODS
from webapp.office.questions.desk_questions import DeskQuestion
from webapp.precinct.account.balanced_day import BalancedDay
from webapp.precinct.day.current_entry import CurrentEntry
from webapp.precinct.place.place import Place
from webapp.record.entry import Entry

OWN, HERE = "", "here"
"""The office's own desk, among the names of desks apart; the desk that stands, whichever it is."""


@dataclass(slots=True)
class _Row:
    origin: str
    entry: Entry
    texts: Mapping[str, str]
    step: str  # of a step about goods, or of what changes one: kind and container or tabulator; "" for anything else


@dataclass(slots=True)
class _OfPlace:
    rows: list[_Row] = field(default_factory=list)
    steps: dict[int, str] = field(default_factory=dict)  # number of an entry about goods -> its step
    by: dict[str, set[str]] = field(default_factory=dict)  # step -> desks that signed it

    def stands(self, row: _Row) -> bool:
        return not row.step or row.origin == min(self.by[row.step])  # the office's own name is the empty one, and first

    @property
    def twice(self) -> set[str]:
        """Steps that several desks signed."""
        return {step for step, desks in self.by.items() if len(desks) > 1}


class PlaceDesks:
    """By place what counts of its desk. Each entry costs the same, until a second desk signs the same step."""

    def __init__(self, places: Mapping[str, Place]):
        self.places = places
        self._days = {id: BalancedDay(place) for id, place in places.items()}
        self._of = {id: _OfPlace() for id in places}

    def __contains__(self, place: object) -> bool:
        return place in self._days

    def __getitem__(self, place: str) -> BalancedDay:
        return self._days[place]

    def add(self, place: str, origin: str, entry: Entry, texts: Mapping[str, str]) -> None:
        """Adds an entry about a place that this desk recorded."""
        mine = self._of[place]
        step = mine.steps.get(entry.body["of"], "") if entry.kind in CHANGES else _step(entry)
        row = _Row(origin, entry, texts, step)
        mine.rows.append(row)
        before = set(mine.by.get(step, ()))
        if step:
            mine.steps[entry.number] = step
            mine.by.setdefault(step, set()).add(origin)
        if before and origin < min(before):
            self._days[place] = self._folded(place, [one for one in mine.rows if mine.stands(one)])
        elif mine.stands(row):
            self._days[place].add(entry, texts)

    def desks(self, place: str) -> list[str]:
        """Every desk that signed something about the goods of a place; "" for the office's own."""
        return sorted({desk for desks in self._of[place].by.values() for desk in desks})

    def others(self, place: str) -> dict[str, BalancedDay]:
        """What does not count, by desk: steps that another desk signed too."""
        mine, found = self._of[place], dict[str, list[_Row]]()
        for row in mine.rows:
            if not mine.stands(row):
                found.setdefault(row.origin, []).append(row)
        return {origin: self._folded(place, rows) for origin, rows in sorted(found.items())}

    def all(self, place: str) -> Iterator[tuple[str, BalancedDay]]:
        """What counts, under the name "here", then what other desks have of the same steps, by their names."""
        yield HERE, self._days[place]
        if self._of[place].twice:
            yield from self.others(place).items()

    def whose(self, place: str, step: str) -> str:
        """The desk whose step counts."""
        return min(self._of[place].by.get(step, {OWN}))

    def _folded(self, place: str, rows: Iterable[_Row]) -> BalancedDay:
        day = BalancedDay(self.places[place])
        for row in rows:
            day.add(row.entry, row.texts)
        return day


def _step(entry: Entry) -> str:
    """What of the goods an entry is about: the step, and where it is done once for each container or tabulator."""
    return f"{entry.kind}:{entry.body.get('at') or ''}" if entry.kind in GOODS else ""


def questions(place: str, desks: PlaceDesks) -> Iterator[DeskQuestion]:
    """What two desks have otherwise about the goods of one place: containers, and the seals on them."""
    for origin, day in desks.others(place).items():
        for kind, sort, said in (("containers-in", "Containers", _containers), ("seals-read", "Seals", _seals)):
            mine, theirs = desks[place].last(kind), day.last(kind)
            here, there = (said(mine), said(theirs)) if mine and theirs else ("", "")
            if here != there:
                first = called(desks.whose(place, f"{kind}:"), True)
                says = f"{first} has {here or 'none'}; {called(origin)} has {there or 'none'}. Look at the goods, and say which is so."
                yield DeskQuestion(f"desks/{kind}/{origin or 'office'}", sort, says, (here, there))


def at(origin: str, asked: Iterable[DeskQuestion]) -> Iterator[DeskQuestion]:
    """The questions of one desk: those of a desk whose steps do not count bear its name, so that both are asked."""
    for one in asked:
        name, says = f"{one.name}/{origin or 'office'}", f"At {called(origin)}: {one.says}"
        yield one if origin == HERE else replace(one, name=name, says=says)


def called(desk: str, first: bool = False) -> str:
    """A desk as it is called in a sentence."""
    words = f"desk {desk}" if desk else "this office"
    return words[:1].upper() + words[1:] if first else words


def _containers(kept: CurrentEntry) -> str:
    return ", ".join(sorted(name for name, there in (kept.body.get("here") or {}).items() if there))


def _seals(kept: CurrentEntry) -> str:
    return ", ".join(f"{name} {seal}" for name, seal in sorted((kept.body.get("seals") or {}).items()) if seal)
