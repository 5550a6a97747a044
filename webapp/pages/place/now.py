"""Now: the day's line, the next step, what is overdue, what comes then."""

from flask import Blueprint, current_app, g, render_template

from webapp.pages.place.count import due_reading
from webapp.pages.place.day_timeline import day_line

page = Blueprint("now", __name__)


@page.get("/now")
def now():
    """The next step in large letters; overdue ones; the three that follow; the last that were done."""
    room = current_app.extensions["room"]
    tasks = room.tasks(g.now)
    reading, over = due_reading(tasks)
    nxt = next((t for t in tasks if t.state in ("next", "overdue")), None)
    nxt = reading if nxt in over else nxt  # one reading now stands for those that nobody took
    overdue = [t for t in tasks if t.state == "overdue" and t is not nxt and t not in over]
    then = [
        t
        for t in tasks
        if t.state in ("open", "later")
        and t is not nxt
        and (nxt is None or t.step.list == nxt.step.list or t.state == "open")
    ][:4]
    done = sorted((t for t in tasks if t.state == "done"), key=lambda t: t.entries[-1])[::-1][:3]
    return render_template(
        "place/now.html",
        next=nxt,
        overdue=overdue,
        then=then,
        done=done,
        over=over,
        line=day_line(room.place, room.day, tasks, g.now),
        waiting=room.gate.pending.waiting(g.now),
    )
