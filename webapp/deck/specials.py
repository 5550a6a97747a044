"""The special ballots of a unit: fully voted, short by one, overvoted, straight party, a name without an oval, blank, blank and folded, one sheet.

They are laid down before the pattern is searched, so that every condition counts them.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field

from webapp.deck.positions import DeckContest, DeckStyle

Marks = dict[str, tuple[int, ...]]  # contest id -> indexes of its marked positions


@dataclass(frozen=True)
class Special:
    """One special ballot. `names` are write-in lines with a name written; `sheets` 0 means all sheets of the ballot."""

    kind: str
    marks: Marks = field(default_factory=dict)
    names: Marks = field(default_factory=dict)
    fold: bool = False
    sheets: int = 0


def specials(style: DeckStyle, straight: str, folded: bool) -> list[Special]:
    """The special ballots of one unit of this style, in their order. `straight`: id of the straight-party contest, or ""."""
    voted = [contest for contest in style.contests if contest.id != straight]
    found = [Special("full", {c.id: _full(c) for c in voted if c.positions})]
    short = {c.id: marks for c in voted if c.n > 1 and len(c.positions) > 1 and (marks := _last_choices(c, c.n - 1))}
    if short:
        found.append(Special("short", short))
    over = {c.id: tuple(range(c.n + 1)) for c in voted if len(c.positions) > c.n}
    if over:
        found.append(Special("over", over))
    if straight in style.index:
        found += _straight(style.contests[style.index[straight]], voted)
    names: Marks = {c.id: (len(c.choices),) for c in voted if c.lines}
    if names:
        found.append(Special("no-oval", names=names))
    found.append(Special("blank"))
    if folded:
        found.append(Special("blank", fold=True))
    if style.sheets > 1:
        found.append(Special("one-sheet", sheets=1))
    return found


def _straight(contest: DeckContest, voted: list[DeckContest]) -> Iterator[Special]:
    """Each party alone on 2, 3, 4 ... ballots; two parties; the last party with own marks for another."""
    for i in range(len(contest.parties)):
        for _ in range(i + 2):
            yield Special("straight", {contest.id: (i,)})
    if len(contest.parties) > 1:
        yield Special("two-party", {contest.id: (0, 1)})
    last = contest.parties[-1]
    crossed = {c.id: (other,) for c in voted if c.n == 1 and (other := _first_of_another(c, last)) is not None}
    yield Special("crossover", {contest.id: (len(contest.parties) - 1,), **crossed})


def _first_of_another(contest: DeckContest, party: str) -> int | None:
    return next((i for i, p in enumerate(contest.parties) if p and p != party), None)


def _full(contest: DeckContest) -> tuple[int, ...]:
    """The last n choices; where there are fewer, all choices and then write-in lines."""
    found = _last_choices(contest, contest.n)
    lines = range(len(contest.choices), len(contest.positions))
    return (*found, *lines[: contest.n - len(found)])


def _last_choices(contest: DeckContest, many: int) -> tuple[int, ...]:
    return tuple(range(max(0, len(contest.choices) - many), len(contest.choices)))
