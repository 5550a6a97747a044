"""A reader's arithmetic, written apart from the product: what all published sums together give back, by elimination over the rationals.

Every published number is a sum over atoms (ballots of one unit and way that came at one time). All sums and differences of published numbers are
the vectors of one space. A vector of that space that touches fewer than `small` ballots gives a small group's votes away.
"""

import csv
import io
from collections.abc import Iterable, Mapping, Sequence
from fractions import Fraction

Vector = dict[str, Fraction]


def eliminated(vectors: Iterable[Mapping[str, int]], order: Sequence[str]) -> list[tuple[str, Vector]]:
    """The reduced echelon form of these vectors, columns in this order: (pivot, row)."""
    rank = {name: i for i, name in enumerate(order)}
    found: list[tuple[str, Vector]] = []
    for vector in vectors:
        rest: Vector = {name: Fraction(n) for name, n in vector.items() if n}
        for pivot, row in found:
            if pivot in rest:
                rest = minus(rest, row, rest[pivot])
        if not rest:
            continue
        pivot = min(rest, key=rank.__getitem__)
        unit = {name: n / rest[pivot] for name, n in rest.items()}
        found = [(name, minus(row, unit, row[pivot]) if pivot in row else row) for name, row in found]
        found.append((pivot, unit))
    return found


def minus(one: Vector, other: Vector, times: Fraction) -> Vector:
    found = dict(one)
    for name, n in other.items():
        rest = found.get(name, Fraction(0)) - n * times
        if rest:
            found[name] = rest
        else:
            found.pop(name, None)
    return found


def given_away(vectors: Iterable[Mapping[str, int]], sizes: Mapping[str, int], small: int) -> list[set[str]]:
    """Groups of 1 to small - 1 ballots that the published sums give back. Empty: nobody's.

    Atoms of `small` ballots and more are eliminated first: what is left without any of them is about small atoms alone.
    """
    order = sorted(sizes, key=lambda name: -abs(sizes[name]))
    large = {name for name, n in sizes.items() if abs(n) >= small}
    rows = [row for pivot, row in eliminated(vectors, order) if pivot not in large]
    rows = [row for row in rows if any(sizes[name] for name in row)]
    supports = [set(row) for row in rows]
    apart = all(not one & other for i, one in enumerate(supports) for other in supports[:i])
    assert apart, "rows that overlap: look at every combination of them by hand"
    return [support for support in supports if 0 < sum(abs(sizes[name]) for name in support) < small]


def rank(vectors: Iterable[Mapping[str, int]], order: Sequence[str]) -> int:
    return len(eliminated(vectors, order))


def published(
    files: Iterable[bytes], parts: Mapping[str, Sequence[str]] | None = None
) -> dict[tuple[str, str], list[dict[str, int]]]:
    """Every sum in these results files as a vector over atoms, by contest: each row, each way of it that is filled, and the county's total.

    `parts`: cells of a whole place -> the ballots of its precincts that they are, so that a place that was published whole in one edition and by
    precinct in another is one and the same paper.
    """
    found: dict[tuple[str, str], list[dict[str, int]]] = {}
    for data in files:
        county: dict[tuple[str, str], dict[str, int]] = {}
        for row in csv.DictReader(io.StringIO(data.decode())):
            if not row["cell"]:
                continue
            key, atoms = (row["contest"], row["ballot_group"]), row["cell"].split(" ")
            vectors = [dict.fromkeys(atoms, 1)]
            for way in list(row)[8:]:
                if row[way] != "":
                    mine = [a for a in atoms if a.partition("/")[2].partition("+")[0].partition(".")[0] == way]
                    vectors.append(dict.fromkeys(mine, 1))
            whole = county.setdefault(key, {})
            whole |= dict.fromkeys(atoms, 1)
            seen = found.setdefault(key, [])
            seen += [vector for vector in vectors if vector not in seen]
        for key, whole in county.items():
            found[key].append(whole)
    return {key: [finer(vector, parts or {}) for vector in vectors] for key, vectors in found.items()}


def finer(vector: Mapping[str, int], parts: Mapping[str, Sequence[str]]) -> dict[str, int]:
    """The same sum over the smallest groups of ballots."""
    rest: dict[str, int] = {}
    for cell, n in vector.items():
        for one in parts.get(cell, (cell,)):
            rest[one] = rest.get(one, 0) + n
    return rest
