"""A line of the balance: left, right, the gap between them, and the words for it; and how a line is drawn for each scope.

Lines are made from *entries*: a figure's rows, each with its sign. Where both sides have rows of one scope (a precinct, a style, a
day) and nothing else on them lacks it, the line is drawn for each value of that scope as well as for the sum.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any, NamedTuple

from webapp.precinct.balance import line_sentences
from webapp.precinct.balance.figure_rows import DIMENSIONS, FigureRow, NamedFigure, Where


@dataclass(frozen=True)
class Line:
    """One line of the balance: `gap` = left - right, and the figures of each side; `said` where its sentence is of another kind (a seal's)."""

    id: str
    left: int
    right: int
    said: str = ""
    scope: Mapping[str, Any] | None = None
    notes: tuple[str, ...] = ()
    left_of: tuple[tuple[str, int], ...] = ()
    right_of: tuple[tuple[str, int], ...] = ()

    @cached_property
    def says(self) -> str:
        """Both figures, the difference, its direction. Built on demand: an office computes many lines and shows few."""
        return self.said or line_sentences.line(
            self.id, self.left, self.right, self.left_of, self.right_of, self.scope, self.notes
        )

    @property
    def gap(self) -> int:
        """left - right."""
        return self.left - self.right

    @property
    def name(self) -> str:
        """The name of this line in a remark: its id, and its scope after an at sign, as `poll-book@W3`."""
        return f"{self.id}@{','.join(self.scope.values())}" if self.scope else self.id

    def as_json(self) -> dict[str, Any]:
        """The object in `lines` of `tapeseal balance`."""
        scope = {"scope": dict(self.scope)} if self.scope else {}
        notes = {"notes": list(self.notes)} if self.notes else {}
        return {
            "id": self.id,
            **scope,
            "left": self.left,
            "right": self.right,
            "gap": self.gap,
            "says": self.says,
            **notes,
        }


@dataclass(frozen=True)
class Unchecked:
    """A line that cannot be drawn yet, and the keys of the figures it misses."""

    id: str
    missing: tuple[str, ...]
    scope: Mapping[str, Any] | None = None

    def as_json(self) -> dict[str, Any]:
        """The object in `unchecked` of `tapeseal balance`."""
        return {"id": self.id, **({"scope": dict(self.scope)} if self.scope else {}), "missing": list(self.missing)}


class LineEntry(NamedTuple):
    """A number of ballots (below zero where taken off) of one figure, with its scope."""

    key: str
    n: int
    where: Where = Where()


Drawn = Iterator[Line | Unchecked]


def entries(key: str, figure: NamedFigure | None, times: int = 1) -> list[LineEntry]:
    """The ballots of a figure as entries; later sheets are no ballots."""
    return [LineEntry(key, times * row.n.value, row.where) for row in (figure.ballots if figure else ())]


def weighed(key: str, figure: NamedFigure, weight: Callable[[FigureRow], int]) -> list[LineEntry]:
    """The rows of a figure as entries, times their weight; rows of weight 0 are left out."""
    found = ((row, weight(row)) for row in figure.ballots)
    return [LineEntry(key, times * row.n.value, row.where) for row, times in found if times]


def draw(
    id: str,
    left: Sequence[LineEntry],
    right: Sequence[LineEntry],
    missing: Iterable[str] = (),
    notes: Iterable[str] = (),
    scope: Mapping[str, Any] | None = None,
) -> Drawn:
    """Yields the line of the sum and of each scope both sides have; or one `Unchecked` while `missing` names a figure."""
    missing = tuple(dict.fromkeys(missing))
    if missing:
        yield Unchecked(id, missing, scope)
        return
    yield plain(id, left, right, notes, scope)
    if scope is not None or not any(any(entry.where) for entry in left):
        return
    for place, dimension in enumerate(DIMENSIONS):
        if not all(any(entry.where[place] is not None for entry in side) for side in (left, right)):
            continue
        bare = [entry.key for side in (left, right) for entry in side if entry.n and entry.where[place] is None]
        if bare:
            yield Unchecked(id, tuple(f"{key} by {dimension}" for key in dict.fromkeys(bare)), {dimension: None})
            continue
        for value in sorted({entry.where[place] for side in (left, right) for entry in side} - {None}, key=str):
            one, other = ([entry for entry in side if entry.where[place] == value] for side in (left, right))
            yield plain(id, one, other, (), {dimension: value})


def plain(
    id: str,
    left: Sequence[LineEntry],
    right: Sequence[LineEntry],
    notes: Iterable[str] = (),
    scope: Mapping[str, Any] | None = None,
) -> Line:
    """One line over these entries, with the figures of each side."""
    notes, sides = tuple(notes), (made_of(left), made_of(right))
    sums = sum(entry.n for entry in left), sum(entry.n for entry in right)
    return Line(id, *sums, "", scope, notes, *sides)


def made_of(side: Sequence[LineEntry]) -> tuple[tuple[str, int], ...]:
    """The figures of a side, each once, in order."""
    sums: dict[str, int] = {}
    for entry in side:
        sums[entry.key] = sums.get(entry.key, 0) + entry.n
    return tuple(sums.items())


def hand_counts(figures: Iterable[tuple[str, NamedFigure | None]]) -> Iterator[str]:
    """A note for each figure whose last two hand counts differ."""
    for key, figure in figures:
        for row in figure.rows if figure else ():
            if row.n.unsettled:
                yield line_sentences.unsettled(key, row.n.counts)
