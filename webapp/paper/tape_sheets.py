"""Prints the keying of the results tape on paper: two sheets a tabulator, for two people; the second never sees the first's.

Then both are compared, and the paper tape decides.
"""

from collections.abc import Iterator, Sequence

from webapp.paper.sheet import BOTTOM, MARGIN, RIGHT, PaperSheet
from webapp.paper.write_in_parts import Column, captioned, caution, signatures, table, title
from webapp.precinct.checklist import cautions
from webapp.precinct.place.place import Contest, Place, Tabulator

MIDDLE = (MARGIN + RIGHT) / 2
ROW = 6.8  # mm a line of a contest
FIGURE = 26.0  # mm for its figure
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
    rows = [
        ("Public counter", ""),
        ("Protective counter", ""),
        *((f"Ballots on the tape, {p.name}", "") for p in place.precincts),
    ]
    rows.append(("Ballots on the tape of the memory that was taken out (only after a fresh start)", ""))
    table(sheet, (Column("", 5), Column("As the tape prints it", 2)), rows, height=7.6)
    contests = place.typed_contests()
    _contests(sheet, contests)
    if not contests:
        sheet.say("The contests of this place are keyed at the office’s desk, from the signed tape.", 9.5)
    else:
        times = " x N" if place.rules.overvotes == "ballots" else ""
        sheet.say(
            f"Each contest: votes with write-ins + undervotes + overvotes{times} = ballots x N, N being how many may be voted for.",
            9.5,
            lead=1.2,
        )
    sheet.room(36)
    if heading == KEYINGS[1][0]:
        captioned(sheet, (("figures that differed, and what the tape says", 1),), height=8)
        caution(sheet, cautions.SECRECY)
    signatures(sheet, (f"{heading} by",))


def _contests(sheet: PaperSheet, contests: Sequence[Contest]) -> None:
    """Draw two columns of contests, each kept together; the pen ends below both."""
    top = sheet.get_y()
    pens = [top, top]
    for contest in contests:
        lines = list(contest_rows(contest))
        need = sheet.needs(_named(contest), 10, True, MARGIN, MIDDLE - 3) + 4 + ROW * len(lines)
        if min(pens) + need > BOTTOM:
            sheet.set_y(BOTTOM)
            sheet.room(1)
            pens = [sheet.get_y()] * 2
        side = pens.index(min(pens))
        x, right = ((MARGIN, MIDDLE - 3), (MIDDLE + 3, RIGHT))[side]
        sheet.set_y(pens[side])
        sheet.say(_named(contest), 10, True, x=x, right=right, lead=1.2)
        sheet.rule(0.3, x, right)
        for words in lines:
            _row(sheet, words, x, right, words == lines[-1])
        pens[side] = sheet.get_y() + 3.5
    sheet.set_y(max(pens))


def _named(contest: Contest) -> str:
    return f"{contest.title} (N = {contest.n})"


def _row(sheet: PaperSheet, words: str, x: float, right: float, total: bool) -> None:
    top = sheet.get_y()
    sheet.set_y(top + max(ROW - 5.4, 0.6))
    sheet.say(words, 9.5, total, x=x, right=right - FIGURE, lead=1.15)
    bottom = max(top + ROW, sheet.get_y() + 0.4)
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
