"""The page for a screen on the wall: places in, late, held out, turnout; votes only as an edition posted them. It looks again by itself."""

from flask import Blueprint, current_app, g, render_template

from webapp.canvass import edition
from webapp.office.canvassing.editions import Changed
from webapp.office.received import late_places
from webapp.pages.desk.shared import late_rows
from webapp.pages.desk.site.office_site import OfficeSite

page = Blueprint("wall", __name__)
NAMES = 12  # late places named on the wall


def room() -> OfficeSite:
    return current_app.extensions["room"]


@page.get("/wall")
def wall() -> str:
    """No figure that is held, and no vote that was not posted: nobody can subtract one page from the next."""
    here = room()
    tray, places = here.tray, here.board.places
    out = late_places.ordered(late_rows.every(here), g.now)
    late = [one for one in out if one.late(g.now) and late_places.PACKET in one.out]
    turnout = late_rows.turnout(here)
    return render_template(
        "desk/wall.html",
        inn=len(places),
        awaited=here.roster.awaited,
        late=late[:NAMES],
        late_count=len(late),
        held=len(tray.marks["out"] | {p for p in tray.marks["held"] if p not in places}),
        paper=len([place for place in tray.marks["paper"] if place in places]),
        turnout=turnout,
        posted=here.editions.posted[-1] if here.editions.posted else None,
        contests=posted_contests(),
    )


def posted_contests() -> list[tuple[str, list[tuple[str, int | None]]]] | None:
    """(contest, [(choice, votes)]) of the newest edition; [] before the first, None where its files were changed."""
    here = room()
    try:
        figures = here.editions.figures()
    except Changed:
        return None
    known = {contest.id: contest for place in here.roster.places.values() for contest in place.contests}
    found = []
    for id, one in figures.items():
        if one.blocks and (contest := known.get(id)):
            votes = edition.total(one).votes
            found.append((contest.title, [(choice.label, votes.get(choice.id)) for choice in contest.choices]))
    return found
