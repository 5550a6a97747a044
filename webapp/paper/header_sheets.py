"""Header sheets: one on top of each batch of ballots, never fed. Printed ahead in the order of their ids; each opens its batch when its code is scanned.

Two to a sheet, to be cut apart, so that they are smaller than a ballot; print them on paper of another color. Of the
place that a batch came from they name only the precinct: no envelope, no name.
"""

from collections.abc import Sequence

import qrcode

from webapp.board.batch_ids import batch_id, header_code
from webapp.packet import codes
from webapp.paper.parts.headings import place_head, sheet_for
from webapp.paper.parts.sheet import FACE, LEFT, RIGHT, TOP, PaperSheet
from webapp.paper.parts.write_in_parts import LEAST, captioned
from webapp.precinct.place.place import Place

NAME = "Header sheets"
HALF = 132.0  # mm from the head of one to the head of the next
CODE = 30.0  # mm, the side of the code without its white edge
ID_POINTS = 60
BAND = 17.0  # mm, the black band
KINDS = {"first": "Ballots out of the envelopes", "duplicates": "Duplicates", "again": "Ballots fed after all"}
MOST = 2000
DO_NOT_FEED = "DO NOT FEED"
AGREES = "Fed (after less before) and set aside together are as many as the ballots counted. If not, this tabulator stops, and another pair counts again."
BEFORE = "A second person looks: is it this batch, and is the arrow up?"


def header_sheets_pdf(place: Place, kind: str, first: int, count: int) -> bytes:
    """The header sheets of `count` batches of one kind, from number `first` on."""
    sheet = sheet_for(place, NAME)
    for number in range(count):
        if number % 2 == 0:
            sheet.leaf(ruled=False)
        _half(sheet, place, kind, batch_id(kind, first + number), TOP + number % 2 * HALF)
    return bytes(sheet.output())


def end_sheet(sheet: PaperSheet, top: float) -> None:
    """The sheet under the last ballot of a batch: people who reach it know that the batch went through whole."""
    _band(sheet, top + 12)
    sheet.set_y(top + 40)
    sheet.say("End of batch", 40, True, x=LEFT, align="C")
    sheet.say(
        "Last ballot fed? Read the counter now, write it on the header sheet, and put this sheet back on the pile.",
        11,
        x=LEFT,
        align="C",
    )


def draw_code(sheet: PaperSheet, text: str, x: float, y: float, side: float) -> None:
    """A code with its upper left corner at (x, y), `side` mm wide without its white edge, correction Q (ISO/IEC 18004)."""
    code = qrcode.QRCode(error_correction=qrcode.ERROR_CORRECT_Q, border=0)
    code.add_data(text)
    code.make(fit=True)
    rows = tuple(tuple(map(bool, row)) for row in code.modules)
    size = side / len(rows) * sheet.k
    black = " ".join(f"{column} {-row - 1} {width} 1 re" for column, row, width in codes.runs(rows))
    sheet._out(f"q {size:.4f} 0 0 {size:.4f} {x * sheet.k:.4f} {(sheet.h - y) * sheet.k:.4f} cm 0 g {black} f Q")


def _half(sheet: PaperSheet, place: Place, kind: str, id: str, top: float) -> None:
    """One header sheet from this height (mm) down."""
    if top > TOP:
        _cut(sheet, top - 5)
    right = RIGHT - CODE - 14
    sheet.set_y(top)
    _arrow(sheet, LEFT + 4, top)
    sheet.say("This way up", 11, True, x=LEFT + 14, right=right)
    sheet.say(
        place_head(place) + (", practice" if place.mode == "practice" and top > TOP else ""),
        LEAST,
        x=LEFT + 14,
        right=right,
        lead=1.2,
    )
    draw_code(sheet, header_code(place.id, id), RIGHT - CODE - 5, top + (9 if sheet.stamps and top == TOP else 4), CODE)
    sheet.set_y(max(sheet.get_y() + 1, top + 13))
    sheet.say(id, ID_POINTS, True, x=LEFT, right=right, lead=1.05)
    sheet.say(KINDS[kind], 11, x=LEFT, right=right)
    _band(sheet, top + 50)
    sheet.set_y(top + 50 + BAND + 2)
    sheet.say(BEFORE, 10, x=LEFT)
    _boxes(sheet, (("precinct", 3), ("ballots counted", 2), ("counted again", 2), ("initials, two of two parties", 3)))
    _boxes(
        sheet,
        (("tabulator", 2), ("counter before", 2.4), ("set aside", 2), ("counter after", 2.4), ("initials, two", 2)),
    )
    sheet.say(AGREES, LEAST, x=LEFT)


def _boxes(sheet: PaperSheet, parts: Sequence[tuple[str, float]]) -> None:
    captioned(sheet, parts, x=LEFT, height=11, gap=4)
    sheet.down(0.6)


def _band(sheet: PaperSheet, top: float) -> None:
    """The black band across: DO NOT FEED."""
    sheet.set_fill_color(0)
    sheet.rect(LEFT, top, RIGHT - LEFT, BAND, style="F")
    sheet.set_text_color(255)
    sheet.set_font(FACE, "B", 34)
    sheet.set_xy(LEFT, top)
    sheet.cell(RIGHT - LEFT, BAND, DO_NOT_FEED, align="C")
    sheet.set_text_color(0)


def _arrow(sheet: PaperSheet, x: float, y: float) -> None:
    """An arrow that points to the upper edge."""
    sheet.set_fill_color(0)
    sheet.polygon([(x, y), (x + 5, y + 6.5), (x - 5, y + 6.5)], style="F")
    sheet.rect(x - 1.6, y + 6.4, 3.2, 5, style="F")


def _cut(sheet: PaperSheet, y: float) -> None:
    sheet.set_line_width(0.15)
    sheet.set_dash_pattern(dash=3, gap=2)
    sheet.line(0, y, sheet.w, y)
    sheet.set_dash_pattern()
