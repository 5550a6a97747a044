"""Ballots that observers add to a test: their hand count compared with what the tape printed of them, cell by cell (Mich. Admin. Code R 168.778)."""

from collections.abc import Iterator, Mapping
from typing import Any

from webapp.deck import comparison, expected
from webapp.deck.expected import Cell
from webapp.deck.positions import DeckContest, DeckPlan

BY_HAND, ON_TAPE = "expected", "tape"  # fields of the note
NAMED = {BY_HAND: "By hand", ON_TAPE: "On their tape"}
Contests = Mapping[str, Any]


def figures(plan: DeckPlan, contests: Contests) -> dict[Cell, int]:
    """Every figure that was typed, by its cell, in the order of the tape."""
    return dict(expected.cells(plan, {"contests": contests}))


def compared(plan: DeckPlan, by_hand: Contests, on_tape: Contests) -> dict[str, Any]:
    """`cells` and `differ` of the entry; {} where only one side was typed."""
    if not by_hand or not on_tape:
        return {}
    wanted, found = figures(plan, by_hand), figures(plan, on_tape)
    both = [cell for cell in wanted if cell in found]
    differ = [comparison.Difference(cell, wanted[cell], found[cell]) for cell in both if found[cell] != wanted[cell]]
    return {
        "cells": len(both),
        "differ": [comparison.address(one.cell) | {"expected": one.expected, "typed": one.typed} for one in differ],
    }


def wrong(plan: DeckPlan, body: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """(input name, sentence) of what is missing, does not add up, or differs."""
    sides = {name: body.get(name) or {} for name in NAMED}
    for name, contests in sides.items():
        for contest in plan.contests:
            if contest.id in contests:
                yield from _adds_up(contest, contests[contest.id], name, body.get("ballots"))
    if not any(sides.values()):
        return
    wanted, found = (figures(plan, contests) for contests in sides.values())
    for cell in dict.fromkeys((*wanted, *found)):
        name = comparison.in_words(plan, cell)
        if cell not in found:
            yield control(plan, ON_TAPE, cell), f"{name}: counted by hand, and not typed from their tape. Type it."
        elif cell not in wanted:
            yield (
                control(plan, BY_HAND, cell),
                f"{name}: typed from their tape, and not counted by hand. Count it, and type it.",
            )
        elif found[cell] != wanted[cell]:
            yield (
                control(plan, ON_TAPE, cell),
                f"{name}: {found[cell]:,}; counted by hand {wanted[cell]:,}: {abs(found[cell] - wanted[cell]):,} "
                f"{'more' if found[cell] > wanted[cell] else 'fewer'}. Read their tape again; if it stays so, say below that it is not so.",
            )


def _adds_up(contest: DeckContest, row: Mapping[str, Any], name: str, ballots: int | None) -> Iterator[tuple[str, str]]:
    off = expected.sum_is_off(contest, dict(row))
    if off:
        yield (
            control(None, name, (contest.id, "ballots")),
            f"{NAMED[name]}, {contest.title or contest.id}: votes, undervotes and overvotes are {abs(off)} {'more' if off > 0 else 'fewer'} than ballots x {contest.n}. "
            "Count these figures again.",
        )
    if ballots is not None and row.get("ballots", 0) > ballots:
        yield (
            control(None, name, (contest.id, "ballots")),
            f"{NAMED[name]}, {contest.title or contest.id}: {row['ballots']:,} ballots carry it, and {ballots:,} were added. Count again.",
        )


def control(plan: DeckPlan | None, field: str, cell: Cell) -> str:
    """The input of a cell on a form."""
    contest, name = cell
    choice = plan is not None and name in plan.contest[contest].choices
    return f"{field}.{contest}.{'votes.' if choice else ''}{name}"
