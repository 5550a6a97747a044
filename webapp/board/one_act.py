"""The board as the first entries of one act would leave it, so that the next of them can be checked: a carrier received, counted and shown empty at once.

The board itself is never changed: what was not signed has not happened.
"""

from copy import copy

from webapp.board.board_day import BoardDay, BoardEntry
from webapp.board.board_entries import FOLDS

FIRST_OF_ACTS = ("carrier-in", "envelopes-counted", "carrier-empty", "unfold")
"""Entries that another one of the same act may rest on; they change carriers and trays only."""


def after(day: BoardDay, entry: BoardEntry | None) -> BoardDay:
    """The board with this entry in it; `day` itself where nothing of the same act can rest on it. None: it says nothing."""
    if entry is None or entry.kind not in FIRST_OF_ACTS:
        return day
    then = copy(day)
    then.carriers, then.trays = dict(day.carriers), dict(day.trays)
    FOLDS[entry.kind](then, entry)
    return then
