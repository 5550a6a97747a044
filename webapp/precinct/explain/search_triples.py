"""Sets of three, looked for only where no one or two mistakes add up.

Three rays again give one solution, unless they depend on each other; then one of the three takes each of its ordinary sizes in turn.
A line without a gap must be moved by two of the three, and every gap by one: that leaves few threes to solve.
"""

from collections.abc import Iterator

from webapp.precinct.explain.mistakes import ANOTHER, clash
from webapp.precinct.explain.search import Found, Gaps, Ray, Rays, SearchChoice, solve_two

Row = tuple[int, int, int, int]


def triples(rays: Rays) -> Iterator[Found]:
    """Sets of three that give the gaps: on three rays, or with two mistakes on one ray."""
    for three in meeting_threes(rays):
        amounts = solve_three(three, rays.gaps)
        if amounts is None:
            continue
        if amounts:
            yield from trios(*(ray.at(t) for ray, t in zip(three, amounts)))
        else:
            yield from dependent(three, rays.gaps)
    yield from two_on_one_ray(rays)


def meeting_threes(rays: Rays) -> Iterator[tuple[Ray, Ray, Ray]]:
    """Three rays that together move each gap, and each other line twice or not at all.

    One of them moves the gap that the fewest rays move; it is named first, and no three comes twice.
    """
    line = 1 << min(rays.gaps, key=lambda line: sum(line in ray.lines for ray in rays.rays))
    movers = [ray for ray in rays.rays if ray.mask & line]
    place = {id(ray): n for n, ray in enumerate(movers + [ray for ray in rays.rays if not ray.mask & line])}
    fitting: dict[tuple[int, int], list[Ray]] = {}
    for first, one in enumerate(movers):
        for other in rays.rays:
            if place[id(other)] <= first:
                continue
            once, either = one.out ^ other.out, one.out | other.out
            if (once, either) not in fitting:
                fitting[once, either] = [
                    ray for out, group in rays.by_out.items() if not out & ~either and not once & ~out for ray in group
                ]
            second, within = place[id(other)], one.within | other.within
            for third in fitting[once, either]:
                if place[id(third)] > second and within | third.within == rays.goal:
                    yield one, other, third


def solve_three(three: tuple[Ray, Ray, Ray], gaps: Gaps) -> tuple[int, int, int] | tuple[()] | None:
    """Whole numbers, none 0, on the three rays; () where the rays are linearly dependent; None where there are none."""
    a, b, c = (ray.lines for ray in three)
    rows: list[Row] = [
        (a.get(line, 0), b.get(line, 0), c.get(line, 0), gaps.get(line, 0)) for line in a.keys() | b.keys() | c.keys()
    ]
    chosen = independent(rows)
    if chosen is None:
        return None
    if len(chosen) < 3:
        return ()
    p, q, r = chosen
    det = determinant(p, q, r, 0, 1, 2)
    found = [determinant(p, q, r, 3, 1, 2), determinant(p, q, r, 0, 3, 2), determinant(p, q, r, 0, 1, 3)]
    if any(n == 0 or n % det for n in found):
        return None
    x, y, z = (n // det for n in found)
    return (x, y, z) if all(x * row[0] + y * row[1] + z * row[2] == row[3] for row in rows) else None


def independent(rows: list[Row]) -> list[Row] | None:
    """Up to three linearly independent rows; None where rows contradict one another."""
    chosen: list[Row] = []
    reduced: list[list[int]] = []
    for row in rows:
        left = list(row)
        for base in reduced:
            lead = next(i for i in range(4) if base[i])
            if left[lead]:
                k, m = left[lead], base[lead]
                left = [m * x - k * y for x, y in zip(left, base)]
        if not any(left):
            continue
        if not any(left[:3]):
            return None
        reduced.append(left)
        chosen.append(row)
    return chosen


def determinant(p: Row, q: Row, r: Row, i: int, j: int, k: int) -> int:
    """The determinant of three rows over columns i, j, k."""
    return p[i] * (q[j] * r[k] - q[k] * r[j]) - p[j] * (q[i] * r[k] - q[k] * r[i]) + p[k] * (q[i] * r[j] - q[j] * r[i])


def dependent(three: tuple[Ray, Ray, Ray], gaps: Gaps) -> Iterator[Found]:
    """Sets on linearly dependent rays: the last takes each of its ordinary sizes, the others follow."""
    one, other, third = three
    for far, choice in third.ordinary():
        left = {line: gaps.get(line, 0) - far * third.lines.get(line, 0) for line in gaps.keys() | third.lines.keys()}
        amounts = solve_two(one.lines, other.lines, left)
        if amounts and not any(n for line, n in left.items() if line not in one.lines and line not in other.lines):
            yield from trios(one.at(amounts[0]), other.at(amounts[1]), [choice])


def two_on_one_ray(rays: Rays) -> Iterator[Found]:
    """Two mistakes of one ray with a third of another; sizes that one mistake alone cannot have."""
    for one, other in rays.meeting_pairs():
        amounts = solve_two(one.lines, other.lines, rays.gaps)
        for (ray, t), (alone, s) in (
            (((one, amounts[0]), (other, amounts[1])), ((other, amounts[1]), (one, amounts[0]))) if amounts else ()
        ):
            for far, choice in ray.ordinary():
                yield from trios([choice], ray.at(t - far), alone.at(s))


def trios(ones: list[SearchChoice], others: list[SearchChoice], thirds: list[SearchChoice]) -> Iterator[Found]:
    """Sets of one of each, those that may be in one explanation."""
    for one in ones:
        for other in others:
            if clash(one.family, one.n, other.family, other.n):
                continue
            for third in thirds:
                if not clash(one.family, one.n, third.family, third.n) and not clash(
                    other.family, other.n, third.family, third.n
                ):
                    yield Found(one.cost + other.cost + third.cost + 2 * ANOTHER, (one, other, third))
