"""The tapes that were typed in this round of a test, compared with the deck: what each comparison says, and which of them count.

The day is read only through `DayView`; nothing here is kept.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from webapp.deck import comparison, diagnosis
from webapp.deck.comparison import Comparison
from webapp.deck.deck import Deck
from webapp.deck.expected import TOGETHER, Cell
from webapp.precinct.day.out_of_use import shut
from webapp.precinct.day.rounds import began, counting
from webapp.precinct.place import step_places
from webapp.precinct.place.default_steps import steps
from webapp.precinct.place.place import Place
from webapp.precinct.place.step import DayView, EntryView, Step, task_key

NEVER_ASKED = ("sheets",)  # a figure that the form does not ask for: it is neither compared nor missing


class Round:
    """One look at a test: its deck, and what was typed in the round that runs now."""

    def __init__(self, place: Place, day: DayView, deck: Deck):
        self.place, self.day, self.deck = place, day, deck
        self.steps = {step.id: step for step in steps(place)}

    @property
    def number(self) -> int:
        """Which round this is, from 1."""
        step = self.steps["tape-typed"]
        kinds = {name.partition(".")[0] for name in step.again_with}
        return 1 + sum(len(kept) for key, kept in self.day.kept.items() if key in kinds)

    @property
    def began(self) -> int:
        """Number of the note with which this round began; 0 for the first."""
        return began(self.day, self.steps["tape-typed"])

    def last(self, step: str, at: str = "") -> EntryView | None:
        """The entry of this step that counts now."""
        found: Step | None = self.steps.get(step)
        kept: Sequence[EntryView] = counting(self.day, found, at) if found else ()
        return kept[-1] if kept else None

    def tested(self) -> tuple[str, ...]:
        """Tabulators that are tested: all but those that stay shut."""
        known = tuple(self.steps.values())
        return tuple(t for t in self.deck.plan.tabulators if not shut(self.place, self.day, t, known))

    def tape(self, tabulator: str) -> dict[str, Any] | None:
        """The tape of a tabulator as it was typed in this round, in the shape of `expected`; None where it was not."""
        kept = self.last("tape-typed", tabulator)
        return None if kept is None else as_tape(tabulator, kept.body)

    def compared(self, tabulator: str) -> Comparison | None:
        """The typed tape of this round against the chart; None where none is typed."""
        tape = self.tape(tabulator)
        return None if tape is None else only_asked(comparison.compare(self.deck, tape))

    def sums(self, body: Mapping[str, Any]) -> Comparison:
        """The report of all tabulators together against the sum of those that are tested. Raises UnreadableTape."""
        return only_asked(comparison.compare(self.deck_tested, as_tape(TOGETHER, body)))

    @property
    def deck_tested(self) -> Deck:
        """The deck as those tabulators were fed it that are tested."""
        return Deck(replace(self.deck.plan, tabulators=self.tested()), self.deck.rows, self.deck.pattern)

    def causes_of_sums(self, found: Comparison) -> list[str]:
        """What sums that differ are consistent with, a sentence each: memories first, since each tape agreed by itself."""
        causes = [one for one in diagnosis.explain(self.deck_tested, found) if one.exact]
        told = [one.as_json(self.deck.plan) for one in sorted(causes, key=lambda one: one.fault.kind != "memory")]
        return [f"{one['says']} {one['look']}" for one in told] or [
            "No single fault gives these sums: compare the report with each tape, memory by memory."
        ]


def held_keys(now: Round) -> list[str]:
    """Keys of what is recorded as not so in this round and holds later steps shut: the test begins again."""
    found = []
    for step in now.steps.values():
        for at in step_places.ats(step, now.place) if step.holds else ():
            kept = now.last(step.id, at)
            if kept is not None and kept.not_so:
                found.append(task_key(step.id, at))
    return found


def as_tape(tabulator: str, body: Mapping[str, Any]) -> dict[str, Any]:
    """A body of `tape-typed` or `sums` in the shape of `expected`."""
    ballots = body.get("public", body.get("ballots"))
    tape: dict[str, Any] = {"tabulator": tabulator, "contests": dict(body.get("contests") or {})}
    if isinstance(ballots, int):
        tape["ballots"] = ballots
    if isinstance(body.get("ballots"), Mapping):
        tape["precincts"] = dict(body["ballots"])
    return tape


def only_asked(found: Comparison) -> Comparison:
    """Without the figures that nobody was asked for."""
    return replace(found, missing=tuple(cell for cell in found.missing if cell[1] not in NEVER_ASKED))


def as_body(found: Comparison) -> dict[str, Any]:
    """What the entry of a comparison holds: `cells`, `differ`, and `missing` where something was not typed."""
    body: dict[str, Any] = {
        "cells": len(found.compared),
        "differ": [one.as_json(found.tabulator) for one in found.differ],
    }
    missing: Sequence[Cell] = found.missing
    return body | ({"missing": [comparison.address(cell) for cell in missing]} if missing else {})
