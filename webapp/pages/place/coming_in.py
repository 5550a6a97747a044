"""For the official who comes in as relief: what is wrong, what is open, how the last reading was, which seals are on, who is here. For looking only.

What is hidden stays hidden: from the close until the closing counts are signed no reading and no note is shown here.
"""

from flask import Blueprint, current_app, g, render_template

from webapp.pages.place.now import state_of
from webapp.precinct.day import seal_log
from webapp.precinct.day.day import Day
from webapp.precinct.place.place import Place
from webapp.precinct.place.seal_points import seal_points
from webapp.precinct.reports import carry_slip

page = Blueprint("coming_in", __name__)


@page.get("/coming-in")
def coming_in() -> str:
    room = current_app.extensions["room"]
    state = state_of(room, g.now)
    return render_template(
        "place/coming_in.html",
        state=state,
        notes=room.notes.newest(5) if state.notes else (),
        amiss=seal_log.amiss(room.place, room.day),
        seals=seals_in_force(room.place, room.day),
        keys=carry_slip.keys(room.place, room.day),
        told=last_told(room.day),
    )


def seals_in_force(place: Place, day: Day) -> tuple[tuple[str, str], ...]:
    """(where, number) of each seal that is on now, in the order of the place file."""
    on = seal_log.still_on(place, day)
    return tuple((words, on[point]) for point, words in seal_points(place) if point in on)


def last_told(day: Day) -> tuple[int, str] | None:
    """(entry, words) of what the last relief left open; None where nobody said anything, or it is out of sight now."""
    found = [k for k in day.of("relief") if k.word("open_matters") and not day.hidden(k)]
    return (found[-1].number, found[-1].word("open_matters")) if found else None
