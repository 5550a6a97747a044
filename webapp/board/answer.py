"""The answer of `tapeseal balance` for any place: its balance, and at a central count board the batches that do not agree.

A file without `board` is answered by the balance alone.
"""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from webapp.board.batch_explain import open_batches
from webapp.precinct.balance.balance import Balance, balance
from webapp.precinct.explain.explain import explained


def answer(figures: Mapping[str, Any], explain: bool = True) -> Balance:
    """Every line of these figures, and what open lines and open batches are consistent with. Raises `Unreadable` naming the key."""
    found = explained(figures) if explain else balance(figures)
    if found.board is None or not found.board.batches:
        return found
    return replace(found, batches=open_batches(found.board.batches, found.lines, explain))
