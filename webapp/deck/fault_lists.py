"""Every fault that can be played on a deck, kind by kind, in the order in which the comparison names them.

What is no fault is left out: two write-in lines exchanged (one figure), a contest of one choice reversed, a style counted as one with the very
same ballot.
"""

from collections.abc import Callable, Iterable, Iterator
from itertools import combinations, permutations

from webapp.deck.oval_faults import Fault, fault, printed_choices
from webapp.deck.piles import Feed, Pile
from webapp.deck.positions import DeckContest, DeckPlan, DeckStyle, Position

Touched = frozenset[str] | None  # contests that a fault must touch; None: any


def touches(touched: Touched, *contests: str) -> bool:
    return touched is None or any(contest in touched for contest in contests)


def exchanges(
    style: DeckStyle, touched: Touched = None, keep: Callable[[int, int], bool] | None = None
) -> Iterator[Fault]:
    """Any two ovals of the style exchanged: neighbours on the paper first. `keep`: which pairs of printed places are wanted."""
    printed = style.printed
    wanted = [k for k, (contest, _) in enumerate(printed) if touches(touched, contest)]
    pairs = {(min(a, b), max(a, b)) for a in wanted for b in range(len(printed)) if a != b}
    for a, b in sorted(
        filter(lambda pair: keep is None or keep(*pair), pairs), key=lambda pair: (pair[1] - pair[0], pair)
    ):
        if not same_cell(printed[a], printed[b]):
            yield fault("exchange", style=style.id, positions=(printed[a], printed[b]))


def same_cell(a: Position, b: Position) -> bool:
    """Two write-in lines of one contest."""
    return a[0] == b[0] and a[1].startswith("+") and b[1].startswith("+")


def single_ovals(pile: Pile, kinds: Iterable[str], touched: Touched = None) -> Iterator[Fault]:
    """Each oval alone, kind by kind; fold only where ballots of the style are folded."""
    for kind in kinds:
        for position in pile.style.printed:
            if touches(touched, position[0]) and (kind != "fold" or pile.folded):
                yield fault(kind, style=pile.style.id, position=position)


def write_ins_as_choices(style: DeckStyle, touched: Touched = None) -> Iterator[Fault]:
    """Each write-in line read as each choice of its contest."""
    for contest in style.contests:
        if touches(touched, contest.id):
            for line in contest.positions[len(contest.choices) :]:
                for choice in contest.choices:
                    yield fault("read-as", style=style.id, positions=((contest.id, line), (contest.id, choice)))


def rearranged(style: DeckStyle, touched: Touched = None) -> Iterator[Fault]:
    """Choices of one contest shifted round by one, reversed, or counted in the order of the file where this style prints another."""
    several = [c for c in style.contests if len(c.choices) > 1 and touches(touched, c.id)]
    for contest in several:
        for by in (1, -1) if len(contest.choices) > 2 else (1,):
            yield fault("shift", style=style.id, contest=contest.id, by=by)
    for contest in several:
        yield fault("reversed", style=style.id, contest=contest.id)
    for contest in several:
        if printed_choices(style, contest.id) != list(range(len(contest.choices))):
            yield fault("order", style=style.id, contest=contest.id)


def contests_of(style: DeckStyle, touched: Touched = None) -> Iterator[Fault]:
    """Another number of votes allowed, a contest not counted, two contests of one shape exchanged."""
    for contest in style.contests:
        if touches(touched, contest.id):
            for n in (contest.n - 1, contest.n + 1):
                if n and contest.positions:
                    yield fault("wrong-n", style=style.id, contest=contest.id, n=n)
    for contest in style.contests:
        if touches(touched, contest.id):
            yield fault("contest-missing", style=style.id, contest=contest.id)
    for a, b in alike(style.contests):
        if touches(touched, a.id, b.id):
            yield fault("contests-exchanged", style=style.id, contests=(a.id, b.id))


def alike(contests: Iterable[DeckContest]) -> Iterator[tuple[DeckContest, DeckContest]]:
    """Pairs of contests of one shape: as many choices and votes, write-in or not."""
    return ((a, b) for a, b in combinations(contests, 2) if a.shape == b.shape and a.positions)


def report(plan: DeckPlan, touched: Touched = None) -> Iterator[Fault]:
    """Two labels of a contest, or two whole contests, exchanged on the report over all styles."""
    for contest in plan.contests:
        if touches(touched, contest.id):
            for cells in combinations(contest.cells[:-3], 2):
                yield fault("labels", contest=contest.id, cells=cells)
    for a, b in alike(plan.contests):
        if touches(touched, a.id, b.id):
            yield fault("report-contests", contests=(a.id, b.id))


def styles(plan: DeckPlan) -> Iterator[Fault]:
    """Ballots of one style counted by another's program."""
    for a, b in permutations(plan.styles, 2):
        if a.printed != b.printed or a.sheet_of != b.sheet_of:
            yield fault("style", **{"style": a.id, "as": b.id})


def precincts(plan: DeckPlan) -> Iterator[Fault]:
    """Ballots of one precinct filed under another, and two exchanged."""
    for a, b in permutations(plan.precincts, 2):
        yield fault("precinct", **{"precinct": a, "as": b})
    for pair in combinations(plan.precincts, 2):
        yield fault("precincts-exchanged", precincts=pair)


def ballots(feed: Feed, kind: str) -> Iterator[Fault]:
    """Each ballot once less (`row-missed`) or once more (`row-twice`)."""
    seen: set[str] = set()
    for pile in feed.piles:
        for row in pile.order:
            if row.id not in seen:
                seen.add(row.id)
                yield fault(kind, row=row.id)
