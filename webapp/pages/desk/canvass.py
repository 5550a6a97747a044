"""The canvass board: over and under over all places, net and gross; which of book, tape and paper agree; opposite gaps of one room; places with a gap."""

from itertools import islice

from flask import Blueprint, current_app, g, render_template, request

from webapp.office.canvass_board import LINES, PlaceComparison, agree
from webapp.precinct.balance import line_sentences, summary

page = Blueprint("canvass", __name__)
A_PAGE = 50
SHOWN = 20  # pairs of opposite gaps on the page


def room():
    return current_app.extensions["room"]


def page_of(last: int) -> int:
    """The page asked for, from 0, never beyond the last one."""
    wanted = request.args.get("page", "")
    return min(int(wanted), last) if wanted.isascii() and wanted.isdigit() and len(wanted) < 6 else 0


@page.get("/canvass")
def canvass():
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
        rows=[(one, agree(one.book, one.tape, one.paper), remark(one)) for one in rows],
        sums=[board.over_under(line) for line in LINES],
        off=board.count_off,
        silent=board.silent,
        every=every,
        inn=len(board.places),
        awaited=here.roster.awaited,
        pairs=opposite[:SHOWN],
        way=way,
        more=max(len(opposite) - SHOWN, 0),
        title=title,
        number=number,
        last=last,
        when=g.now,
    )


def remark(one: PlaceComparison) -> str:
    """The first remark of the packet that counts that speaks of a gap as it stands, as the place wrote it; the rest stands on the place's page."""
    sent = room().tray.packets.get(one.place, ())
    counting = room().tray.counts(one.place)
    rows = next((opened.remarks["remarks"] for digest, opened in sent if counting and digest == counting[0]), [])
    spoken = {(gap.line, gap.gap) for gap in one.gaps if gap.remarked}
    return next((row[3] for row in rows if spoken.intersection(zip(row[1], row[2], strict=False))), "")


def way(gap) -> str:
    """A gap in words: "Poll book: 1 more check-in than ballots"."""
    return f"{title(gap.line)}: {line_sentences.way(gap.line.partition('@')[0], gap.gap)}"


def title(line: str) -> str:
    """A line's name in words: "Poll book, P3"."""
    base, _, scope = line.partition("@")
    return summary.title(base) + (f", {scope}" if scope else "")
