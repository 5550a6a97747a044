"""Seals: every point with the number on it now and those before; the list of the office and what is used of it."""

from flask import Blueprint, current_app, render_template

from webapp.precinct import custody, things

page = Blueprint("seals", __name__)


@page.get("/seals")
def seals():
    room = current_app.extensions["room"]
    touches, on = custody.touches(room.place, room.day), custody.on_now(room.place, room.day)
    points = [(words, on.get(point, ""), [t for t in touches if t.point == point]) for point, words in things.seal_points(room.place)]
    return render_template("seals.html", points=[p for p in points if p[1] or p[2]], amiss=custody.amiss(room.place, room.day), bare=[p[0] for p in points if not p[1] and not p[2]],
                           counts=custody.counts(room.place, room.day), next=custody.next_unused(room.place, room.day))
