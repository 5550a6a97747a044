"""The mistakes people make with a batch, what each moves on its rows, and how usual it is.

Costs are bits: the higher, the rarer; they are our judgement, near those of a polling place's mistakes. Sizes of one-ballot mistakes: 1 to 4,
2.5 bits for each further ballot; of 5 or more only the size that closes a row, 10 bits in all. Effects are (row, ballots by which its gap moves).
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from webapp.board.batch_rows import ENVELOPES, FED, BatchRow
from webapp.precinct.explain.mistake_sizes import BUNDLES, FEW

COSTS: Mapping[str, float] = {
    "ballots-miscounted": 3,
    "left-in-envelope": 3,
    "aside-unlogged": 3,
    "not-fed": 3,
    "empty-unlogged": 4,
    "two-unlogged": 4,
    "envelopes-miscounted": 4,
    "fed-twice": 4,
    "aside-fed": 4,
    "counter-misread": 4,
    "header-counted": 5,
    "batch-fed-twice": 5,
    "batch-not-listed": 5,
    "fed-again-later": 5,
    "order": 4,
    "counter-reset": 6,
    "strayed": 6,
}
CODES = tuple(COSTS)
"""In the order in which equals are told."""
ONE_BALLOT: Mapping[str, tuple[str, int]] = {
    "left-in-envelope": (ENVELOPES, 1),
    "aside-unlogged": (FED, 1),
    "not-fed": (FED, 1),
    "empty-unlogged": (ENVELOPES, 1),
    "two-unlogged": (ENVELOPES, -1),
    "fed-twice": (FED, -1),
    "aside-fed": (FED, -1),
    "strayed": (FED, 1),
}
"""The row that a mistake of one ballot at a time moves, and which way."""
ONCE_A_GROUP = {"header-counted", "batch-fed-twice", "order", "counter-reset"}
PILES = (1, 2, *BUNDLES)


@dataclass(frozen=True, slots=True)
class BatchMistake:
    """One mistake in one batch: its JSON keys besides `code` and `batch`, its cost, its effects, and ballots for the order of equals."""

    code: str
    batch: str
    keys: tuple[tuple[str, Any], ...]
    cost: float
    effects: tuple[tuple[BatchRow, int], ...]
    ballots: int = 0

    def as_json(self) -> dict[str, Any]:
        """Returns `code`, `batch` and the mistake's own keys, as one object of JSON."""
        return {"code": self.code, "batch": self.batch, **dict(self.keys)}

    def get(self, key: str) -> Any:
        """Returns the value of one of the mistake's own keys; None if it has no such key."""
        return dict(self.keys).get(key)


def one_ballot_cost(code: str, n: int) -> float:
    """Bits for n ballots of a mistake that is made one ballot at a time."""
    return COSTS[code] + (2.5 * (n - 1) if n <= FEW else 10)
