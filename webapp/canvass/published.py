"""What was published before, and what is kept now: which atoms are new, and which figures of old blocks are corrected.

A block that was published never grows. Where a return or a count has another number of ballots than was published of it, what was published
stays and the difference is an atom of its own. Where only votes moved, over the same ballots, the block's figures are corrected at once.
"""

from collections.abc import Collection, Mapping
from collections.abc import Set as AbstractSet
from dataclasses import dataclass

from webapp.canvass import split_places
from webapp.canvass.atoms import NONE, Atom, Figures, together
from webapp.canvass.blocks import Neighbors, grouped

Shown = tuple[tuple[Atom, Figures], ...]
"""One block with the figures of each atom in it. The atoms' own figures never leave the office."""


@dataclass(frozen=True, slots=True)
class OneContest:
    """A contest in one edition: its blocks in the order in which they came, and what is counted and waits."""

    blocks: tuple[Shown, ...] = ()
    waiting: tuple[tuple[Atom, Figures], ...] = ()

    @property
    def ballots_waiting(self) -> int:
        return sum(abs(figures.carried) for _, figures in self.waiting)


def next_edition(
    before: OneContest,
    now: Mapping[Atom, Figures],
    lists: Neighbors,
    held_back: Collection[str] = (),
    allowed: AbstractSet[str] = frozenset(),
) -> OneContest:
    """The contest in the edition after `before`, of all that is kept `now`. `held_back`: units whose new atoms wait for a small neighbor; `allowed`: cells
    that two parties signed to be shown although they are few."""
    if not before.blocks:
        return _with_new([], now, lists, held_back, allowed)  # nothing was published before: all of it is new
    published: dict[Atom, list[tuple[Atom, Figures]]] = {}
    for block in before.blocks:
        for atom, figures in block:
            published.setdefault(atom.base, []).append((atom, figures))
    now, split = split_places.as_published(published, now), split_places.told_apart(published)
    corrected: dict[Atom, Figures] = {}
    fresh: dict[Atom, Figures] = {}
    for base in {**published, **now}:  # in any order: what is new is ranked when blocks are made of it
        rows, figures = published.get(base, []), now.get(base, NONE)
        if len(rows) == 1 and rows[0][1] == figures:
            continue
        if not rows:
            fresh[base._replace(change=1) if base in split else base] = figures
            continue
        apart = figures.less(together(one for _, one in rows))
        if apart.carried:
            fresh[base._replace(change=1 + max(atom.change for atom, _ in rows))] = apart
        elif any(apart.votes.values()):
            atom, was = rows[0]
            corrected[atom] = was.plus(apart)
    blocks = list(before.blocks)
    if corrected:
        blocks = [tuple((atom, corrected.get(atom, figures)) for atom, figures in block) for block in blocks]
    return _with_new(blocks, fresh, lists, held_back, allowed)


def _with_new(
    blocks: list[Shown],
    fresh: Mapping[Atom, Figures],
    lists: Neighbors,
    held_back: Collection[str],
    allowed: AbstractSet[str],
) -> OneContest:
    """The blocks with those that the new atoms make behind them, and what waits."""
    back = {atom: figures for atom, figures in fresh.items() if atom.place in held_back and figures.carried}
    free = {atom: figures.carried for atom, figures in fresh.items() if atom not in back}
    new, small = grouped(free, lists)
    blocks += [tuple((atom, fresh[atom]) for atom in block) for block in new]
    waits = sorted([*back, *(atom for block in small for atom in block)], key=lists.rank)
    if shown := [atom for atom in waits if atom.cell in allowed]:
        blocks.append(tuple((atom, fresh[atom]) for atom in shown))
        waits = [atom for atom in waits if atom.cell not in allowed]
    return OneContest(tuple(blocks), tuple((atom, fresh[atom]) for atom in waits))


def held_back(lists: Neighbors, inn: Collection[str], issued: Mapping[str, int], waived: Collection[str]) -> set[str]:
    """Places that wait for a neighbor that is shown with them, is not in yet and was issued fewer ballots than 20 x small.

    `issued`: ballots each awaited place got, where the office knows; `waived`: places for which two parties said that nobody waits.
    """
    found = set()
    for place, beside in lists.beside.items():
        if place not in inn and place not in waived and 0 < issued.get(place, 0) < 20 * lists.small:
            found.add(beside)
    return found
