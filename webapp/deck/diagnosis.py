"""What a tape that differs is consistent with: every fault is played alone, and those that give exactly the typed figures are listed.

None exact: the three that come nearest by the number of cells, marked so. Faults that change the program in the same way are one answer;
answers that differ only in the style are one answer with all the styles.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import combinations
from typing import Any

from webapp.deck import conditions, fault_lists, fault_words
from webapp.deck.comparison import Comparison
from webapp.deck.deck import Deck
from webapp.deck.expected import TOGETHER
from webapp.deck.faults import effect, row_effect
from webapp.deck.oval_faults import EDITS, Effect, Fault, edits, fault
from webapp.deck.piles import Feed, Pile
from webapp.deck.playing import memories, memory_moves
from webapp.deck.positions import DeckPlan
from webapp.precinct.explain.mistake_sizes import slips

MOST_ANSWERS, NEAREST = 10, 3
MOST_PAIRS = 300_000  # exchanges of a style tried for the nearest; beyond them only those within a contest


@dataclass(frozen=True)
class Diagnosis:
    """A fault that gives the typed tape (`exact`), or comes near it. `styles`: all styles where it would; `alike`: other ballots would too."""

    fault: Fault
    exact: bool = True
    styles: tuple[str, ...] = ()
    alike: bool = False
    off: int = 0  # cells in which it does not give the typed figure

    def as_json(self, plan: DeckPlan) -> dict[str, Any]:
        """Returns the fault, its sentence and where to look; `exact` and `off` (cells) only where it does not give every figure."""
        several = {"styles": list(self.styles)} if len(self.styles) > 1 else {}
        return {
            **self.fault.as_json(),
            **several,
            "says": fault_words.describe(plan, self.fault, self.styles, self.alike),
            "look": fault_words.where_to_look(plan, self.fault),
            **({} if self.exact else {"exact": False, "off": self.off}),
        }


def explain(deck: Deck, compared: Comparison, before: DeckPlan | None = None) -> list[Diagnosis]:
    """Faults consistent with this tape, in the order of the kinds, at most ten; the nearest three where none is exact; [] where all agree."""
    if compared.equal:
        return []
    search = _Search(deck, compared, before)
    exact = list(search.exact())
    return _merged(exact)[:MOST_ANSWERS] if exact else search.nearest()


def edition_effect(deck: Deck, compared: Comparison, before: DeckPlan) -> Effect:
    """What a memory of the edition before changes on this tape."""
    feed = deck.fed_together if compared.tabulator == TOGETHER else deck.feeds[compared.tabulator]
    return effect(feed, fault("edition"), before)


class _Search:
    """The faults of one tape."""

    def __init__(self, deck: Deck, compared: Comparison, before: DeckPlan | None):
        self.deck, self.compared, self.before = deck, compared, before
        self.feed: Feed = deck.fed_together if compared.tabulator == TOGETHER else deck.feeds[compared.tabulator]
        self.wanted: Effect = compared.effect
        self.contests = frozenset(contest for contest, _ in self.wanted if contest not in ("", "precinct"))
        self.seen: set[tuple[Any, ...]] = set()

    def exact(self) -> Iterator[Diagnosis]:
        """Yields every fault that alone gives exactly the typed figures: keying, missed or repeated rows, program, memories."""
        yield from map(Diagnosis, self._keying())
        for kind, times in (("row-missed", -1), ("row-twice", 1)):
            found = [row for row in self._rows(times) if self._gives(row_effect(self.feed, row, times))]
            if found:
                yield Diagnosis(fault(kind, row=found[0].id), alike=len(found) > 1)
        for one in self._program():
            if self._gives(self._effect(one)) and self._is_new(one):
                yield Diagnosis(one)
        yield from map(Diagnosis, self._memories())

    def nearest(self) -> list[Diagnosis]:
        """The faults that leave the fewest cells unexplained, and fewer than no fault at all."""
        found: list[tuple[int, int, Fault]] = []
        for n, one in enumerate(self._program(near=True)):
            off = self._off(self._effect(one))
            if off < len(self.wanted) and self._is_new(one):
                found.append((off, n, one))
        return [Diagnosis(one, False, off=off) for off, _, one in sorted(found, key=lambda f: f[:2])[:NEAREST]]

    def _effect(self, one: Fault) -> Effect:
        return effect(self.feed, one, self.before)

    def _gives(self, found: Effect) -> bool:
        return {cell: more for cell, more in found.items() if cell in self.compared.compared} == self.wanted

    def _off(self, found: Effect) -> int:
        return sum(
            found.get(cell, 0) != self.wanted.get(cell, 0)
            for cell in (found.keys() | self.wanted.keys())
            if cell in self.compared.compared
        )

    def _is_new(self, one: Fault) -> bool:
        """Whether no fault seen before changes the program in the same way."""
        key = (
            (one["style"], frozenset(edits(self.feed.by_style[one["style"]], one).items()))
            if one.kind in EDITS
            else (one.kind, one.facts)
        )
        if key in self.seen:
            return False
        self.seen.add(key)
        return True

    def _keying(self) -> Iterator[Fault]:
        """One figure that does not fit its contest, where the expected one is a usual slip away, or one."""
        if len(self.compared.differ) == 1:
            one = self.compared.differ[0]
            contest, cell = one.cell
            if contest in dict(self.compared.sums) and (
                abs(one.typed - one.expected) == 1 or one.expected in slips(one.typed)
            ):
                yield fault("keying", contest=contest, cell=cell, likely=one.expected)

    def _rows(self, times: int) -> Iterator[Any]:
        if ("", "ballots") in self.compared.compared and self.wanted.get(("", "ballots")) != times:
            return
        seen: set[str] = set()
        for pile in self.feed.piles:
            for row in pile.order:
                if row.id not in seen:
                    seen.add(row.id)
                    yield row

    def _program(self, near: bool = False) -> Iterator[Fault]:
        """Faults of the program and the report that touch a contest that differs, in the order of the kinds."""
        plan, touched, piles = self.deck.plan, self.contests | ({self.deck.plan.straight} - {""}), self.feed.piles
        if self.contests:
            yield from self._exchanges(near)
            for pile in piles:
                yield from fault_lists.single_ovals(pile, ("dead", "stuck", "fold"), touched)
            for pile in piles:
                yield from fault_lists.write_ins_as_choices(pile.style, touched)
            for pile in piles:
                yield from fault_lists.rearranged(pile.style, touched)
            for pile in piles:
                yield from (fault("shift-all", style=pile.style.id, by=by) for by in (1, -1))
            for pile in piles:
                yield from fault_lists.contests_of(pile.style, touched)
            yield from fault_lists.report(plan, touched)
            yield from fault_lists.styles(plan)
            for pile in piles:
                yield from self._rearranged(pile)
        yield from fault_lists.precincts(plan)
        if self.before is not None:
            yield fault("edition")

    def _exchanges(self, near: bool) -> Iterator[Fault]:
        """Exchanges of two ovals that touch a contest that differs; where only exact ones are wanted, those that can be."""
        straight = self.deck.plan.straight
        touched = self.contests | ({straight} - {""})
        for pile in self.feed.piles:
            if straight in pile.style.index:
                yield from fault_lists.exchanges(pile.style, touched)
            elif near:
                many = len(pile.style.printed) * sum(contest in touched for contest, _ in pile.style.printed)
                yield from fault_lists.exchanges(pile.style, touched, None if many <= MOST_PAIRS else _within(pile))
            elif len(self.contests) <= 2:
                yield from fault_lists.exchanges(pile.style, touched, self._between(pile))

    def _rearranged(self, pile: Pile) -> Iterator[Fault]:
        """The one other order of a contest's choices that gives these figures: on one style no two choices have equally many marks."""
        for contest in self.contests if len(self.contests) == 1 else ():
            i = pile.style.index.get(contest)
            if i is None or contest == self.deck.plan.straight:
                continue
            choices = pile.style.contests[i].choices
            own = pile.count(i, pile.columns[i], ())[: len(choices)]
            read = {
                choice: figure + self.wanted.get((contest, choice), 0)
                for choice, figure in zip(choices, own, strict=True)
            }
            if sorted(read.values()) == sorted(set(own)):
                read_as = {figure: choice for choice, figure in read.items()}
                yield fault(
                    "rearranged",
                    style=pile.style.id,
                    contest=contest,
                    choices=tuple(read_as[figure] for figure in own),
                )

    def _between(self, pile: Pile) -> Callable[[int, int], bool]:
        """Which pairs of printed places may give exactly the tape: a contest that does not differ keeps its figures."""
        dealt = {
            i: conditions.dealt(c, pile.columns[i], pile.carried[i], pile.straight[i])
            for i, c in enumerate(pile.style.contests)
        }
        places = pile.style.printed_index
        differs = [contest in self.contests for contest, _ in pile.style.printed]

        def may(a: int, b: int) -> bool:
            (i, p), (j, q) = places[a], places[b]
            if i == j or differs[a] and differs[b]:
                return i != j or len(self.contests) == 1
            if len(self.contests) > 1:
                return False
            if differs[a]:
                return conditions.unseen(dealt[j], q, pile.columns[i][p])
            return conditions.unseen(dealt[i], p, pile.columns[j][q])

        return may

    def _memories(self) -> Iterator[Fault]:
        if self.compared.tabulator == TOGETHER:
            yield from (one for one in memories(self.deck.plan) if self._gives(memory_moves(self.deck, one)))


def _within(pile: Pile) -> Callable[[int, int], bool]:
    """Pairs of printed places within one contest."""
    return lambda a, b: pile.style.printed[a][0] == pile.style.printed[b][0]


def _merged(found: list[Diagnosis]) -> list[Diagnosis]:
    """Answers that differ only in the style as one, with all the styles."""
    merged: dict[tuple[Any, ...], Diagnosis] = {}
    for one in found:
        facts = dict(one.fault.facts)
        key = (
            (one.fault.kind, tuple((k, v) for k, v in one.fault.facts if k != "style"))
            if "style" in facts and one.fault.kind != "style"
            else (one.fault.kind, one.fault.facts)
        )
        first = merged.setdefault(key, one)
        if "style" in facts and one.fault.kind != "style":
            merged[key] = Diagnosis(first.fault, True, (*first.styles, facts["style"]), first.alike)
    return list(merged.values())


def rows_to_feed(deck: Deck, found: list[Diagnosis]) -> list[str]:
    """The fewest ballots which, fed alone, tell these faults apart as far as any can; [] where there is nothing to tell apart."""
    faults = [
        one.fault
        for one in found
        if one.exact
        and one.fault.kind
        not in ("keying", "row-missed", "row-twice", "edition", "memory", "precinct", "precincts-exchanged")
    ]
    if len(faults) < 2:
        return []
    feed = deck.feeds[deck.plan.tabulators[0]]
    styles = {one["style"] for one in faults if "style" in dict(one.facts)} or set(feed.by_style)
    telling: dict[str, frozenset[tuple[int, int]]] = {}
    for pile in feed.piles:
        for row in pile.order if pile.style.id in styles else ():
            alone = feed.only(row)
            effects = [effect(alone, one) for one in faults]
            telling[row.id] = frozenset(
                (a, b) for a, b in combinations(range(len(faults)), 2) if effects[a] != effects[b]
            )
    return _fewest(telling)


def _fewest(telling: dict[str, frozenset[tuple[int, int]]]) -> list[str]:
    """The fewest rows, up to three, that tell as many pairs apart as all rows together; beyond three each next best."""
    wanted = frozenset().union(*telling.values())
    useful = list({pairs: row for row, pairs in reversed(telling.items()) if pairs}.items())[::-1]
    for many in range(1, 4):
        for rows in combinations(useful, many):
            if frozenset().union(*(pairs for pairs, _ in rows)) == wanted:
                return [row for _, row in rows]
    chosen: list[str] = []
    while wanted:
        pairs, row = max(useful, key=lambda one: len(one[0] & wanted))
        chosen.append(row)
        wanted -= pairs
    return chosen
