"""Prints the keying of the results tape on paper: two sheets a tabulator, for two people; the second never sees the first's.

Then both are compared, and the paper tape decides.
"""

from collections.abc import Iterator, Sequence

from webapp.paper.parts.sheet import BOTTOM, MARGIN, RIGHT, PaperSheet
from webapp.paper.parts.write_in_parts import LEAST, captioned, caution, signatures, title
from webapp.precinct.checklist import cautions
from webapp.precinct.place.place import Contest, Place, Tabulator

ACROSS = 3  # columns of contests
GAP = 4.0  # mm between them
WIDTH = (RIGHT - MARGIN - GAP * (ACROSS - 1)) / ACROSS
ROW = 5.6  # mm a line of a contest
HEADING = 9.5  # points of a contest's title
FIGURE = 18.0  # mm for its figure: five digits
KEYINGS = (
    ("First keying", "Fold this sheet when it is full, and give it to nobody before the second is full too."),
    (
        "Second keying",
        "Another person, of another party. You have not seen the first sheet. Lay both beside the tape when yours is full: the tape decides.",
    ),
)


def keyings(sheet: PaperSheet, place: Place) -> None:
    """Draw two sheets for each tabulator: counters, ballots by precinct, and every contest that is typed at this place."""
    for tabulator in place.tabulators:
        for heading, rule in KEYINGS:
            _keying(sheet, place, tabulator, heading, rule)


def _keying(sheet: PaperSheet, place: Place, tabulator: Tabulator, heading: str, rule: str) -> None:
    sheet.again = f"Results tape of {tabulator.id}, {heading.lower()}, continued"
    sheet.leaf()
    title(sheet, f"Results tape of {tabulator.id}: {heading.lower()}", 14, right=RIGHT - sheet.stamped)
    sheet.say(
        f"{rule} A figure that cannot be read: look at another print. If none shows it, leave it empty and say so.",
        9.5,
        lead=1.2,
    )
    sheet.down(1)
    contests = list(_printed(place))
    blocks = [(before + _named(contest), list(contest_rows(contest))) for before, contest in contests]
    _blocks(sheet, [("As the tape prints it", _heads(place)), *blocks])
    if not contests:
        sheet.say("The contests of this place are keyed at the office’s desk, from the signed tape.", 9.5)
    else:
        times = " x N" if place.rules.overvotes == "ballots" else ""
        sheet.say(
            f"Each contest: votes with write-ins + undervotes + overvotes{times} = ballots x N, N being how many may be voted for.",
            9.5,
            lead=1.2,
        )
    second = heading == KEYINGS[1][0]
    sheet.room(34 if second else 14)
    if second:
        captioned(sheet, (("figures that differed, and what the tape says", 1),), height=8)
        caution(sheet, cautions.SECRECY)
    signatures(sheet, (f"{heading} by",))


def _printed(place: Place) -> Iterator[tuple[str, Contest]]:
    """(words before, contest) in the order of the tape: precinct by precinct where it prints them so, then the whole of it where it prints that too."""
    for precinct in place.split():
        yield from ((f"{precinct.name}: ", contest) for contest in place.contests_of(precinct.id))
    if not place.split() or place.rules.votes == "both":
        before = "All precincts: " if place.split() else ""
        yield from ((before, contest) for contest in place.typed_contests())


def _heads(place: Place) -> list[str]:
    """The lines at the head of a tape: counters, ballots by precinct."""
    return [
        "Public counter",
        "Protective counter",
        *(f"Ballots, {p.name}" for p in place.precincts),
        "Ballots on the tape of the memory that was taken out (only after a fresh start)",
    ]


def _blocks(sheet: PaperSheet, blocks: Sequence[tuple[str, list[str]]]) -> None:
    """Draw columns of blocks, a heading and its lines; the pen ends below all. A block is kept together where a column can hold it."""
    pens = [sheet.get_y()] * ACROSS
    for heading, lines in blocks:
        need = _head_height(sheet, heading) + sum(_tall(sheet, words) for words in lines)
        side = pens.index(min(pens))
        if pens[side] + need > BOTTOM:
            pens = _next_page(sheet)
            side = 0
        _begin(sheet, heading, side, pens[side])
        for words in lines:
            if sheet.get_y() + _tall(sheet, words) > BOTTOM:  # more choices than one column holds
                pens[side], side = BOTTOM, side + 1
                if side == ACROSS:
                    pens, side = _next_page(sheet), 0
                _begin(sheet, f"{heading}, continued", side, pens[side])
            _row(sheet, words, *_edges(side), words == lines[-1])
        pens[side] = sheet.get_y() + 2.5
    sheet.set_y(max(pens))


def _next_page(sheet: PaperSheet) -> list[float]:
    """A new page; where its columns begin."""
    sheet.set_y(BOTTOM)
    sheet.room(1)
    return [sheet.get_y()] * ACROSS


def _edges(side: int) -> tuple[float, float]:
    """Left and right of a column, in mm."""
    x = MARGIN + side * (WIDTH + GAP)
    return x, x + WIDTH


def _head_height(sheet: PaperSheet, heading: str) -> float:
    return sheet.needs(heading, HEADING, True, MARGIN, MARGIN + WIDTH, 1.2) + 2


def _begin(sheet: PaperSheet, heading: str, side: int, y: float) -> None:
    x, right = _edges(side)
    sheet.set_y(y)
    sheet.say(heading, HEADING, True, x=x, right=right, lead=1.2)
    sheet.rule(0.3, x, right)


def _named(contest: Contest) -> str:
    return f"{contest.title} (N = {contest.n})"


def _tall(sheet: PaperSheet, words: str) -> float:
    """The height in mm of one line, whose name may take two rows of letters."""
    return max(ROW, sheet.needs(words, LEAST, x=MARGIN, right=MARGIN + WIDTH - FIGURE - 1, lead=1.15) + 1.6)


def _row(sheet: PaperSheet, words: str, x: float, right: float, total: bool) -> None:
    top = sheet.get_y()
    bottom = top + _tall(sheet, words)
    sheet.set_y(top + (1.6 if bottom - top <= ROW else 0.6))
    sheet.say(words, LEAST, total, x=x, right=right - FIGURE - 1, lead=1.15)
    bottom = max(bottom, sheet.get_y() + 0.4)
    sheet.set_line_width(0.12)
    sheet.line(right - FIGURE, top, right - FIGURE, bottom)
    sheet.set_y(bottom)
    sheet.rule(0.35 if total else 0.12, x, right)


def contest_rows(contest: Contest) -> Iterator[str]:
    """The rows of a contest in the order of the tape."""
    yield from (choice.label for choice in contest.choices)
    if contest.write_in:
        yield "Write-ins"
    yield from ("Undervotes", "Overvotes", "Ballots")
