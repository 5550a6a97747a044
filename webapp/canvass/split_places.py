"""Places whose figures are kept by precinct, over the editions: what was published of the whole place stays whole, what was published apart stays apart.

Of a return that was published whole no precinct is ever told apart: the whole and one part give the other. Of a return that was published by
precinct, and whose figures now are those of the whole place only (a recount, a finding), the precincts stay as they were published, and what the
place has more or fewer is an atom of the whole place: of no ballots, where only votes moved, and then shown at once.
"""

from collections.abc import Collection, Mapping

from webapp.canvass.atoms import APART, Atom, Figures, together


def as_published(published: Mapping[Atom, Figures], now: Mapping[Atom, Figures]) -> Mapping[Atom, Figures]:
    """What is kept `now`, in the units in which it was published. Both by the atoms' bases; `now` itself where no place is told apart."""
    apart = {atom.whole for atoms in (published, now) for atom in atoms if APART in atom.unit}
    if not apart:
        return now
    was, is_ = _families(published, apart), _families(now, apart)
    found = {atom: figures for atom, figures in now.items() if atom.whole not in apart}
    for whole in apart:
        found |= _one(whole, was.get(whole, {}), is_.get(whole, {}))
    return found


def _families(figures: Mapping[Atom, Figures], of: Collection[Atom]) -> dict[Atom, dict[Atom, Figures]]:
    """The atoms of each of these places and counts, whole and by precinct."""
    found: dict[Atom, dict[Atom, Figures]] = {}
    for atom, one in figures.items():
        if atom.whole in of:
            found.setdefault(atom.whole, {})[atom] = one
    return found


def _one(whole: Atom, was: Mapping[Atom, Figures], now: Mapping[Atom, Figures]) -> dict[Atom, Figures]:
    """One count of one place."""
    if not was or not now:
        return dict(now)
    precincts = {atom: figures for atom, figures in was.items() if APART in atom.unit}
    if not precincts:
        return {whole: together(now.values())}
    if whole not in was and whole not in now:
        return dict(now)
    more = together(now.values()).less(together(precincts.values()))
    moved = more.carried or any(more.votes.values())
    return precincts | ({whole: more} if moved or whole in was else {})


def named(base: Atom, published: Collection[Atom]) -> Atom:
    """A new atom as files write it: what a place has more or fewer than its precincts, as a change of it."""
    split = any(atom.whole == base and APART in atom.unit for atom in published) if APART not in base.unit else False
    return base._replace(change=1) if split else base
