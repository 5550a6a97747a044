"""Faults in how the ovals of one style are read: each gives other columns for some contests, and the figures that change with them."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from webapp.deck.expected import Cell
from webapp.deck.piles import Columns, Pile, less
from webapp.deck.positions import DeckStyle
from webapp.deck.tally import Vector

Effect = dict[Cell, int]
Edits = Mapping[int, tuple[int, ...]]  # contest index -> its columns under the fault


@dataclass(frozen=True)
class Fault:
    """A fault by its kind and its facts, in the order in which JSON gives them."""

    kind: str
    facts: tuple[tuple[str, Any], ...] = ()

    def __getitem__(self, key: str) -> Any:
        return dict(self.facts)[key]

    def as_json(self) -> dict[str, Any]:
        """Returns the fault's kind and facts as one object of JSON; tuples become lists."""
        return {"fault": self.kind, **{key: _plain(value) for key, value in self.facts}}


def _plain(value: Any) -> Any:
    return [_plain(item) for item in value] if isinstance(value, tuple) else value


def fault(kind: str, **facts: Any) -> Fault:
    """A fault with these facts."""
    return Fault(kind, tuple(facts.items()))


def edits(one: Pile, found: Fault) -> Edits:
    """The columns that change when the ovals of one style are read so."""
    return EDITS[found.kind](one, found)


def _at(one: Pile, position: Sequence[str]) -> tuple[int, int]:
    i = one.style.index[position[0]]
    return i, one.style.contests[i].positions.index(position[1])


def _replaced(one: Pile, changes: Sequence[tuple[tuple[int, int], int]]) -> Edits:
    found: dict[int, list[int]] = {}
    for (i, p), column in changes:
        found.setdefault(i, list(one.columns[i]))[p] = column
    return {i: tuple(columns) for i, columns in found.items()}


def _exchange(one: Pile, found: Fault) -> Edits:
    a, b = (_at(one, position) for position in found["positions"])
    return _replaced(one, [(a, one.columns[b[0]][b[1]]), (b, one.columns[a[0]][a[1]])])


def _read_as(one: Pile, found: Fault) -> Edits:
    line, choice = (_at(one, position) for position in found["positions"])
    return _replaced(one, [(line, 0), (choice, one.columns[line[0]][line[1]] | one.columns[choice[0]][choice[1]])])


def _single(mask: Callable[[Pile, int, int], int]) -> Callable[[Pile, Fault], Edits]:
    def changed(one: Pile, found: Fault) -> Edits:
        i, p = _at(one, found["position"])
        return _replaced(one, [((i, p), mask(one, i, one.columns[i][p]))])

    return changed


def printed_choices(style: DeckStyle, contest: str) -> list[int]:
    """Indexes of a contest's choices as they follow on this style's paper."""
    found = style.contests[style.index[contest]]
    return [found.choices.index(x) for c, x in style.printed if c == contest and x in found.choices]


def _permuted(to: Callable[[Fault, int, int], int]) -> Callable[[Pile, Fault], Edits]:
    """The k-th printed choice of m is read as the one printed at to(fault, k, m)."""

    def changed(one: Pile, found: Fault) -> Edits:
        i, printed = one.style.index[found["contest"]], printed_choices(one.style, found["contest"])
        return _replaced(
            one, [((i, printed[to(found, k, len(printed))]), one.columns[i][p]) for k, p in enumerate(printed)]
        )

    return changed


def _file_order(one: Pile, found: Fault) -> Edits:
    i, printed = one.style.index[found["contest"]], printed_choices(one.style, found["contest"])
    return _replaced(one, [((i, k), one.columns[i][p]) for k, p in enumerate(printed)])


def _rearranged(one: Pile, found: Fault) -> Edits:
    """The k-th choice of the place file is read as the k-th of `choices`."""
    i = one.style.index[found["contest"]]
    choices = one.style.contests[i].choices
    return _replaced(one, [((i, choices.index(to)), one.columns[i][k]) for k, to in enumerate(found["choices"])])


def _shift_all(one: Pile, found: Fault) -> Edits:
    printed, by = one.style.printed_index, found["by"]
    changes = []
    for k, target in enumerate(printed):
        i, p = printed[k - by] if 0 <= k - by < len(printed) else (-1, 0)
        changes.append((target, one.columns[i][p] if i >= 0 else 0))
    return _replaced(one, changes)


EDITS: dict[str, Callable[[Pile, Fault], Edits]] = {
    "exchange": _exchange,
    "read-as": _read_as,
    "dead": _single(lambda one, i, column: 0),
    "stuck": _single(lambda one, i, column: one.carried[i]),
    "fold": _single(lambda one, i, column: column | (one.folded & one.carried[i])),
    "shift": _permuted(lambda found, k, m: (k + found["by"]) % m),
    "reversed": _permuted(lambda found, k, m: m - 1 - k),
    "order": _file_order,
    "rearranged": _rearranged,
    "shift-all": _shift_all,
}


def edited_effect(one: Pile, changed: Edits) -> Effect:
    """The figures that change with these columns; if the straight-party contest changes, every contest is counted again."""
    found: Effect = {}
    if one.parties and one.style.index[one.plan.straight] in changed:
        columns: Columns = tuple(changed.get(i, own) for i, own in enumerate(one.columns))
        for i, vector in enumerate(one.counts_of(columns)):
            note(found, one, i, vector)
    else:
        for i, columns_of_one in changed.items():
            note(found, one, i, one.count(i, columns_of_one))
    return found


def note(found: Effect, one: Pile, i: int, vector: Vector) -> None:
    """Add what contest i reads more with this vector than it should."""
    contest = one.style.contests[i]
    add_difference(found, contest.id, contest.cells, less(vector, one.counts[i]))


def add_difference(found: Effect, contest: str, cells: Sequence[str], difference: Sequence[int]) -> None:
    """Adds a difference to `found` in place, cell by cell; a cell whose sum is 0 is removed.

    cells, difference: of one contest, in the same order. Raises ValueError where their lengths differ.
    """
    for cell, more in zip(cells, difference, strict=True):
        if more:
            total = found.get((contest, cell), 0) + more
            if total:
                found[contest, cell] = total
            else:
                del found[contest, cell]
