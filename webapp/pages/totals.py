"""Totals by contest, unofficial; by place only where no small place stands alone; and the comparison with an official results file."""

from flask import Blueprint, current_app, g, render_template, request

from webapp.office import canvass

page = Blueprint("totals", __name__)
FILE_LIMIT = 32 * 1024 * 1024
LIMITS = {"/compare": FILE_LIMIT + 65536}


def room():
    return current_app.extensions["room"]


@page.get("/totals")
def totals():
    """Every contest over the places that are in; each contest by place, small places joined with a neighbour."""
    here = room()
    packets = [packet for _, packet in here.current()]
    found = canvass.totals(packets)
    wanted = request.args.get("contest", "")
    groups = canvass.joined(packets, here.roster.office)
    chosen = next((t for t in found if t.contest.id == wanted), None)
    rows = [(" with ".join(p.place.name for p in group), size, next((t for t in canvass.totals(group) if t.contest.id == wanted), None)) for group, size in groups] if chosen else []
    return render_template("totals.html", totals=found, chosen=chosen, rows=[r for r in rows if r[2]], places=len(packets), awaited=len(here.roster.places))


@page.get("/compare")
def compare():
    return render_template("compare.html", result=None, mistakes={}, places=len(room().current()))


@page.post("/compare")
def compared():
    """An official results CSV against what is in; nothing of it is kept."""
    sent = request.files.get("file")
    packets = [packet for _, packet in room().current()]
    if sent is None or not sent.filename:
        return render_template("compare.html", result=None, mistakes={"file": "Choose the official results file, as CSV."}, places=len(packets)), 422
    try:
        result = canvass.compare(packets, sent.stream.read(FILE_LIMIT))
    except canvass.Unusable as wrong:
        return render_template("compare.html", result=None, mistakes={"file": str(wrong)}, places=len(packets)), 422
    return render_template("compare.html", result=result, mistakes={}, places=len(packets), when=g.now)
