"""The canvass board: over and under over all places, net and gross; which of book, tape and paper agree; opposite gaps of one room; places with a gap."""

from flask import Blueprint, current_app, g, render_template, request

from webapp.office.standing import agree, pairs
from webapp.precinct import says_screen

page = Blueprint("canvass", __name__)
LINES = ("poll-book", "stock")
A_PAGE = 50
SHOWN = 20                      # pairs of opposite gaps on the page


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
    off, silent = here.tables.off()
    every, inn = request.args.get("show") == "all", len(here.standings)
    count = inn if every else off
    number = page_of(max(count - 1, 0) // A_PAGE)
    rows = here.tables.standings(off=not every, limit=A_PAGE, offset=number * A_PAGE)
    opposite = pairs(here.tables.standings(places=here.tables.in_opposite()[:500]), LINES)
    return render_template("canvass.html", rows=[(one, agree(one.book, one.tape, one.paper), remark(one.place)) for one in rows], sums=here.tables.over_under(LINES), off=off, silent=silent,
                           every=every, inn=inn, awaited=len(here.roster.places), pairs=opposite[:SHOWN], more=max(len(opposite) - SHOWN, 0), title=title, number=number,
                           last=max(count - 1, 0) // A_PAGE, when=g.now)


def remark(place: str) -> str:
    """The first remark of the packet that counts, as the place wrote it; the rest stands on the place's page."""
    sent = room().tray.packets.get(place, ())
    counting = room().tray.counts(place)
    rows = next((opened.remarks["remarks"] for digest, opened in sent if counting and digest == counting[0]), [])
    return rows[0][3] if rows else ""


def title(line: str) -> str:
    """A line's name in words: "Poll book, P3"."""
    base, _, scope = line.partition("@")
    return says_screen.title(base) + (f", {scope}" if scope else "")
