"""Count: the reading that is due, counter against poll book, all readings. Folded away from the close until the blind counts are signed."""

from flask import Blueprint, current_app, g, render_template

from webapp.pages.pictures import chart
from webapp.precinct import checklist, counts, outlook

page = Blueprint("count", __name__)


@page.get("/count")
def count():
    room = current_app.extensions["room"]
    readings = () if room.day.folded_away else counts.running(room.place, room.day)
    due = next((t for t in room.tasks(g.now) if t.step.id == "hourly" and t.state in ("open", "next", "overdue")), None)
    ahead = () if room.day.folded_away or room.day.closed else outlook.supplies(room.place, room.day)
    until = None if room.day.closed else outlook.battery(room.place, room.day)
    return render_template("count.html", ahead=ahead, battery=until, folded=room.day.folded_away, readings=readings, due=due,
                           chart=chart(room.place, readings, checklist.closing_hour(room.place, room.day)) if readings else None)
