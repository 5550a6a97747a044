"""Prints the codes of a packet: at most 16 a page, numbered from 1, each one path of vectors, a module at least half a millimeter."""

from collections.abc import Sequence

from webapp.packet import codes
from webapp.paper.parts.sheet import BOTTOM, FACE, LEFT, RIGHT, TOP, PaperSheet

PAGE = 16  # codes a page at most
LEAST, MOST = 0.5, 0.8  # mm a module
HEAD, LABEL = 19.0, 5.0  # mm: the words above the codes, the number under each


SAYS = (
    "They carry the figures and the remarks of this packet. Read them at the office's desk, in any order; about a quarter may be "
    "missing or unreadable: the desk names those still wanted. Keep these pages flat."
)


def codes_pdf(frames: Sequence[str], title: str, foot: str, practice: bool, says: str) -> bytes:
    """Codes alone, as a PDF. `says`: what they carry and where they are read."""
    sheet = PaperSheet(title, foot, ("Practice",) if practice else ())
    code_pages(sheet, frames, says)
    return bytes(sheet.output())


def code_pages(sheet: PaperSheet, frames: Sequence[str], says: str = SAYS) -> None:
    """Draw all codes, spread evenly over as few pages as they need."""
    pages = -(-len(frames) // PAGE)
    if not pages:
        return
    a_page = -(-len(frames) // pages)
    for first in range(0, len(frames), a_page):
        _page(sheet, frames[first : first + a_page], first + 1, len(frames), a_page, says)


def module_size(columns: int, rows: int) -> float:
    """The size of a module in mm when this many codes share a page, quiet zones included."""
    across = (RIGHT - LEFT) / columns
    down = (BOTTOM - TOP - HEAD) / rows - LABEL
    return min(across / codes.WHOLE, down / codes.WHOLE, MOST)


def grid(count: int) -> tuple[int, int]:
    """(columns, rows) that give the largest module for this many codes."""
    shapes = [(columns, -(-count // columns)) for columns in range(1, 5)]
    return max(shapes, key=lambda shape: (module_size(*shape), -shape[0]))


def _page(sheet: PaperSheet, frames: Sequence[str], number: int, count: int, a_page: int, says: str) -> None:
    columns, rows = grid(a_page)
    module = module_size(columns, rows)
    if module < LEAST:
        raise ValueError(f"{a_page} codes leave {module:.2f} mm a module; {LEAST} is the least")
    sheet.leaf(ruled=False)
    last = number + len(frames) - 1
    sheet.say(
        f"Codes {number} to {last} of {count}" if last > number else f"Code {number} of {count}",
        14,
        bold=True,
        x=LEFT,
        right=RIGHT - 60,
    )
    sheet.say(says, 9, x=LEFT, right=RIGHT - 62)
    step_x, step_y = (RIGHT - LEFT) / columns, (BOTTOM - TOP - HEAD) / rows
    for place, text in enumerate(frames):
        row, column = divmod(place, columns)
        x = LEFT + column * step_x + (step_x - codes.WHOLE * module) / 2
        y = TOP + HEAD + row * step_y
        draw(sheet, text, x, y, module)
        sheet.set_font(FACE, "B", 10)
        sheet.set_xy(x, y + codes.WHOLE * module - codes.QUIET * module / 2)
        sheet.cell(codes.WHOLE * module, LABEL, str(number + place), align="C")


def draw(sheet: PaperSheet, text: str, x: float, y: float, module: float) -> None:
    """Draw one code with its quiet zone from (x, y) in mm, as one filled path, so that no seam shows between its rows."""
    size = module * sheet.k
    left, top = (x + codes.QUIET * module) * sheet.k, (sheet.h - y - codes.QUIET * module) * sheet.k
    black = " ".join(f"{column} {-row - 1} {width} 1 re" for column, row, width in codes.runs(codes.modules(text)))
    # fpdf2's own path objects take 60 times as long for a code; this writes the same operators
    sheet._out(f"q {size:.4f} 0 0 {size:.4f} {left:.4f} {top:.4f} cm 0 g {black} f Q")
