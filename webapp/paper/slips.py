"""The slips: one for each official, cut apart, with the one-time code that admits its owner at roll call.

A slip travels separately from the laptop and is handed over in person; that is all its strength. It folds along its
middle, so that the code is inside. The sheet is printed once, at the office; the codes are kept nowhere.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from webapp.paper.parts.sheet import LEFT, RIGHT, TOP, PaperSheet
from webapp.precinct.place.place import Official, Party, Place

HEIGHT = 62.0  # mm of one slip; four to a sheet
FOLD = (LEFT + RIGHT) / 2
A_SHEET = 4
SECOND = "Only if the laptop is replaced, the second code, used once:"


@dataclass(frozen=True, slots=True)
class PinSlip:
    """What one slip says: whose it is, where and when it is used, and the code."""

    name: str
    office: str  # "witness, Plover Party"
    home: tuple[str, ...]  # the place or the office, one line each
    code: str
    use: tuple[str, ...]  # what its owner does with it
    second: str = ""  # the code for a spare laptop, where there is a kit


def place_slips(
    place: Place, codes: Mapping[str, str], second: Mapping[str, str] = MappingProxyType({})
) -> tuple[PinSlip, ...]:
    """A slip for each official of a place who has a code; `second` codes are for a spare laptop only."""
    day = f"{place.date:%A}, {place.date.day} {place.date:%B %Y}"
    home = (place.name, f"{place.id}, {place.county}", place.election, f"{day}, polls open {place.opens:%H:%M}")
    use = (
        "Keep this folded until roll call, after the oath.",
        "Type the code yourself, then choose a PIN of 6 to 12 digits.",
        "Nobody watches you, and nobody signs for you.",
        "The code works once. Lost or opened by another: tell the chair before roll call.",
    )
    mark = " (practice)" if place.mode == "practice" else ""
    return _slips(place.officials, place.parties, home, use, codes, mark, second)


def office_slips(
    name: str, officials: Sequence[Official], parties: Sequence[Party], codes: Mapping[str, str]
) -> tuple[PinSlip, ...]:
    """A slip for each official of the office's desk who has a code."""
    use = (
        "Keep this folded until you sit down at the desk.",
        "Type the code yourself, then choose a PIN of 6 to 12 digits.",
        "Nobody watches you, and nobody signs for you.",
        "The code works once. Lost or opened by another: tell the director before you sign.",
    )
    return _slips(officials, parties, (name, "Desk"), use, codes, "")


def slips_pdf(slips: Sequence[PinSlip], before: Callable[[PaperSheet], None] = lambda sheet: None) -> bytes:
    """The sheets to print and cut, four slips on each; `before` draws what is printed ahead of them."""
    sheet = PaperSheet(
        "Slips",
        "Slips. Print once, cut along the dashed lines, fold, hand over in person separately from the laptop.",
    )
    before(sheet)
    for i, slip in enumerate(slips):
        if i % A_SHEET == 0:
            sheet.leaf(ruled=False)
        _draw(sheet, slip, TOP + i % A_SHEET * HEIGHT)
    return bytes(sheet.output())


def _slips(
    officials: Sequence[Official],
    parties: Sequence[Party],
    home: tuple[str, ...],
    use: tuple[str, ...],
    codes: Mapping[str, str],
    mark: str,
    second: Mapping[str, str] = MappingProxyType({}),
) -> tuple[PinSlip, ...]:
    names = {party.id: party.name for party in parties}
    return tuple(
        PinSlip(o.name, f"{o.role}, {names.get(o.party, o.party)}{mark}", home, codes[o.id], use, second.get(o.id, ""))
        for o in officials
        if o.id in codes
    )


def _draw(sheet: PaperSheet, slip: PinSlip, top: float) -> None:
    """Draw one slip from this height (mm) down: owner left of the fold, code right of it, the cut below."""
    own = [
        (slip.name, 15.0, True),
        (slip.office, 10.5, False),
        *((line, 9.5, False) for line in slip.home),
        (f"Give this to {slip.name} in person, separately from the laptop.", 8.5, False),
    ]
    code = [
        ("Code, used once", 8.5, False),
        (slip.code, 23.0, True),
        *((f"{n}. {line}", 9.0, False) for n, line in enumerate(slip.use, 1)),
        *(((SECOND, 8.5, False), (slip.second, 15.0, True)) if slip.second else ()),
    ]
    _column(sheet, own, top, LEFT, FOLD - 5)
    _column(sheet, code, top, FOLD + 5, RIGHT)
    _lines(sheet, top)


def _column(sheet: PaperSheet, rows: Sequence[tuple[str, float, bool]], top: float, x: float, right: float) -> None:
    """Set rows of (text, points, bold) one below the other, all a little smaller where long names would cross the cut."""
    scale = 1.0
    while (
        scale > 0.4 and sum(sheet.needs(text, size * scale, bold, x, right) for text, size, bold in rows) > HEIGHT - 10
    ):
        scale -= 0.05
    sheet.set_y(top + 4)
    for text, size, bold in rows:
        sheet.say(text, size * scale, bold, x, right)
        sheet.down(0.6)


def _lines(sheet: PaperSheet, top: float) -> None:
    sheet.set_line_width(0.15)
    sheet.set_dash_pattern(dash=0.6, gap=1.6)
    sheet.line(FOLD, top + 2, FOLD, top + HEIGHT - 3)
    sheet.set_dash_pattern(dash=3, gap=2)
    sheet.line(0, top + HEIGHT, sheet.w, top + HEIGHT)
    sheet.set_dash_pattern()
