"""The canvass board: over and under over all places, net and gross; which of book, tape and paper agree; opposite gaps of one room; places with a gap."""

from itertools import islice

from flask import Blueprint, current_app, g, render_template, request

from webapp.office.canvassing import absentee
from webapp.office.questions.canvass_board import LINES, LineGap, PlaceComparison, agree, line_title
from webapp.office.received import place_questions
from webapp.pages.desk.shared.paging import page_of
from webapp.pages.desk.site.office_site import OfficeSite
from webapp.precinct.balance import line_sentences
from webapp.precinct.place.place import Place

page = Blueprint("canvass", __name__)
A_PAGE = 50
ALONE = 5  # contest lines of a place that are named one by one
SHOWN = 20  # pairs of opposite gaps on the page


def room() -> OfficeSite:
    return current_app.extensions["room"]


@page.get("/canvass")
def canvass() -> str:
    """Places with a gap first and alone; every place that is in with `?show=all`."""
    here = room()
    board, every = here.board, request.args.get("show") == "all"
    count = len(board.places) if every else board.count_off
    last = max(count - 1, 0) // A_PAGE
    number = page_of(last)
    first, behind = number * A_PAGE, (number + 1) * A_PAGE
    rows = (
        [board.places[place] for place in islice((p for p in here.roster.places if p in board.places), first, behind)]
        if every
        else board.off(first, behind)
    )
    opposite = board.opposite()
    return render_template(
        "desk/canvass.html",
        rows=[(one, agree(one.book, one.tape, one.paper), remarks(one)) for one in rows],
        sums=[board.over_under(line) for line in LINES],
        off=board.count_off,
        unknown=sum(one.book is None for one in board.places.values()),
        silent=board.silent,
        every=every,
        inn=len(board.places),
        awaited=here.roster.awaited,
        pairs=opposite[:SHOWN],
        way=way,
        contests=contests,
        contest_places=board.contests,
        more=max(len(opposite) - SHOWN, 0),
        title=title,
        number=number,
        last=last,
        when=g.now,
        absentee=absentee.beside_places(here.roster, here.tray, here.added),
    )


def remarks(one: PlaceComparison) -> dict[tuple[str, int], str]:
    """(line, gap) -> the remark of the packet that counts that speaks of this very gap, as the place wrote it; of several the last."""
    counting = room().tray.counts(one.place)
    rows = room().tray.opened(one.place, counting[0]).remarks["remarks"] if counting else []
    return {pair: row[3] for row in rows for pair in zip(row[1], row[2], strict=False)} | answers(one)


def answers(one: PlaceComparison) -> dict[tuple[str, int], str]:
    """The desk's own remark on a gap: the answer that two parties signed about it."""
    gaps = {f"gap/{gap.line}": (gap.line, gap.gap) for gap in one.off}
    said = [(q.name, q.answer) for q in room().questions(one.place) if q.name in gaps and q.answer]
    return {gaps[name]: f"At the desk: {answer.words or 'words withheld'}" for name, answer in said}


def contests(one: PlaceComparison) -> list[str]:
    """Contest lines that do not add up: those short by the same ballots as one, the single ones by name, an excess first."""
    file = room().roster.places[one.place]
    together = [group for group in place_questions.shared(one.contests_off, file) if len(group.lines) > 1]
    taken = {line for group in together for line in group.lines}
    single = sorted((gap for gap in one.contests_off if gap.line not in taken), key=lambda gap: -gap.gap)
    return (
        [way(gap, file) + "." for gap in single[:ALONE]]
        + [group.says for group in together]
        + ([f"{len(single) - ALONE} more contests by themselves."] if len(single) > ALONE else [])
    )


def way(gap: LineGap, place: Place | None = None) -> str:
    """A gap in words: "Poll book: 1 more check-in than ballots"; with its place, contests by their titles."""
    return f"{line_title(gap.line, place)}: {line_sentences.way(gap.line.partition('@')[0], gap.gap)}"


def title(line: str) -> str:
    """A line's name in words: "Poll book, P3"."""
    return line_title(line)
