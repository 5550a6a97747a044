"""The last pages of the night, for looking only: who has still to sign in ink, and what goes into the car."""

from flask import Blueprint, abort, current_app, render_template

from webapp.precinct.reports import ink
from webapp.precinct.reports.car_boot import CAUTIONS, boot
from webapp.precinct.reports.carry_slip import why_not

page = Blueprint("leaving", __name__)


@page.get("/ink")
def still_to_sign() -> str:
    """Every paper that is signed in ink: who has still to sign, and what the record says of the others."""
    room = current_app.extensions["room"]
    found = ink.papers(room.place, room.day)
    return render_template("place/ink.html", open=[p for p in found if p.open], done=[p for p in found if not p.open])


@page.get("/boot")
def car_boot() -> str:
    """What goes with whom, with the number on each seal; open with the carry slip."""
    room = current_app.extensions["room"]
    if too_early := why_not(room.place, room.day):
        abort(409, too_early.replace("carry slip", "page for the car"))
    return render_template(
        "place/boot.html", boot=boot(room.place, room.day), cautions=CAUTIONS, ink=ink.missing(room.place, room.day)
    )
