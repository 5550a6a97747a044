"""The test deck of a place file: its ballots, what each tape must read, and both as JSON and CSV whose bytes depend on the place file alone."""

import csv
import hashlib
import io
import json
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from webapp.deck import expected
from webapp.deck.expected import TOGETHER, Cell, Tape
from webapp.deck.pattern import NoDeck
from webapp.deck.piles import Feed, feed
from webapp.deck.positions import DeckPlan, DeckStyle
from webapp.deck.rows import DeckRows, Row, deck_rows
from webapp.deck.specials import specials
from webapp.deck.totals import least_window

MOST_CONTESTS, MOST_STYLES, MOST_UNITS, MOST_BALLOTS = 100, 40, 400, 20_000


@dataclass(frozen=True)
class Deck:
    """A whole deck: rows in feeding order, and what each tabulator is fed."""

    plan: DeckPlan
    rows: tuple[Row, ...]
    pattern: dict[str, int]  # pattern rows by style

    @cached_property
    def feeds(self) -> dict[str, Feed]:
        return {tabulator: feed(self.plan, self.rows, tabulator) for tabulator in self.plan.tabulators}

    @cached_property
    def expected(self) -> dict[str, Tape]:
        """The tape of each tabulator, and their sum under `together`."""
        tapes = {tabulator: expected.tape(one) for tabulator, one in self.feeds.items()}
        return tapes | {TOGETHER: expected.together(tapes)}

    @cached_property
    def fed_together(self) -> Feed:
        """All tabulators as one: every ballot as often as all of them are fed it."""
        return feed(self.plan, self.rows, *self.plan.tabulators)

    @cached_property
    def cells(self) -> dict[str, dict[Cell, int]]:
        """The figures of each tape of `expected` by their address."""
        return {tabulator: dict(expected.cells(self.plan, tape)) for tabulator, tape in self.expected.items()}

    def rows_of(self, style: str) -> list[Row]:
        """Returns the ballots of one style, in the order of the deck."""
        return [row for row in self.rows if row.style == style]

    def as_json(self) -> dict[str, Any]:
        """The object of `deck.json`."""
        plan = self.plan
        return {
            "v": 1,
            "place": plan.place,
            "edition": plan.edition,
            "place_digest": plan.digest,
            **({"dealing": plan.dealing} if plan.names_dealing else {}),
            "styles": [
                {
                    "id": style.id,
                    "positions": [list(position) for position in style.printed],
                    "ballots": len(self.rows_of(style.id)),
                    "minimum": minimum(plan, style),
                    "pattern": self.pattern[style.id],
                }
                for style in plan.styles
            ],
            "rows": [row.as_json() for row in self.rows],
            "expected": self.expected,
            "ballots": len(self.rows),
            "fed": {tabulator: one.ballots for tabulator, one in self.feeds.items()},
        }

    @cached_property
    def json_bytes(self) -> bytes:
        """`deck.json`: one object on one line, UTF-8."""
        return (json.dumps(self.as_json(), ensure_ascii=False, separators=(",", ":")) + "\n").encode()

    @cached_property
    def digest(self) -> str:
        """SHA-256 of `deck.json`, 64 hex digits."""
        return hashlib.sha256(self.json_bytes).hexdigest()

    @cached_property
    def csv_bytes(self) -> bytes:
        """`expected.csv`: one line a figure, for each tabulator and together."""
        text = io.StringIO()
        write = csv.writer(text, lineterminator="\n")
        write.writerow(("tabulator", "contest", "cell", "expected"))
        for tabulator, tape in self.expected.items():
            for (contest, cell), figure in expected.cells(self.plan, tape):
                write.writerow((tabulator, contest, cell, figure))
        return text.getvalue().encode()


def build(plan: DeckPlan) -> Deck:
    """The deck of this plan. Raises NoDeck with one sentence."""
    for sentence in beyond_limits(plan):
        raise NoDeck(sentence)
    made: DeckRows = deck_rows(plan)
    if len(made.rows) > MOST_BALLOTS:
        raise NoDeck(
            f"This deck would have {len(made.rows)} ballots, and {MOST_BALLOTS} is the most: make a place file for fewer styles at a time."
        )
    deck = Deck(plan, made.rows, dict(made.pattern))
    for tabulator, tape in deck.expected.items():
        for contest in plan.contests:
            if expected.sum_is_off(contest, tape["contests"][contest.id]):
                raise AssertionError(
                    f"expected tape of {tabulator}: votes, undervotes and overvotes of {contest.id} are not ballots x n"
                )
    return deck


def beyond_limits(plan: DeckPlan) -> Iterator[str]:
    """What is too large for one deck, in a sentence each."""
    if not plan.tabulators:
        yield "This place file has no tabulator, so there is nothing to test: add it as [[tabulators]]."
    if len(plan.styles) > MOST_STYLES:
        yield f"This place file has {len(plan.styles)} ballot styles, and {MOST_STYLES} is the most for one deck: make a place file for fewer styles at a time."
    units = sum(len(style.precincts) for style in plan.styles) if plan.by_precinct else len(plan.styles)
    if units > MOST_UNITS:
        yield f'every = "precinct" asks for {units} patterns, and {MOST_UNITS} is the most: write every = "style", or make a place file for fewer styles.'
    for style in plan.styles:
        if len(style.contests) > MOST_CONTESTS:
            yield f"Style {style.id} has {len(style.contests)} contests, and {MOST_CONTESTS} is the most that one deck tells apart: split the place file."


def minimum(plan: DeckPlan, style: DeckStyle) -> int:
    """The least number of ballots for this style: its pattern, and the special ballots that no pattern row can be.

    One overvoted where a contest can be, one blank, one blank and folded; straight party: 2, 3, 4 ... ballots, and two parties. Own marks
    against the party can be a ballot of the pattern that has the party's mark too; dealing 1 took it for one more.
    """
    units = len(style.precincts) if plan.by_precinct else 1
    voted = [contest for contest in style.contests if contest.id != plan.straight]
    kinds = ("over", "blank", "straight", "two-party", *(("crossover",) if plan.dealing == 1 else ()))
    apart = sum(special.kind in kinds for special in specials(style, plan.straight, plan.folded))
    return units * (least_window(voted, plan.straight_parties if plan.straight in style.index else ()) + apart)
