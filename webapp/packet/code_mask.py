"""Which of the eight masks a code is drawn with: the one with the fewest penalty points (ISO/IEC 18004, 7.8.3), the first of equals.

qrcode finds the same, but places the data nine times and looks at each module by itself: three times the work for each of a packet's codes. Here
the data are placed once, lines are texts of 0 and 1, and a mask is one number for each line.
"""

import re
from collections.abc import Iterable, Sequence
from functools import cache
from itertools import pairwise

import qrcode
from qrcode.util import mask_func

RUNS = re.compile("0{5,}|1{5,}")
LIKE_A_CORNER = re.compile("(?=10111010000|00001011101)")  # 1:1:3:1:1 with four light modules before or behind
MASKS = range(8)


class _Layout(qrcode.QRCode):
    """A code of which only what is the same in every code is placed; `free` is where data go."""

    def map_data(self, data: object, mask_pattern: int) -> None:
        self.free = [[module is None for module in row] for row in self.modules]


@cache
def _changes(version: int) -> tuple[tuple[int, ...], ...]:
    """For each mask and each row, as bits from the left: modules that it draws in another colour than mask 0."""
    layout = _Layout(version=version, border=0)
    layout.data_cache = []
    layout.makeImpl(True, 0)
    first = mask_func(0)
    return tuple(
        tuple(
            _bits(free and first(y, x) != mask(y, x) for x, free in enumerate(row)) for y, row in enumerate(layout.free)
        )
        for mask in map(mask_func, MASKS)
    )


def _bits(modules: Iterable[bool | None]) -> int:
    return int("".join("1" if black else "0" for black in modules), 2)


def best(code: qrcode.QRCode, version: int) -> int:
    """The number of the mask for this code, whose codewords are in its `data_cache`."""
    code.makeImpl(True, 0)
    plain = [_bits(row) for row in code.modules]
    return min(MASKS, key=lambda mask: points([a ^ b for a, b in zip(plain, _changes(version)[mask], strict=True)]))


def points(rows: Sequence[int]) -> int:
    """Penalty points of a square of modules, each row as bits from the left."""
    size = len(rows)
    lines = [f"{row:0{size}b}" for row in rows]
    found = 0
    for line in (*lines, *map("".join, zip(*lines, strict=True))):
        found += sum(len(run) - 2 for run in RUNS.findall(line)) + 40 * len(LIKE_A_CORNER.findall(line))
    for above, below in pairwise(rows):
        alike = ~(above ^ below)
        squares = alike & alike >> 1 & ~(above ^ above >> 1) & (1 << size - 1) - 1
        found += 3 * squares.bit_count()
    dark = sum(row.bit_count() for row in rows) / size**2
    return found + 10 * int(abs(dark * 100 - 50) / 5)
