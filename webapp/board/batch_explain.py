"""What the open rows of a batch are consistent with: the cheapest sets of one or two usual mistakes that give exactly these gaps. Never a finding.

Answers that the figures cannot tell apart share one `tie`: those of one cost, and twins, two mistakes with one and
the same effect.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from webapp.board import batch_words
from webapp.board.batch_mistakes import CODES, ONCE_A_GROUP, ONE_BALLOT, BatchMistake
from webapp.board.batch_rows import FED, Batches, BatchGroup, BatchRow
from webapp.board.possible_batch_mistakes import PossibleMistakes
from webapp.precinct.balance.explanation import ConsistentWith
from webapp.precinct.balance.figure_board import Batch
from webapp.precinct.balance.line import Line

ENOUGH = 5
SECOND = 2.0
TOUCHES = 2
"""Rows that one mistake moves at the most, an exchange of two batches apart."""
TWINS: Mapping[str, str] = {
    "left-in-envelope": "fewer ballots than envelopes",
    "empty-unlogged": "fewer ballots than envelopes",
    "aside-unlogged": "fewer fed",
    "not-fed": "fewer fed",
    "fed-twice": "more fed",
    "aside-fed": "more fed",
    "batch-not-listed": "more between",
    "fed-again-later": "more between",
}

Found = tuple[BatchMistake, ...]


@dataclass(frozen=True)
class OpenBatches:
    """Open batches that are explained together, their open lines, and what these are consistent with, at most five answers."""

    ids: tuple[str, ...]
    gaps: tuple[Line, ...]
    explanations: tuple[ConsistentWith, ...] = ()

    def as_json(self) -> dict[str, Any]:
        """Returns the ids of the batches, their gaps (in ballots, left minus right) and the explanations, as objects of JSON."""
        gaps = [
            {"line": line.id, **({"scope": dict(line.scope)} if line.scope else {}), "gap": line.gap}
            for line in self.gaps
        ]
        return {"ids": list(self.ids), "gaps": gaps, "explanations": [answer.as_json() for answer in self.explanations]}


def open_batches(batches: Iterable[Batch], lines: Iterable[Line], explain: bool = True) -> tuple[OpenBatches, ...]:
    """Every open batch in its group, in the order of their first batch; with `explain`, what each group is consistent with."""
    found = Batches(batches, lines)
    alone: dict[int, list[str]] = {}
    for group in found.groups:
        for row, gap in group.gaps.items():
            if row.of == FED and len(group.gaps) == 1:
                alone.setdefault(gap, []).append(row.batch)
    return tuple(
        OpenBatches(group.ids, group.lines, answers(found, group, alone) if explain else ()) for group in found.groups
    )


def answers(batches: Batches, group: BatchGroup, alone: Mapping[int, list[str]]) -> tuple[ConsistentWith, ...]:
    """At most five sets that add up, the cheapest first, twins next to each other."""
    place = batches.place
    found = sorted(sets(PossibleMistakes(batches, group, alone), group), key=lambda one: order(one, place))
    twins: dict[Any, list[Found]] = {}
    for one in found:
        twins.setdefault(twin_key(one), []).append(one)
    ties: dict[float, list[Found]] = {}
    for alike in twins.values():
        ties.setdefault(cost(alike[0]), []).extend(alike)
    told: list[ConsistentWith] = []
    for tie, cheapest in enumerate(sorted(ties), 1):
        several = len(ties[cheapest]) > 1
        told += [
            ConsistentWith(one, batch_words.explanation(one, several), batch_words.where_to_look(one), tie)
            for one in ties[cheapest]
        ]
        if len(told) >= ENOUGH:
            break
    return tuple(told[:ENOUGH])


def sets(possible: PossibleMistakes, group: BatchGroup) -> Iterator[Found]:
    """Every mistake, and every two, that give exactly the open rows of the group, each set once."""
    if len(group.gaps) > 2 * TOUCHES and not any(True for _ in possible.exchanged()):
        return
    ordinary = list(dict.fromkeys(possible.ordinary()))
    by_effects: dict[Any, list[BatchMistake]] = {}
    for mistake in ordinary:
        by_effects.setdefault(frozenset(mistake.effects), []).append(mistake)
    yield from ((mistake,) for mistake in by_effects.get(frozenset(group.gaps.items()), ()))
    seen = set()
    for one in ordinary:
        rest = less(group.gaps, one)
        if len(rest) > TOUCHES:
            continue
        closing = (
            [other for row, gap in rest.items() for other in possible.closing(row, gap, one)] if len(rest) == 1 else []
        )
        for other in (*by_effects.get(frozenset(rest.items()), ()), *closing):
            pair = frozenset((one, other))
            if len(pair) == 2 and pair not in seen and not clash(one, other):
                seen.add(pair)
                yield tuple(
                    sorted(pair, key=lambda mistake: (possible.batches.place[mistake.batch], CODES.index(mistake.code)))
                )


def less(gaps: Mapping[BatchRow, int], mistake: BatchMistake) -> dict[BatchRow, int]:
    """What is left open when this mistake is taken as made."""
    left = dict(gaps)
    for row, n in mistake.effects:
        left[row] = left.get(row, 0) - n
    return {row: n for row, n in left.items() if n}


def clash(one: BatchMistake, other: BatchMistake) -> bool:
    """Not in one set: a mistake of one batch twice in two sizes, one figure of it bent twice, two that undo each other, or an exchange twice."""
    if one.code == other.code and one.code in ONCE_A_GROUP:
        return True
    if (
        opposite(one, other)
        or {one.code, other.code} == {"order", "counter-misread"}
        and {one.batch, one.get("with")} & {other.batch, other.get("with")} - {None}
    ):
        return True
    if (
        one.batch == other.batch
        and one.code == other.code
        and (one.code != "counter-misread" or one.get("figure") == other.get("figure"))
    ):
        return one.code != "strayed" or one.get("to") == other.get("to")
    return False


def opposite(one: BatchMistake, other: BatchMistake) -> bool:
    """Two one-ballot mistakes that undo each other in part, as a ballot fed twice and one not fed: the difference alone says as much."""
    if one.code not in ONE_BALLOT or other.code not in ONE_BALLOT:
        return False
    (row, n), (same, m) = one.effects[0], other.effects[0]
    return row == same and n * m < 0


def cost(found: Found) -> float:
    """Bits of all mistakes, and 2 for the second."""
    return sum(mistake.cost for mistake in found) + SECOND * (len(found) - 1)


def order(found: Found, place: Mapping[str, int]) -> tuple[Any, ...]:
    """The cheaper first; of one cost fewer mistakes, fewer ballots, then the order of the list of codes and of the batches."""
    ranks = tuple(sorted(CODES.index(mistake.code) for mistake in found))
    return (
        cost(found),
        len(found),
        sum(mistake.ballots for mistake in found),
        ranks,
        tuple(place[mistake.batch] for mistake in found),
        str([mistake.keys for mistake in found]),
    )


def twin_key(found: Found) -> Any:
    """The same for sets that differ only in twins."""
    return tuple(
        sorted(
            (
                (TWINS[m.code], m.effects, ()) if m.code in TWINS else (m.code, m.effects, (m.batch, m.keys))
                for m in found
            ),
            key=str,
        )
    )
