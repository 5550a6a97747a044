"""Codes that a stain hides from the reader: the other codes of the page give their places, and their corners can be drawn again.

A reader finds a code by its three corner squares; a blot over one of them loses the whole code, though its correction
could bear the blot. The codes of a page are in rows and columns, so five that were read give the places of the rest
(a homography from row and column to each corner). There the page is straightened, the parts that are the same in
every code of version 15 are drawn over it, and the reader looks again. Needs nothing of this house.
"""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from PIL.Image import Image
from collections.abc import Iterator, Sequence

Point = tuple[float, float]
Quad = tuple[Point, Point, Point, Point]  # top left, top right, bottom right, bottom left, as the code itself stands

MODULES, QUIET, SCALE, LEAST = 77, 4, 8, 5  # modules, modules of white, pixels a module when straightened, codes needed
SIDE = (MODULES + 2 * QUIET) * SCALE
VERSION_15 = 0x0F928  # ISO/IEC 18004 annex D: the 18 bits of version information


def hidden(image: "Image", read: Sequence[Quad]) -> Iterator["Image"]:
    """For each place of the page's lattice where no code was read, that place straightened, as it is and with its corners drawn again."""
    cells = _numbered(read)
    if len(cells) < LEAST:
        return
    maps = [_map([(cell, read[place][corner]) for cell, place in cells.items()]) for corner in range(4)]
    corners = [found for found in maps if found is not None]
    if len(corners) < len(maps):
        return
    columns, rows = ([cell[axis] for cell in cells] for axis in (0, 1))
    for row in range(min(rows), max(rows) + 1):
        for column in range(min(columns), max(columns) + 1):
            if (column, row) not in cells:
                straight = _straightened(image, [_at(corner, (column, row)) for corner in corners])
                yield straight
                yield _redrawn(straight)


def _numbered(read: Sequence[Quad]) -> dict[tuple[int, int], int]:
    """(column, row) of each code, counted from the first, over neighbours; codes off the lattice are left out."""
    if len(read) < LEAST:
        return {}
    steps = [_steps(read, place) for place in range(len(read))]
    across = min((abs(x) for near in steps for x, y in near.values() if abs(x) > 0.8 and abs(y) < 0.5), default=0)
    down = min((abs(y) for near in steps for x, y in near.values() if abs(y) > 0.8 and abs(x) < 0.5), default=0)
    if not across or not down:
        return {}
    found, ahead = {0: (0, 0)}, [0]
    while ahead:
        place = ahead.pop(0)
        for other, (x, y) in steps[place].items():
            column, row = x / across, y / down
            if (
                other not in found
                and max(abs(column), abs(row)) < 2.3
                and abs(column - round(column)) < 0.25
                and abs(row - round(row)) < 0.25
            ):
                found[other] = (found[place][0] + round(column), found[place][1] + round(row))
                ahead.append(other)
    return {cell: place for place, cell in found.items()}


def _steps(read: Sequence[Quad], place: int) -> dict[int, Point]:
    """The offset of the other codes from this one, across and down, in its own widths and its own directions."""
    own = _map(list(zip(read[place], [(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)], strict=True)))
    return {other: _at(own, quad[0]) for other, quad in enumerate(read) if other != place} if own else {}


def _map(pairs: Sequence[tuple[Point, Point]]) -> tuple[float, ...] | None:
    """The eight numbers of the homography that takes the first point of each pair nearest to the second; None where the points leave it open."""
    rows = []
    for (x, y), (u, v) in pairs:
        rows += [[x, y, 1, 0, 0, 0, -u * x, -u * y, u], [0, 0, 0, x, y, 1, -v * x, -v * y, v]]
    normal = [[sum(row[i] * row[j] for row in rows) for j in range(9)] for i in range(8)]
    for pivot in range(8):
        best = max(range(pivot, 8), key=lambda at: abs(normal[at][pivot]))
        normal[pivot], normal[best] = normal[best], normal[pivot]
        if abs(normal[pivot][pivot]) < 1e-9:
            return None
        for at in range(8):
            if at != pivot:
                factor = normal[at][pivot] / normal[pivot][pivot]
                normal[at] = [value - factor * under for value, under in zip(normal[at], normal[pivot], strict=True)]
    return tuple(normal[at][8] / normal[at][at] for at in range(8))


def _at(numbers: Sequence[float], point: Point) -> Point:
    a, b, c, d, e, f, g, h = numbers
    x, y = point
    under = g * x + h * y + 1 or 1e-9
    return (a * x + b * y + c) / under, (d * x + e * y + f) / under


def _straightened(image: "Image", quad: Sequence[Point]) -> "Image":
    """This place of the page as a square, its white edge around it, light and dark drawn apart."""
    from PIL import Image, ImageDraw, ImageFilter, ImageOps

    low, high = QUIET * SCALE, SIDE - QUIET * SCALE
    numbers = _map(list(zip([(low, low), (high, low), (high, high), (low, high)], quad, strict=True)))
    if numbers is None:
        return Image.new("L", (SIDE, SIDE), 255)
    square = image.transform(
        (SIDE, SIDE), Image.Transform.PERSPECTIVE, numbers, Image.Resampling.BICUBIC, fillcolor=255
    )
    square = ImageOps.autocontrast(square.filter(ImageFilter.GaussianBlur(SCALE / 4)), cutoff=2)
    draw = ImageDraw.Draw(square)
    for edge in ((0, 0, SIDE, low - 1), (0, high, SIDE, SIDE), (0, 0, low - 1, SIDE), (high, 0, SIDE, SIDE)):
        draw.rectangle(edge, fill=255)
    return square


def fixed() -> dict[Point, bool]:
    """What is the same in every code of version 15: column and row to black or white. Corner squares, timing, version (ISO/IEC 18004, 6.3, 7.10)."""
    found: dict[Point, bool] = {}
    for at in range(MODULES):
        found[(at, 6)] = found[(6, at)] = at % 2 == 0
    for left, top in ((0, 0), (MODULES - 7, 0), (0, MODULES - 7)):
        for x in range(-1, 8):
            for y in range(-1, 8):
                if 0 <= left + x < MODULES and 0 <= top + y < MODULES:
                    found[(left + x, top + y)] = max(abs(x - 3), abs(y - 3)) in (0, 1, 3)
    for bit in range(18):
        long, short = bit // 3, MODULES - 11 + bit % 3
        found[(long, short)] = found[(short, long)] = bool(VERSION_15 >> bit & 1)
    return found


def _redrawn(straight: "Image") -> "Image":
    from PIL import ImageDraw

    again = straight.copy()
    draw = ImageDraw.Draw(again)
    for (x, y), black in fixed().items():
        left, top = (x + QUIET) * SCALE, (y + QUIET) * SCALE
        draw.rectangle((left, top, left + SCALE - 1, top + SCALE - 1), fill=0 if black else 255)
    return again
