"""The balance of one night: where every ballot went, the lines that follow, and what a gap is consistent with.

`balance` takes the figures of one place as the JSON object of `tapeseal balance` and gives every line in words. It never alters a figure.
`explain.explain.explained` gives the same with what the gaps are consistent with.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from webapp.precinct.balance.all_lines import drawn
from webapp.precinct.balance.contests import ContestCount, Convention, contest_convention
from webapp.precinct.balance.explanation import Explanation, RuledOut
from webapp.precinct.balance.figure_board import BoardFigures
from webapp.precinct.balance.figure_rows import Unreadable
from webapp.precinct.balance.line import Line, Unchecked
from webapp.precinct.balance.lines_board import board_is_whole
from webapp.precinct.balance.lines_envelopes import of_a_board
from webapp.precinct.balance.lines_tabulators import each_counter_is_there
from webapp.precinct.balance.night_figures import NightFigures, read

__all__ = [
    "Balance",
    "ContestCount",
    "Convention",
    "Line",
    "Unchecked",
    "Unreadable",
    "balance",
    "contest_convention",
    "drawn_balance",
]


@dataclass(frozen=True)
class Balance:
    """The lines of one night, the lines not drawn yet, and the sets of mistakes that its gaps are consistent with.

    ms: the time it took, filled in by the caller that has a clock. board: the figures of a count board as read.
    batches: those of its batches that do not agree, filled in by the board's room.
    """

    lines: tuple[Line, ...]
    unchecked: tuple[Unchecked, ...] = ()
    explanations: tuple[Explanation, ...] = ()
    ruled_out: tuple[RuledOut, ...] = ()
    ms: float = 0.0
    complete: bool = False
    board: BoardFigures | None = None
    batches: tuple[Any, ...] = ()

    @property
    def balanced(self) -> bool:
        """Whether every drawn line is 0."""
        return all(line.gap == 0 for line in self.lines)

    @property
    def gaps(self) -> tuple[Line, ...]:
        """The lines that are not 0, in order."""
        return tuple(line for line in self.lines if line.gap)

    def as_json(self) -> dict[str, Any]:
        """The JSON object of `tapeseal balance`."""
        parts = ("lines", "unchecked", "explanations", "ruled_out")
        lists = {part: [member.as_json() for member in getattr(self, part)] for part in parts}
        batches = {"batches": [group.as_json() for group in self.batches]} if self.batches else {}
        return {"balanced": self.balanced, "complete": self.complete, **lists, **batches, "ms": self.ms}


def balance(figures: Mapping[str, Any]) -> Balance:
    """Draw every line of these figures, without explanations. Raises `Unreadable` naming the key."""
    return drawn_balance(read(figures))


def drawn_balance(night: NightFigures) -> Balance:
    """Draw every line of figures that were read already."""
    lines, unchecked = drawn(night)
    whole = {line.id for line in lines if line.scope is None}
    if of_a_board(night):
        complete = board_is_whole(night, lines)
    else:
        complete = {"stock", "poll-book"} <= whole and each_counter_is_there(night, lines)
    return Balance(lines, unchecked, complete=complete, board=night.board)
