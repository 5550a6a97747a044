"""Places whose figures are kept by precinct, over the editions: what was published of the whole place stays whole, what was published apart stays apart.

No precinct is ever told apart in a return that was published whole: the whole and one part give the other. Where a
return was published by precinct, and its figures now are those of the whole place only (a recount, a finding), the
precincts stay as they were published, and what the place has more or fewer is an atom of the whole place: of no
ballots, if only votes moved, and then shown at once.
"""

from collections.abc import Iterable, Mapping, Sequence

from webapp.canvass.atoms import APART, Atom, Figures, together

Rows = Sequence[tuple[Atom, Figures]]


def as_published(published: Mapping[Atom, Rows], now: Mapping[Atom, Figures]) -> Mapping[Atom, Figures]:
    """What is kept `now`, in the units in which it was `published`, rows by base. `now` itself where no place has both."""
    apart = told_apart(published) | told_apart(now)
    mixed = {
        whole for whole in apart if whole in published or whole in now
    }  # whole at one time, by precinct at another
    if not mixed:
        return now
    shown = {base: together(one for _, one in rows) for base, rows in published.items() if base.whole in mixed}
    was, is_ = _families(shown), _families({atom: one for atom, one in now.items() if atom.whole in mixed})
    found = {atom: figures for atom, figures in now.items() if atom.whole not in mixed}
    for whole in mixed:
        found |= _one(whole, was.get(whole, {}), is_.get(whole, {}))
    return found


def _families(figures: Mapping[Atom, Figures]) -> dict[Atom, dict[Atom, Figures]]:
    """The atoms of each place and count, whole and by precinct."""
    found: dict[Atom, dict[Atom, Figures]] = {}
    for atom, one in figures.items():
        found.setdefault(atom.whole, {})[atom] = one
    return found


def _one(whole: Atom, was: Mapping[Atom, Figures], now: Mapping[Atom, Figures]) -> dict[Atom, Figures]:
    """One count of one place."""
    if not was or not now:
        return dict(now)
    precincts = {atom: figures for atom, figures in was.items() if APART in atom.unit}
    if not precincts:
        return {whole: together(now.values())}
    more = together(now.values()).less(together(precincts.values()))
    moved = more.carried or any(more.votes.values())
    return precincts | ({whole: more} if moved or whole in was else {})


def told_apart(published: Iterable[Atom]) -> set[Atom]:
    """The counts of whole places that were published by precinct. What such a place has more or fewer is a change of it in files."""
    return {atom.whole for atom in published if APART in atom.unit}
