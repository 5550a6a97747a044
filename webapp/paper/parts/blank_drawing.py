"""Blanks drawn onto a sheet: a line to write on, yes and no, boxes to tick."""

from collections.abc import Sequence

from webapp.paper.parts.field_blanks import COUNTS, Blank
from webapp.paper.parts.sheet import MARGIN, RIGHT, PaperSheet
from webapp.paper.parts.write_in_parts import LEAST, TICK, Column, blank, table, tick, ticked

GAP = 6.0  # mm between the two columns of blanks
SHORT = 27  # letters of a label that fits a third of the width
LINE = 5.8  # mm a blank in the grid
SIZE = 9.0


def draw(sheet: PaperSheet, found: Sequence[Blank]) -> None:
    """Draw all blanks, two side by side where they are short."""
    waiting: list[Blank] = []
    for one in found:
        if one.whole:
            _abreast(sheet, waiting)
            waiting = []
            _whole(sheet, one)
            continue
        waiting = _abreast_of(sheet, waiting, one)
        if len(waiting) == across(waiting):
            _abreast(sheet, waiting)
            waiting = []
    _abreast(sheet, waiting)


def _abreast_of(sheet: PaperSheet, waiting: list[Blank], one: Blank) -> list[Blank]:
    """The row that waits, with one more; a row that it does not fit is drawn first."""
    if waiting and across([*waiting, one]) < len(waiting) + 1:
        _abreast(sheet, waiting)
        return [one]
    return [*waiting, one]


def across(row: Sequence[Blank]) -> int:
    """How many blanks fit side by side in this row: three short boxes to tick, else two."""
    return 3 if all(b.kind == "tick" and len(b.label) <= SHORT for b in row) else 2


def height(sheet: PaperSheet, found: Sequence[Blank]) -> float:
    """Their height in mm, roughly: enough to keep a step together."""
    short = [b for b in found if not b.whole]
    thirds = [b for b in short if across((b,)) == 3]
    whole = sum(
        {
            "lines": 15.0,
            "said": 6.0,
            "choose": 2.0 + 5.6 * (-(-len(b.choices) // 3)),
            "rows": 10.0 + 7.0 * len(b.rows),
        }.get(b.kind, LINE)
        for b in found
        if b.whole
    )
    return whole + (-(-len(thirds) // 3) + (len(short) - len(thirds) + 1) // 2) * (LINE + 0.6)


def _abreast(sheet: PaperSheet, row: Sequence[Blank]) -> None:
    """Draw blanks side by side."""
    if not row:
        return
    count = 3 if len(row) == 3 else across(row)
    width = (RIGHT - MARGIN - GAP * (count - 1)) / count
    sheet.room(max(LINE, *(_label_height(sheet, one, width) for one in row), 0) + 3.2)
    top, bottoms = sheet.get_y(), []
    for place, one in enumerate(row):
        x = MARGIN + place * (width + GAP)
        sheet.set_y(top)
        _short(sheet, one, x, x + width)
        bottoms.append(sheet.get_y())
    sheet.set_y(max(bottoms))


def _beside(one: Blank) -> float:
    """The width in mm of what is filled in next to the label."""
    return {"choose": 0.0, "counts": 42.0, "yes-no": 30.0, "tick": TICK}.get(one.kind, one.width)


def _label_height(sheet: PaperSheet, one: Blank, width: float) -> float:
    return sheet.needs(one.label, SIZE, x=MARGIN, right=MARGIN + width - _beside(one) - 2, lead=1.2)


def _short(sheet: PaperSheet, one: Blank, x: float, right: float) -> None:
    """Draw a box or a rule with its label; the pen ends below."""
    if one.kind == "choose":
        sheet.down(0.4)
        _choose(sheet, one, x)
        return
    if one.kind == "tick":
        sheet.down(0.6)
        ticked(sheet, one.label, x, right, SIZE)
        return
    top = sheet.get_y()
    width = _beside(one)
    lines = sheet.needs(one.label, SIZE, x=x, right=right - width - 2, lead=1.2)
    sheet.set_y(top + max(LINE - 4.6, 0.8))
    sheet.say(one.label, SIZE, x=x, right=right - width - 2, lead=1.2)
    bottom = top + max(LINE, lines + 2.0)
    if one.kind == "yes-no":
        _yes_no(sheet, right - width, bottom)
    elif one.kind == "counts":
        step = width / COUNTS
        for n in range(COUNTS):
            blank(sheet, right - width + n * step, right - width + (n + 1) * step - 1.8, bottom - 0.4)
    else:
        blank(sheet, right - width, right, bottom - 0.4)
    sheet.set_y(bottom + 0.6)


def _yes_no(sheet: PaperSheet, x: float, bottom: float) -> None:
    for n, words in enumerate(("yes", "no")):
        tick(sheet, x + n * 15, bottom - TICK - 0.8)
        sheet.set_y(bottom - TICK - 0.9)
        sheet.say(words, SIZE, x=x + n * 15 + TICK + 1, right=x + n * 15 + 15)


def _whole(sheet: PaperSheet, one: Blank) -> None:
    if one.kind == "rows":
        columns = (
            Column(one.choices[0], 3.2 if one.choices[0] == "" else 2.4),
            *(Column(head, 2.0 if len(one.choices) > 3 else 2.6) for head in one.choices[1:]),
        )
        table(sheet, columns, one.rows, height=5.8)
        return
    sheet.room({"lines": 15, "choose": 12}.get(one.kind, 9))
    if one.kind == "said":
        sheet.say(one.label, SIZE)
        sheet.down(0.8)
    elif one.kind == "lines":
        _lines(sheet, one.label)
    elif one.kind == "choose":
        _choose(sheet, one)
    else:
        _short(sheet, one, MARGIN, RIGHT)


def _lines(sheet: PaperSheet, label: str) -> None:
    """Draw two rules to write words on; the first begins behind its label where that leaves half the width."""
    sheet.set_font("next", "", LEAST)
    begin = MARGIN + sheet.get_string_width(sheet.shown(label)) + 3
    beside = begin < (MARGIN + RIGHT) / 2
    if beside:
        sheet.down(2.2)
    sheet.say(label, LEAST)
    if beside:
        blank(sheet, begin, RIGHT, sheet.get_y() - 0.4)
    else:
        sheet.down(6.4)
        blank(sheet, MARGIN, RIGHT, sheet.get_y())
    sheet.down(6.4)
    blank(sheet, MARGIN, RIGHT, sheet.get_y())
    sheet.down(0.8)


def _choose(sheet: PaperSheet, one: Blank, left: float = MARGIN) -> None:
    """Draw the label, then each choice with its box, as many in a row as fit. `left`: where it begins, in mm."""
    sheet.set_font("next", "B", SIZE)
    x, top = left + sheet.get_string_width(sheet.shown(one.label)) + 4, sheet.get_y() + 0.6
    sheet.set_y(top - 0.1)
    sheet.say(one.label, SIZE, True, x=left)
    if x > left + 70:
        x, top = MARGIN, sheet.get_y() + 0.6
    for words in one.choices:
        sheet.set_font("next", "", SIZE)
        width = sheet.get_string_width(sheet.shown(words)) + TICK + 7
        if x + width > RIGHT + 2 and x > MARGIN:
            x, top = MARGIN, top + 5.8
        tick(sheet, x, top)
        sheet.set_y(top - 0.1)
        sheet.say(words, SIZE, x=x + TICK + 1, right=min(x + width + 2, RIGHT))
        x += width
    sheet.set_y(max(top + 5.2, sheet.get_y() + 0.6))
