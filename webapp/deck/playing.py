"""Every ordinary fault played on the deck itself: how many were played, and those that would stay hidden."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations
from typing import Any

from webapp.deck import conditions, fault_lists
from webapp.deck.conditions import Dealt
from webapp.deck.deck import Deck
from webapp.deck.faults import effect
from webapp.deck.oval_faults import Effect, Fault, edited_effect, edits, fault
from webapp.deck.piles import Feed, Pile
from webapp.deck.positions import DeckPlan


@dataclass(frozen=True)
class Played:
    """How many faults were played, by kind, and those that change no figure of any tape."""

    counts: dict[str, int]
    hidden: tuple[Fault, ...]

    @property
    def total(self) -> int:
        return sum(self.counts.values())


def play(deck: Deck, before: DeckPlan | None = None) -> Played:
    """Play every fault on the deck as the first tabulator is fed it, and those of memories on the tapes together."""
    feed = deck.feeds[deck.plan.tabulators[0]]
    counts: dict[str, int] = {}
    hidden: list[Fault] = []
    like: dict[tuple[Any, ...], list[tuple[Any, ...]]] = {}
    for pile in feed.piles:
        counts["exchange"] = counts.get("exchange", 0) + number_of_exchanges(pile)
        for pair in like.setdefault(likeness(pile), list(hidden_exchanges(pile)) if likeness(pile) not in like else []):
            hidden.append(fault("exchange", style=pile.style.id, positions=tuple(_named(pile, *at) for at in pair)))
    for one in every_other(feed):
        counts[one.kind] = counts.get(one.kind, 0) + 1
        if not effect(feed, one):
            hidden.append(one)
    if before is not None and read_unlike(deck.plan, before):
        counts["edition"] = 1
        if not effect(feed, fault("edition"), before):
            hidden.append(fault("edition"))
    for one in memories(deck.plan):
        counts[one.kind] = counts.get(one.kind, 0) + 1
        if not memory_moves(deck, one):
            hidden.append(one)
    return Played(counts, tuple(hidden))


def read_unlike(plan: DeckPlan, before: DeckPlan) -> bool:
    """Whether a memory of the edition before would read any ballot in another way."""

    def program(one: DeckPlan) -> tuple[Any, ...]:
        return tuple((s.id, s.printed, s.sheet_of, tuple((c.n, c.parties) for c in s.contests)) for s in one.styles)

    return program(plan) != program(before)


def every_other(feed: Feed) -> Iterator[Fault]:
    """All faults of one tabulator but exchanges of two ovals."""
    for pile in feed.piles:
        yield from fault_lists.single_ovals(pile, ("dead", "stuck", "fold"))
        yield from fault_lists.write_ins_as_choices(pile.style)
        yield from fault_lists.rearranged(pile.style)
        for by in (1, -1):
            yield fault("shift-all", style=pile.style.id, by=by)
        yield from fault_lists.contests_of(pile.style)
    yield from fault_lists.report(feed.plan)
    yield from fault_lists.styles(feed.plan)
    yield from fault_lists.precincts(feed.plan)
    yield from fault_lists.ballots(feed, "row-missed")
    yield from fault_lists.ballots(feed, "row-twice")


# Exchanges: by columns, since there are as many as pairs of ovals.


def likeness(pile: Pile) -> tuple[Any, ...]:
    """What decides which exchanges of a pile are hidden: piles alike in this share the answer."""
    contests = tuple((len(c.choices), c.lines, c.n, c.parties if pile.parties else ()) for c in pile.style.contests)
    return contests, pile.columns, pile.carried, pile.style.index.get(pile.plan.straight)


def number_of_exchanges(pile: Pile) -> int:
    """Pairs of ovals, pairs of write-in lines of one contest apart."""
    ovals = len(pile.style.printed)
    return ovals * (ovals - 1) // 2 - sum(c.lines * (c.lines - 1) // 2 for c in pile.style.contests)


def hidden_exchanges(pile: Pile) -> Iterator[tuple[tuple[int, int], tuple[int, int]]]:
    """Pairs of ovals, as (contest, position) by index, whose exchange changes no figure of this pile."""
    dealt = [
        conditions.dealt(c, pile.columns[i], pile.carried[i], pile.straight[i])
        for i, c in enumerate(pile.style.contests)
    ]
    straight = pile.style.index.get(pile.plan.straight)
    for i, one in enumerate(dealt):
        for p, q in combinations(range(len(one.columns)), 2):
            if p < len(one.contest.choices) and _unchanged(pile, (i, p), (i, q)):
                yield (i, p), (i, q)
        for j in range(i + 1, len(dealt)):
            if straight in (i, j):
                yield from _hidden_with_straight(pile, dealt, (i, j) if i == straight else (j, i))
            else:
                yield from (((i, p), (j, q)) for p, q in conditions.hidden_pairs(one, dealt[j]))


def _hidden_with_straight(
    pile: Pile, dealt: list[Dealt], at: tuple[int, int]
) -> Iterator[tuple[tuple[int, int], tuple[int, int]]]:
    """An oval of the straight-party contest exchanged with another: every contest is counted again where its own figures would stay."""
    i, j = at
    for p in range(len(dealt[i].columns)):
        for q, column in enumerate(dealt[j].columns):
            if conditions.unseen(dealt[i], p, column) and _unchanged(pile, (i, p), (j, q)):
                yield (i, p), (j, q)


def _unchanged(pile: Pile, a: tuple[int, int], b: tuple[int, int]) -> bool:
    one = fault("exchange", style=pile.style.id, positions=(_named(pile, *a), _named(pile, *b)))
    return not edited_effect(pile, edits(pile, one))


def _named(pile: Pile, i: int, p: int) -> tuple[str, str]:
    contest = pile.style.contests[i]
    return contest.id, contest.positions[p]


# Memories: only the sum over tabulators can show them.


def memories(plan: DeckPlan) -> Iterator[Fault]:
    """A memory loaded twice, one not loaded, one twice in place of another."""
    for tabulator in plan.tabulators:
        yield fault("memory", tabulator=tabulator, instead=None)
        yield fault("memory", tabulator=None, instead=tabulator)
    for a in plan.tabulators:
        for b in plan.tabulators:
            if a != b:
                yield fault("memory", tabulator=a, instead=b)


def memory_moves(deck: Deck, one: Fault) -> Effect:
    """What a fault of memories changes in the sum over all tabulators: (contest, cell) -> difference."""
    found: Effect = {}
    for tabulator, sign in ((one["tabulator"], 1), (one["instead"], -1)):
        if tabulator is not None:
            for cell, figure in deck.cells[tabulator].items():
                found[cell] = found.get(cell, 0) + sign * figure
    return {cell: more for cell, more in found.items() if more}
