"""The drill for a laptop that dies, explained to people who practice: what it needs, what it does, how it is started. A live place has no such page."""

from flask import Blueprint, abort, current_app, render_template

page = Blueprint("drill", __name__)


@page.get("/drill")
def drill() -> str:
    if not current_app.extensions["room"].practice:
        abort(404)
    return render_template("place/drill.html")
