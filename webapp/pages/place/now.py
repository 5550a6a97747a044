"""Now: what is wrong, what is due, what waits for a signature, until when the polls are open, what comes next.

`now_state` decides what it says; this module only draws it. The table of states is in the README of this folder.
"""

from flask import Blueprint, current_app, g, render_template, request

from webapp.pages.place.day_timeline import day_line
from webapp.pages.place.site.place_site import PlaceSite
from webapp.pages.place.site.waiting_signatures import waiting
from webapp.pages.place.site.warnings import warnings
from webapp.precinct.reports.now_state import NOTES, NowState, fingerprint, now_state

page = Blueprint("now", __name__)


def state_of(room: PlaceSite, now: int) -> NowState:
    """What Now says at this moment."""
    return now_state(
        room.place,
        room.day,
        room.tasks(now),
        now,
        waiting(room, now),
        (*warnings(room), *room.own_warnings()),
        room.between_words(now),
    )


@page.get("/now")
def now() -> str:
    room = current_app.extensions["room"]
    state = state_of(room, g.now)
    return render_template(
        "place/now.html",
        state=state,
        kept=room.kept_words(request.args.get("kept", "")),
        line=day_line(room.place, room.day, room.tasks(g.now), g.now),
        shows=fingerprint(state, room.ledger.length),
        notes=room.notes.newest(NOTES) if state.notes else (),
    )
