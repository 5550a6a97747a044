"""Two guides of two pages each, for the chair (and a third for a laptop that dies) and for the desk, made from the very texts of the checklists: nothing here is written twice.

Always exactly two pages of the day, and never under 9 points. A page is as rich as it has room: what to do, line by line, goes first; then the reasons, those
of plain ticks before those of two signatures; the titles stay.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from webapp.paper import spare_sheet
from webapp.paper.parts.headings import hours_head, place_head, sheet_for
from webapp.paper.parts.sheet import BOTTOM, LEFT, RIGHT, TOP, PaperSheet
from webapp.paper.parts.write_in_parts import LEAST, tick
from webapp.precinct.checklist import cautions, desk_words
from webapp.precinct.checklist.checklist import LISTS, fill, steps
from webapp.precinct.place.place import Place
from webapp.precinct.place.place_kinds import KINDS
from webapp.precinct.place.step import Step
from webapp.precinct.place.step_places import here

CHAIR, DESK = "Guide for the chair", "Guide for the desk"
COLUMNS, GUTTER = 2, 7.0
GAP = 0.7  # mm below each step
WIDTH = (RIGHT - LEFT - GUTTER * (COLUMNS - 1)) / COLUMNS
LEAD = 1.17
LARGER = (1.25, 1.15, 1.08)  # sizes tried first, for a page with room to spare
SIGNS = {
    "T": "tick",
    "1": "one PIN",
    "2": "two PINs",
    "P": "two parties",
    "each": "each for themselves",
    "all": "everyone",
}
RULES = (
    "Nobody signs for another: each signature is that person’s own PIN, for the figures on the screen. A seat that cannot be filled never stops voting: choose “sign short”, say why, call the office; the step is kept short-signed.",
    "Not so? Every step has its box: write what was found and what was done. It is then a signed exception, never a dead end.",
    "A figure was wrong: open the step or note and correct it, with the reason; both stay legible. A note can be taken back within a minute.",
    "The laptop fails: go on with the paper forms at the step where you are. The other party keeps the witness’s card with the check words.",
)


@dataclass(frozen=True, slots=True)
class Block:
    """A heading or a step of the guide. `more`: further lines where there is room; `rank`: how soon its lines are dropped, 0 never."""

    title: str
    lines: tuple[str, ...] = ()
    more: tuple[str, ...] = ()
    mark: str = ""
    heading: bool = False
    rank: int = 0


def chair_pdf(place: Place) -> bytes:
    """The guide for the chair as a PDF: two pages with the day in the order of its lists, and one for the moment when the laptop dies."""
    lists = KINDS[place.kind].lists
    half = -(-len(lists) // 2)
    first = [*_lists(place, lists[:half]), *_notes(place)]
    second = [
        *_lists(place, lists[half:]),
        Block("When it does not go as it should", RULES, heading=True),
        Block("For everybody’s safety", cautions.ALL, heading=True),
    ]
    hours = "The accuracy test, before the election" if place.kind == "test" else f"Polls open {hours_head(place)}"
    sheet = sheet_for(place, CHAIR)
    _two_pages(sheet, CHAIR, f"{place_head(place)}.\n{hours}.", (first, second))
    spare_sheet.pages(sheet, place, "")
    return bytes(sheet.output())


def desk_pdf(place: Place) -> bytes:
    """The guide for the desk as a PDF of two pages, from carriers to receipt; the same for every place of the office."""
    stamps = ("Practice",) if place.mode == "practice" else ()
    mine = [fill(step, replace(place, name="the place"), "") for step in steps(place) if step.list == "office"]
    half = next((i for i, step in enumerate(mine) if step.id == "packet-read"), len(mine) // 2)
    first = [
        Block("The goods, while the carriers stand here", heading=True),
        *(_full(step) for step in mine[:half]),
        Block("The packet", desk_words.PACKET, heading=True),
    ]
    second = [
        Block("Compared and counted", heading=True),
        *(_full(step) for step in mine[half:]),
        Block("All night", desk_words.TABLE, heading=True),
        Block("For everybody’s safety", cautions.ALL, heading=True),
    ]
    sheet = PaperSheet(f"{DESK}, {place.county}", f"{place.county}  ·  {DESK}", stamps, LEAST)
    _two_pages(
        sheet,
        DESK,
        f"{place.county}, {place.election}. Places lists the steps of each place, in this order.",
        (first, second),
    )
    return bytes(sheet.output())


def _lists(place: Place, names: Sequence[str]) -> Iterable[Block]:
    """Each list with its steps; steps signed once are under the name of their page."""
    for name, heading in LISTS:
        if name not in names:
            continue
        yield Block(heading, heading=True)
        for step in steps(place):
            if step.list != name or step.note or not here(step, place):
                continue
            filled = fill(step, place, "")
            yield Block(
                filled.title,
                _begun(filled.why),
                _begun(*filled.do),
                SIGNS.get(step.signs, step.signs),
                rank=_rank(step),
            )


def _rank(step: Step) -> int:
    """The order in which reasons are dropped: those of ticks, then of one PIN, then of two."""
    return {"T": 1, "1": 2, "each": 2, "2": 3}.get(step.signs, 4)


def _notes(place: Place) -> Iterable[Block]:
    """The kinds of note in one paragraph."""
    titles = [fill(step, place, "").title for step in steps(place) if step.note and here(step, place)]
    yield Block(
        "Note: two taps from anywhere",
        ("; ".join(title[:1].lower() + title[1:] if not title[:2].isupper() else title for title in titles) + ".",),
        heading=True,
    )


def _full(step: Step) -> Block:
    behind = (
        *((f"Not so? {step.not_so}",) if step.not_so else ()),
        *((f"Caution: {step.caution}",) if step.caution else ()),
    )
    return Block(
        step.title, _begun(step.why), _begun(*step.do, *behind), SIGNS.get(step.signs, step.signs), rank=_rank(step)
    )


def _begun(*lines: str) -> tuple[str, ...]:
    """The lines, each with a capital first letter, also where it begins with what was filled in."""
    return tuple(line[:1].upper() + line[1:] for line in lines if line)


def _two_pages(sheet: PaperSheet, name: str, under: str, pages: Sequence[Sequence[Block]]) -> None:
    """Draw each page with as much as fits; at the least as many blocks as fit, and how many more there are."""
    for page in pages:
        tries = [(scale, list(page)) for scale in LARGER] + [
            (1.0, [_shorter(block, drop) for block in page]) for drop in range(-1, 6)
        ]
        scale, found = next(
            ((scale, found) for scale, found in tries if _fits(sheet, name, under, found, scale)), (1.0, None)
        )
        _page(
            sheet,
            name,
            under,
            found if found is not None else _fitting(sheet, name, under, [_shorter(block, 5) for block in page]),
            scale,
        )


def _shorter(block: Block, drop: int) -> Block:
    """The blocks, shortened: -1 whole, 0 without `more`, from 1 without the lines of those ranks, 5 titles only."""
    if block.heading or drop < 0:
        return block
    return replace(block, more=(), lines=() if block.rank and block.rank <= drop else block.lines)


def _fits(sheet: PaperSheet, name: str, under: str, page: Sequence[Block], scale: float = 1.0) -> bool:
    """Whether these blocks fit on one page; measured on a sheet that is thrown away."""
    tried = PaperSheet(name, sheet.foot, sheet.stamps, LEAST)
    top = _head(tried, name, under)
    return len(_columns(tried, page, scale, top)) == len(page)


def _fitting(sheet: PaperSheet, name: str, under: str, page: Sequence[Block]) -> list[Block]:
    for kept in range(len(page) - 1, 0, -1):
        found = [*page[:kept], Block(f"{len(page) - kept} more: on the laptop, under Steps.")]
        if _fits(sheet, name, under, found):
            return found
    return []


def _page(sheet: PaperSheet, name: str, under: str, blocks: Sequence[Block], scale: float = 1.0) -> None:
    """Draw one page in two columns; blocks for which there is no room are left out."""
    top = _head(sheet, name, under)
    for block, (column, y) in zip(blocks, _columns(sheet, blocks, scale, top), strict=False):
        sheet.set_y(y)
        _block(sheet, block, LEFT + column * (WIDTH + GUTTER), scale)


def _head(sheet: PaperSheet, name: str, under: str) -> float:
    """Begin a page with its head; where the columns begin, in mm."""
    sheet.leaf(ruled=False)
    sheet.say(name, 15, True, x=LEFT, right=RIGHT - sheet.stamped)
    sheet.say(under, LEAST, x=LEFT, right=RIGHT - sheet.stamped)
    sheet.set_y(max(sheet.get_y(), TOP + 8) + 1.5)
    sheet.rule(0.3, LEFT)
    return sheet.get_y() + 2


def _columns(sheet: PaperSheet, blocks: Sequence[Block], scale: float, top: float) -> list[tuple[int, float]]:
    """(column, height in mm) at which each block begins, of as many as fit on a page."""
    found, column, y = [], 0, top
    for place, block in enumerate(blocks):
        need = _height(sheet, block, scale)
        if block.heading and not block.lines and place + 1 < len(blocks):
            need += _height(sheet, blocks[place + 1], scale)
        if y + need > BOTTOM:
            column, y = column + 1, top
            if column == COLUMNS:
                break
        found.append((column, y))
        y += _moved(sheet, block, scale)
    return found


def _moved(sheet: PaperSheet, block: Block, scale: float) -> float:
    """How far down in mm `_block` leaves the pen; a heading wants a little more room than it takes."""
    return _height(sheet, block, scale) - (1.8 if block.heading else 0)


def _height(sheet: PaperSheet, block: Block, scale: float) -> float:
    """The height in mm that `_block` takes."""
    if block.heading:
        return (
            sheet.needs(block.title, 11.5 * scale, True, 0, WIDTH)
            + 3.2
            + sum(sheet.needs(line, LEAST * scale, False, 0, WIDTH, LEAD) + 0.7 for line in block.lines)
            + 1
        )
    return (
        sheet.needs(_titled(block), 9.5 * scale, True, 6, WIDTH, LEAD)
        + sum(sheet.needs(line, LEAST * scale, False, 6, WIDTH, LEAD) for line in (*block.lines, *block.more))
        + GAP
    )


def _block(sheet: PaperSheet, block: Block, x: float, scale: float) -> None:
    right = x + WIDTH
    if block.heading:
        sheet.down(1.4)
        sheet.say(block.title, 11.5 * scale, True, x=x, right=right)
        sheet.rule(0.3, x, right)
        sheet.down(1.0)
        for line in block.lines:
            sheet.say(line, LEAST * scale, x=x, right=right, lead=LEAD)
            sheet.down(0.7)
        return
    if block.mark:
        tick(sheet, x + 0.6, sheet.get_y() + 0.5, 3.2)
    sheet.say(_titled(block), 9.5 * scale, True, x=x + 6, right=right, lead=LEAD)
    for line in (*block.lines, *block.more):
        sheet.say(line, LEAST * scale, x=x + 6, right=right, lead=LEAD)
    sheet.down(GAP)


def _titled(block: Block) -> str:
    return f"{block.title}  ({block.mark})" if block.mark else block.title
