"""Dealing totals into ballots: which rows of the pattern each position is marked on.

Positions go by total, the greatest first; mark number i (from 0) goes into row (i + rotation) mod window. No row gets a position twice,
because no total exceeds the window, and the numbers of marks of two rows differ by at most one.
"""

from collections.abc import Sequence


def deal(totals: Sequence[int], window: int, rotation: int = 0) -> tuple[int, ...]:
    """The column of each position as a mask of rows, bit 0 being the first row of the pattern."""
    columns = [0] * len(totals)
    start = 0
    for i in sorted(range(len(totals)), key=lambda i: (-totals[i], i)):
        columns[i] = rotated((1 << totals[i]) - 1, window, start % window)
        start += totals[i]
    return tuple(rotated(column, window, rotation) for column in columns)


def rotated(column: int, window: int, by: int) -> int:
    """A column moved down by so many rows, round within the window."""
    return (column << by | column >> (window - by)) & ((1 << window) - 1)
