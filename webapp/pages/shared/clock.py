"""Practice only: the demo and the rehearsal move a scripted clock through the day. A live record has no such page."""

from flask import Blueprint, abort, current_app, request
from flask.typing import ResponseReturnValue

page = Blueprint("clock", __name__)


@page.post("/practice/clock")
def move() -> ResponseReturnValue:
    """Set the scripted clock to `now` (ms UTC). Not there where the laptop's own clock runs."""
    here = current_app.extensions["room"]
    if not here.practice or not here.clock.scripted:
        abort(404)
    text = request.form.get("now", "")
    if not (text.isascii() and text.isdigit() and len(text) < 16):
        abort(400, "Enter the moment in whole milliseconds UTC.")
    here.clock.set(int(text))
    return "", 204
