"""The ballots of a deck as rows with their ids: pattern and special ballots of each unit, further precincts, the tabulators' ballot, cards to be refused."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from webapp.deck.pattern import Pattern, PatternSearch
from webapp.deck.positions import DeckPlan, DeckStyle
from webapp.deck.specials import Marks, Special, specials

REFUSED = ("other-edition", "other-place", "plain-paper")
FOLD_EVERY = 10  # 10 % of the ballots folded: S.D. Admin. R. 5:02:09:01.02


@dataclass(frozen=True)
class Row:
    """One ballot. `feeds`: times through each tabulator, {} meaning once; `sheets` 0: all sheets; `why`: for a card to be refused."""

    id: str
    kind: str
    style: str = ""
    precinct: str = ""
    why: str = ""
    marks: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    fold: bool = False
    names: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    sheets: int = 0
    feeds: Mapping[str, int] = field(default_factory=dict)

    @property
    def is_refused(self) -> bool:
        return self.kind == "refuse"

    def times(self, tabulator: str) -> int:
        """How often it is fed to this tabulator and counted."""
        return self.feeds.get(tabulator, 0) if self.feeds else 1

    def as_json(self) -> dict[str, Any]:
        """Returns the ballot as one object of JSON; what is empty is left out."""
        found: dict[str, Any] = {
            "id": self.id,
            "style": self.style,
            "precinct": self.precinct,
            "kind": self.kind,
            "why": self.why,
        }
        found = {key: value for key, value in found.items() if value}
        found["marks"] = {contest: list(positions) for contest, positions in self.marks.items()}
        if self.fold:
            found["fold"] = True
        if self.names:
            found["names"] = {contest: list(positions) for contest, positions in self.names.items()}
        if self.sheets:
            found["sheets"] = self.sheets
        return found | ({"feeds": dict(self.feeds)} if self.feeds else {})


@dataclass(frozen=True)
class DeckRows:
    """Every row of a deck in feeding order, and the number of pattern rows of each style (over its units)."""

    rows: tuple[Row, ...]
    pattern: Mapping[str, int]


def deck_rows(plan: DeckPlan) -> DeckRows:
    """All rows of the deck of this plan. Raises NoDeck."""
    search, by_style, pattern = PatternSearch(plan.straight, plan.dealing), {}, {}
    for style in plan.styles:
        rows: list[Row] = []
        pattern[style.id] = 0
        for precinct in style.precincts if plan.by_precinct else style.precincts[:1]:
            special = specials(style, plan.straight, plan.folded)
            found = search.unit(style, special)
            depth = max((column.bit_length() for columns in found for column in columns), default=0)
            prefix = f"{style.id}.{precinct}" if plan.by_precinct else style.id
            rows += _unit_rows(style, prefix, precinct, found, depth, special, plan.folded)
            pattern[style.id] += depth
        by_style[style.id] = rows
    _further_precincts(plan, by_style)
    if plan.folded:
        by_style = {style: _with_a_tenth_folded(rows) for style, rows in by_style.items()}
    return DeckRows(
        (*(row for rows in by_style.values() for row in rows), _tabulator_row(plan, by_style), *_cards_to_refuse(plan)),
        pattern,
    )


def _unit_rows(
    style: DeckStyle, prefix: str, precinct: str, pattern: Pattern, depth: int, special: list[Special], folded: bool
) -> Iterator[Row]:
    """Pattern rows, then special ones, numbered from 001."""
    named = {contest.id for contest in [c for c in style.contests if c.lines][::2]}
    for i in range(depth):
        marks = {
            c.id: tuple(p for p, column in enumerate(pattern[k]) if column >> i & 1)
            for k, c in enumerate(style.contests)
        }
        names = {
            c.id: lines
            for c in style.contests
            if c.id in named and (lines := tuple(p for p in marks[c.id] if p >= len(c.choices)))
        }
        yield Row(
            f"{prefix}-{i + 1:03d}",
            "pattern",
            style.id,
            precinct,
            marks=_spelled(style, marks),
            fold=folded and i % FOLD_EVERY == 0,
            names=_spelled(style, names),
        )
    for i, ballot in enumerate(special, depth + 1):
        yield Row(
            f"{prefix}-{i:03d}",
            ballot.kind,
            style.id,
            precinct,
            marks=_spelled(style, ballot.marks),
            fold=ballot.fold,
            names=_spelled(style, ballot.names),
            sheets=ballot.sheets,
        )


def _spelled(style: DeckStyle, marks: Marks) -> dict[str, tuple[str, ...]]:
    """Marks by index as marks by id, contests in the order of the style; a contest without marks is absent."""
    return {c.id: tuple(c.positions[p] for p in sorted(marks[c.id])) for c in style.contests if marks.get(c.id)}


def _further_precincts(plan: DeckPlan, by_style: dict[str, list[Row]]) -> None:
    """A blank ballot for each further precinct of a style, and more until no two precincts have equally many ballots."""
    ballots = dict.fromkeys(plan.precincts, 0)
    for rows in by_style.values():
        for row in rows:
            ballots[row.precinct] += 1

    def add(style: DeckStyle, precinct: str) -> None:
        rows = by_style[style.id]
        number = len(rows) + 1 if not plan.by_precinct else 901 + sum(row.kind == "precinct" for row in rows)
        rows.append(Row(f"{style.id}-{number:03d}", "precinct", style.id, precinct))
        ballots[precinct] += 1

    if not plan.by_precinct:
        for style in plan.styles:
            for precinct in style.precincts[1:]:
                add(style, precinct)
    for i, precinct in enumerate(plan.precincts):
        style = first_style(plan, precinct)
        while ballots[precinct] in [ballots[earlier] for earlier in plan.precincts[:i]]:
            add(style, precinct)


def _with_a_tenth_folded(rows: list[Row]) -> list[Row]:
    """Further rows folded where the special and the precincts' ballots leave less than a tenth: pattern rows 6, 16, 26 ..., then others."""
    pattern = [i for i, row in enumerate(rows) if row.kind == "pattern" and not row.fold]
    further = [i for i in pattern if i % FOLD_EVERY == FOLD_EVERY // 2]
    further += [i for i in pattern if i not in further] + [i for i, row in enumerate(rows) if row.kind == "precinct"]
    wanted = -(-(len(rows) + 1) // FOLD_EVERY) - sum(row.fold for row in rows)
    folded = set(further[: max(0, wanted)])
    return [replace(row, fold=True) if i in folded else row for i, row in enumerate(rows)]


def first_style(plan: DeckPlan, precinct: str) -> DeckStyle:
    """The first style that is voted in this precinct."""
    return next(style for style in plan.styles if precinct in style.precincts)


def _tabulator_row(plan: DeckPlan, by_style: dict[str, list[Row]]) -> Row:
    """One blank ballot fed once through the first tabulator, twice through the second, and so on; of the precinct with most ballots."""
    ballots = dict.fromkeys(plan.precincts, 0)
    for rows in by_style.values():
        for row in rows:
            ballots[row.precinct] += 1
    precinct = max(plan.precincts, key=lambda p: ballots[p])
    style = first_style(plan, precinct)
    return Row(f"{style.id}-T", "tabulator", style.id, precinct, feeds={t: i for i, t in enumerate(plan.tabulators, 1)})


def _cards_to_refuse(plan: DeckPlan) -> Iterator[Row]:
    """Three cards that every tabulator must hand back, its counter unmoved."""
    for i, why in enumerate(REFUSED, 1):
        yield Row(f"X-{i:03d}", "refuse", why=why, feeds=dict.fromkeys(plan.tabulators, 0))
