"""Finds the sets of mistakes that add up to exactly the gaps: solved by linear algebra, not by trial.

Mistakes that move the same lines in the same proportion are on one *ray*; a set is a few rays with a whole number on each. For rays whose
lines can meet the gaps there is one solution; which mistakes give that number on a ray is then looked up. Time grows with the kinds of
effects, not with ballots: one tabulator has about twenty rays, ten have about eighty.
"""

from collections.abc import Iterable, Iterator
from itertools import combinations
from math import gcd
from typing import NamedTuple

from webapp.precinct.explain.mistake_sizes import Wide
from webapp.precinct.explain.mistakes import ANOTHER, Family, Mistake, clash

Gaps = dict[int, int]
ENOUGH = 10


class SearchChoice(NamedTuple):
    """One family in one size, with its cost in bits. `n`: the size; `t`: the multiple of the ray's direction."""

    cost: float
    family: Family
    n: int


class Found(NamedTuple):
    """A set of mistakes that adds up, and its cost in bits."""

    cost: float
    choices: tuple[SearchChoice, ...]


class Ray:
    """All mistakes whose effects are whole multiples of one direction d: effects = t x d, t = n x (effects of size 1) / d."""

    __slots__ = ("direction", "lines", "mask", "out", "within", "families", "looked_up", "listed")

    def __init__(self, direction: tuple[tuple[int, int], ...]):
        self.direction = direction
        self.lines = dict(direction)
        self.mask = sum(1 << line for line, _ in direction)
        self.out = self.within = 0
        self.families: list[tuple[Family, int]] = []
        self.looked_up: dict[int, list[SearchChoice]] = {}
        self.listed: list[tuple[int, SearchChoice]] | None = None

    def at(self, t: int) -> list[SearchChoice]:
        """The mistakes of this ray, each in its size, at multiple `t`."""
        if t not in self.looked_up:
            self.looked_up[t] = found = []
            for family, k in self.families:
                if t % k == 0:
                    cost = family.size.cost(t // k)
                    if cost is not None:
                        found.append(SearchChoice(cost, family, t // k))
            found.sort(key=lambda choice: choice.cost)
        return self.looked_up[t]

    def ordinary(self) -> list[tuple[int, SearchChoice]]:
        """(multiple, choice) of every mistake of this ray in every ordinary size."""
        if self.listed is None:
            self.listed = [
                (n * k, SearchChoice(cost, family, n))
                for family, k in self.families
                for n in family.size.ordinary()
                if n and (cost := family.size.cost(n)) is not None
            ]
        return self.listed


def direction_of(effects: Iterable[tuple[int, int]]) -> tuple[tuple[tuple[int, int], ...], int]:
    """(direction, multiple): the smallest direction of some effects, its first line upward, and the multiple they are of it."""
    effects = tuple(effects)
    k = gcd(*(n for _, n in effects)) * (1 if effects[0][1] > 0 else -1)
    return tuple((line, n // k) for line, n in effects), k


class Rays:
    """All rays of a night, and the searches over them."""

    def __init__(self, families: Iterable[Family], gaps: Gaps, both_ways: bool = False):
        self.gaps, self.both_ways = gaps, both_ways
        self.goal = sum(1 << line for line in gaps)
        self.by_direction: dict[tuple[tuple[int, int], ...], Ray] = {}
        for family in families:
            direction, k = direction_of(family.effects)
            ray = self.by_direction.get(direction) or self.by_direction.setdefault(direction, Ray(direction))
            ray.families.append((family, k))
        self.rays = list(self.by_direction.values())
        self.by_out: dict[int, list[Ray]] = {}
        for ray in self.rays:
            ray.out, ray.within = ray.mask & ~self.goal, ray.mask & self.goal
            self.by_out.setdefault(ray.out, []).append(ray)

    def singles(self) -> list[Found]:
        """Single mistakes that give the gaps."""
        direction, t = direction_of(sorted(self.gaps.items()))
        ray = self.by_direction.get(direction)
        return [Found(choice.cost, (choice,)) for choice in ray.at(t)] if ray else []

    def pairs(self) -> Iterator[Found]:
        """Sets of two that give the gaps."""
        for one, other in self.meeting_pairs():
            amounts = solve_two(one.lines, other.lines, self.gaps)
            if amounts:
                yield from couples(one.at(amounts[0]), other.at(amounts[1]), self.both_ways)
        direction, t = direction_of(sorted(self.gaps.items()))
        if direction in self.by_direction:
            yield from couples_on(self.by_direction[direction], t, self.both_ways)

    def meeting_pairs(self) -> Iterator[tuple[Ray, Ray]]:
        """Pairs of rays that move every line with a gap, and any other line only together."""
        for group in self.by_out.values():
            for one, other in combinations(group, 2):
                if one.within | other.within == self.goal:
                    yield one, other

    def rest(self, choice: SearchChoice) -> Gaps:
        """The gaps less this mistake's effects."""
        left = dict(self.gaps)
        for line, n in choice.family.effects:
            left[line] = left.get(line, 0) - n * choice.n
        return {line: n for line, n in left.items() if n}

    def has_partner(self, choice: SearchChoice) -> bool:
        """Whether this mistake is in a set of one or two that gives the gaps."""
        left = self.rest(choice)
        if not left:
            return True
        direction, t = direction_of(sorted(left.items()))
        ray = self.by_direction.get(direction)
        return ray is not None and any(
            not clash(choice.family, choice.n, other.family, other.n, True) for other in ray.at(t)
        )


def couples(ones: list[SearchChoice], others: list[SearchChoice], both_ways: bool) -> Iterator[Found]:
    """Sets of one of each, those that may be in one explanation."""
    for one in ones:
        for other in others:
            if not clash(one.family, one.n, other.family, other.n, both_ways):
                yield Found(one.cost + other.cost + ANOTHER, (one, other))


def couples_on(ray: Ray, t: int, both_ways: bool) -> Iterator[Found]:
    """Two mistakes of one ray whose multiples add up to `t`: one of ordinary size, or both large."""
    seen = set()
    pairs = [(choice, other) for far, choice in ray.ordinary() for other in ray.at(t - far)]
    pairs += large_couples(ray, t)
    for one, other in pairs:
        key = frozenset(((id(one.family), one.n), (id(other.family), other.n)))
        if len(key) == 2 and key not in seen and not clash(one.family, one.n, other.family, other.n, both_ways):
            seen.add(key)
            yield Found(one.cost + other.cost + ANOTHER, (one, other))


def large_couples(ray: Ray, t: int) -> Iterator[tuple[SearchChoice, SearchChoice]]:
    """Two mistakes of 5 or more each, those with the fewest ballots first, as many as an answer can show."""
    wide = [
        (family, size, k) for family, k in ray.families if isinstance(size := family.size, Wide) and size.open_ended
    ]
    for (one, own, k), (other, size, m) in combinations(wide, 2):
        first = max(5, own.least, met_from(t, k, m, size))
        for n in range(first, first + ENOUGH * abs(m) * max(own.step, size.step)):
            cost = own.cost(n)
            if cost is not None:
                yield from (
                    (SearchChoice(cost, one, n), choice) for choice in ray.at(t - n * k) if choice.family is other
                )


def met_from(t: int, k: int, m: int, other: Wide) -> int:
    """The smallest size, at `k` a ballot, whose rest up to `t` the other can be, at `m` a ballot; 1 where the other has no end."""
    edge = other.most if k * m > 0 else other.least
    return 1 if edge is None else -((edge * m - t) // k)


def solve_two(one: dict[int, int], other: dict[int, int], gaps: Gaps) -> tuple[int, int] | None:
    """Whole numbers (a, b), neither 0, with a x one + b x other = gaps; None where there are none."""
    rows = [(one.get(line, 0), other.get(line, 0), gaps.get(line, 0)) for line in one.keys() | other.keys()]
    x, y, g = rows[0]
    for p, q, h in rows[1:]:
        det = x * q - y * p
        if det:
            a, b = g * q - y * h, x * h - g * p
            if a % det or b % det:
                return None
            a, b = a // det, b // det
            return (a, b) if a and b and all(a * u + b * v == w for u, v, w in rows) else None
    return None


def as_mistakes(found: Found) -> tuple[Mistake, ...]:
    """The set as mistakes, in the order of CODES."""
    chosen = sorted(found.choices, key=lambda choice: (choice.family.rank, str(choice.family.scope)))
    return tuple(Mistake(choice.family, choice.n) for choice in chosen)
