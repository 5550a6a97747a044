"""The rule of small places, for the atoms of one contest that are new: which are shown together, and which wait for the next edition.

A block holds `small` ballots or more that carry the contest, or none. It is never split and never grows once it was published. So everything that
was ever published is a sum of whole blocks, and no sum or difference of it gives back fewer than `small` ballots.
"""

import heapq
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from webapp.canvass.atoms import Atom

Block = tuple[Atom, ...]


@dataclass(frozen=True, slots=True)
class Neighbors:
    """The office's lists. order: of units and of ways. beside: place -> the place that it is shown with while it is small."""

    order: Mapping[str, int]
    ways: Mapping[str, int]
    beside: Mapping[str, str]
    small: int = 10

    def rank(self, atom: Atom) -> tuple[Any, ...]:
        """The sort key of an atom: units in the office's order, ways in theirs. What the lists do not name comes last, by its id."""
        last = len(self.order) + len(self.ways)
        unit, way = self.order.get(atom.unit, last), self.ways.get(atom.way, last)
        return unit, atom.unit, way, atom.way, atom.part, atom.change

    def is_small(self, ballots: int) -> bool:
        """Fewer ballots than may be shown, more or fewer by a change alike."""
        return 0 < abs(ballots) < self.small


def grouped(sizes: Mapping[Atom, int], lists: Neighbors) -> tuple[list[Block], list[Block]]:
    """(blocks that may be published, groups that stay small and wait) of new atoms with the ballots of each that carry one contest.

    A function of the set of atoms alone: no order of arrival changes it.
    """
    atoms = sorted(sizes, key=lists.rank)
    if not any(lists.is_small(sizes[atom]) for atom in atoms):
        return [(atom,) for atom in atoms], []
    groups = _Groups(atoms, sizes, lists)
    groups.join()
    blocks: list[Block] = []
    waiting: list[Block] = []
    for began in sorted(groups.members):
        block = tuple(atoms[i] for i in sorted(groups.members[began]))
        (waiting if lists.is_small(groups.size[began]) else blocks).append(block)
    return blocks, waiting


class _Groups:
    """Groups that grow until none is small or nobody is left. A group's name is the rank of its first atom."""

    def __init__(self, atoms: Sequence[Atom], sizes: Mapping[Atom, int], lists: Neighbors):
        self.atoms, self.lists = atoms, lists
        self.members = {i: [i] for i in range(len(atoms))}
        self.size = {i: abs(sizes[atom]) for i, atom in enumerate(atoms)}
        self._home = list(range(len(atoms)))
        self._of_place: dict[str, list[int]] = {}
        self._of_way: dict[str, list[tuple[int, int]]] = {}
        self._all: list[tuple[int, int]] = []
        for i, atom in enumerate(atoms):
            self._of_place.setdefault(atom.place, []).append(i)
            self._of_way.setdefault(atom.way, []).append((self.size[i], i))
            self._all.append((self.size[i], i))
        for heap in (*self._of_way.values(), self._all):
            heapq.heapify(heap)

    def join(self) -> None:
        """The first small group joins its partner, again and again. A small one without a partner stays as it is."""
        small = [i for i in range(len(self.atoms)) if self.lists.is_small(self.size[i])]
        heapq.heapify(small)
        while small:
            name = heapq.heappop(small)
            if name not in self.members or not self.lists.is_small(self.size[name]):
                continue
            partner = self._partner(name)
            if partner is not None:
                merged = self._merge(name, partner)
                if self.lists.is_small(self.size[merged]):
                    heapq.heappush(small, merged)

    def _merge(self, one: int, other: int) -> int:
        name, gone = min(one, other), max(one, other)
        self.members[name] += self.members.pop(gone)
        self.size[name] += self.size.pop(gone)
        for i in self.members[name]:
            self._home[i] = name
        row = self.size[name], name
        for way in {self.atoms[i].way for i in self.members[name]}:
            heapq.heappush(self._of_way[way], row)
        heapq.heappush(self._all, row)
        return name

    def _partner(self, name: int) -> int | None:
        """Another atom of its own place; of the place it is shown with, same way first; the smallest group of that way; the smallest group."""
        mine = [self.atoms[i] for i in sorted(self.members[name])]
        for atom in mine:
            if found := self._first(name, self._of_place[atom.place]):
                return found[0]
        for atom in mine:
            beside = self._of_place.get(self.lists.beside.get(atom.place, ""), [])
            same = [i for i in beside if self.atoms[i].way == atom.way]
            if found := self._first(name, [*same, *beside]):
                return found[0]
        for atom in mine:
            if found := self._smallest(name, self._of_way[atom.way]):
                return found[0]
        found = self._smallest(name, self._all)
        return found[0] if found else None

    def _first(self, name: int, indexes: Iterable[int]) -> list[int]:
        """The group of the first of these atoms that is in another group and has ballots."""
        return next(([self._home[i]] for i in indexes if self._home[i] != name and self.size[self._home[i]]), [])

    def _smallest(self, name: int, heap: list[tuple[int, int]]) -> list[int]:
        """The smallest other group with ballots; rows of groups that have grown or gone are dropped on the way."""
        kept, found = [], []
        while heap:
            size, group = heap[0]
            if group not in self.members or self.size[group] != size or not size:
                heapq.heappop(heap)
            elif group == name:
                kept.append(heapq.heappop(heap))
            else:
                found = [group]
                break
        for row in kept:
            heapq.heappush(heap, row)
        return found
