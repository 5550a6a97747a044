"""What changed between two editions: by contest and line, before, after and the difference, in whole blocks."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from webapp.canvass.atoms import Atom, Figures
from webapp.canvass.changed_line import ChangedLine
from webapp.canvass.edition import Edition, lines, total
from webapp.canvass.published import OneContest
from webapp.precinct.place.place import Contest

LINE_WORDS = {"write_in": "Write-ins", "under": "Undervotes", "over": "Overvotes"}


@dataclass(frozen=True, slots=True)
class ContestChange:
    """A contest that changed: its lines, the atoms that came in new blocks, and those in old blocks whose votes were corrected."""

    contest: Contest
    lines: tuple[ChangedLine, ...]
    came: tuple[Atom, ...]
    corrected: tuple[Atom, ...]


def between(before: Mapping[str, OneContest], after: Edition) -> list[ContestChange]:
    """Every contest whose figures differ from those `before`, by contest, in ballot order; all of it new where there was no edition before."""
    found = []
    for contest in after.contests:
        old = before.get(contest.id, OneContest())
        new = after.figures[contest.id]
        came = tuple(atom for block in new.blocks[len(old.blocks) :] for atom, _ in block)
        corrected = _corrected(old, new)
        if came or corrected:
            found.append(ContestChange(contest, _lines(contest, total(old), total(new)), came, corrected))
    return found


def _corrected(old: OneContest, new: OneContest) -> tuple[Atom, ...]:
    """The atoms of every old block whose figures moved: named block by block, as no smaller part of one is shown."""
    moved: list[Atom] = []
    for was, block in zip(old.blocks, new.blocks, strict=False):
        if [figures for _, figures in was] != [figures for _, figures in block]:
            moved += [atom for atom, _ in block]
    return tuple(moved)


def _lines(contest: Contest, before: Figures, after: Figures) -> tuple[ChangedLine, ...]:
    rows = [
        ChangedLine(label or LINE_WORDS[line], before.votes.get(line), after.votes.get(line))
        for line, label, _ in lines(contest)
        if line in before.votes or line in after.votes
    ]
    return (*rows, ChangedLine("Ballots", before.carried or None, after.carried))


def in_words(atoms: Sequence[Atom], edition: Edition) -> list[str]:
    """What came, way by way: "Election day, 2 places: Harrow Mill school, Harrow Mill hall"."""
    names = edition.names
    said = []
    for way in edition.ways:
        mine = list(dict.fromkeys(names.get(a.unit, a.unit) for a in atoms if a.way == way.id and not a.change))
        later = list(dict.fromkeys(names.get(a.unit, a.unit) for a in atoms if a.way == way.id and a.change))
        if mine:
            said.append(f"{way.name}: {', '.join(mine)}")
        if later:
            said.append(f"{way.name}, another number of ballots than published: {', '.join(later)}")
    return said
