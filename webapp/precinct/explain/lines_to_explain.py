"""The lines that explanations must close, and a collector of the mistakes that move them.

Where a line is drawn by precinct, style or day too, a mistake is one for each such scope and names it; only scopes that the rows know are
tried.
"""

from collections.abc import Iterable, Iterator, Mapping
from itertools import product
from typing import Any

from webapp.precinct.balance.all_lines import EXPLAINED
from webapp.precinct.balance.figure_rows import DIMENSIONS, NamedFigure, Where
from webapp.precinct.balance.line import Line
from webapp.precinct.balance.lines_tabulators import holds
from webapp.precinct.balance.night_figures import NightFigures
from webapp.precinct.explain.mistake_sizes import BUNDLES, FEW, Size
from webapp.precinct.explain.mistakes import CODES, Family

Effects = Mapping[str, int]


def explained(line: Line) -> bool:
    """Whether explanations must account for this line."""
    return line.id.split(":")[0] in EXPLAINED


class LinesToExplain:
    """The lines to explain, numbered, and the scopes each is drawn by."""

    def __init__(self, lines: Iterable[Line]):
        self.lines = tuple(line for line in lines if explained(line))
        self.number: dict[tuple[str, str | None, str | None], int] = {}
        self.dimensions: dict[str, tuple[str, ...]] = {}
        for n, line in enumerate(self.lines):
            dimension, value = next(iter((line.scope or {}).items()), (None, None))
            self.number[line.id, dimension, value] = n
            if dimension in DIMENSIONS:
                self.dimensions[line.id] = tuple(dict.fromkeys((*self.dimensions.get(line.id, ()), dimension)))
        self.gaps = {n: line.gap for n, line in enumerate(self.lines) if line.gap}

    def on(self, effects: Effects, scope: Where, run: Mapping[str, str] | None = None) -> dict[int, int]:
        """{line number: ballots} of these effects: on the sum and on the scope's own line. `stock@copy` is the copies' own pile."""
        found: dict[int, int] = {}
        effects = {**effects, "paper-to-book": effects.get("stock", 0) - effects.get("poll-book", 0)}
        for id, n in effects.items():
            if not n:
                continue
            line, _, origin = id.partition("@")
            here = {"origin": origin} if origin else (run or {}) if id.startswith("lifetime:") else {}
            keys = [(line, *next(iter(here.items()), (None, None)))]
            keys += [(id, dimension, value) for dimension, value in zip(DIMENSIONS, scope) if value is not None]
            found.update((self.number[key], n) for key in keys if key in self.number)
        return found

    def needed(self, effects: Effects) -> tuple[str, ...]:
        """The scopes that a mistake with these effects has to name."""
        ids = [id for id, n in effects.items() if n]
        if effects.get("stock", 0) != effects.get("poll-book", 0):
            ids.append("paper-to-book")
        return tuple(d for d in DIMENSIONS if any(d in self.dimensions.get(id, ()) for id in ids))

    def values(self, dimension: str) -> list[str]:
        """The values of one scope over all lines."""
        return sorted({value for _, found, value in self.number if found == dimension and value is not None})


class MistakeCollector:
    """Collects the families of one night."""

    def __init__(self, night: NightFigures, lines: LinesToExplain):
        self.night, self.lines = night, lines
        self.holds = holds(night)
        self.pack = night.rules.pack or 100
        self.bundles = frozenset((1, 2, *BUNDLES, self.pack))
        self.sheets = frozenset((*range(1, FEW + 1), *BUNDLES, self.pack))
        self.wheres = {row.where for figure in all_figures(night) for row in figure.rows}
        self.open_piles = [
            line.scope["origin"] for line in lines.lines if line.gap and line.scope and "origin" in line.scope
        ]
        self.families: list[Family] = []
        self.seen_scopes: dict[tuple[str, ...], list[Where]] = {}

    def scopes(self, effects: Effects, known: Where = Where()) -> list[Where]:
        """Every scope that a mistake with these effects may have, as the rows know them, given those `known`."""
        needed = self.lines.needed(effects)
        if not needed:
            return [Where()]
        if needed not in self.seen_scopes:
            parts = [[w if d in needed else None for d, w in zip(DIMENSIONS, where)] for where in self.wheres]
            found = {Where(*part) for part in parts if sum(w is not None for w in part) == len(needed)}
            drawn = [self.lines.values(d) if d in needed else [None] for d in DIMENSIONS]
            found = {where for where in found if all(w in values for w, values in zip(where, drawn))} or {
                Where(*w) for w in product(*drawn)
            }
            self.seen_scopes[needed] = sorted(found, key=str)
        return [
            scope
            for scope in self.seen_scopes[needed]
            if all(k is None or s is None or k == s for k, s in zip(known, scope))
        ]

    def add(
        self,
        code: str,
        effects: Effects,
        size: Size,
        rank: tuple[Any, ...] = (),
        figure: Any = None,
        way: int = 0,
        known: Where | None = None,
        run: Mapping[str, str] | None = None,
        also: tuple[tuple[Any, int], ...] = (),
        drift: int = 0,
        corrects: tuple[str, int] | None = None,
        said: tuple[tuple[str, str], ...] = (),
        **keys: str,
    ) -> None:
        """Add one family for each scope, unless it moves no line."""
        keys = {key.rstrip("_"): value for key, value in keys.items()}
        for scope in self.scopes(effects, known or Where()):
            vector = self.lines.on(effects, scope, run)
            if not vector:
                continue
            named = tuple(dict((*said, *scope.said().items())).items())
            own = (((figure, scope), way),) if figure is not None else ()
            figures = own + tuple(((what, scope), back) for what, back in also)
            self.families.append(
                Family(
                    code,
                    tuple(keys.items()),
                    tuple(sorted(vector.items())),
                    size,
                    (CODES.index(code), *rank),
                    named,
                    figures,
                    drift,
                    corrects,
                )
            )


def all_figures(night: NightFigures) -> Iterator[NamedFigure]:
    """Every figure whose rows may name a scope."""
    if night.stock:
        yield from (f for f in (night.stock.received, night.stock.unused, night.stock.resupply, night.stock.sent) if f)
    yield from (people.n for people in night.people if people.n)
    yield from (*night.aside.values(), *night.cast_from.values())
    yield from (tabulator.tape for tabulator in night.tabulators if tabulator.tape)
