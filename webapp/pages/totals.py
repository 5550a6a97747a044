"""Totals by contest, unofficial; by place only where no small place stands alone; and the comparison with an official results file."""

from flask import Blueprint, current_app, g, render_template, request

from webapp.office import canvass, official_file

page = Blueprint("totals", __name__)
FILE_LIMIT = 32 * 1024 * 1024
LIMITS = {"/compare": FILE_LIMIT + 65536}


def room():
    return current_app.extensions["room"]


@page.get("/totals")
def totals():
    """Every contest over the places that are in; each contest by place, small places joined with a neighbour."""
    here = room()
    packets, awaited, small = [packet for _, packet in here.tray.current()], len(here.roster.places), here.roster.office.small
    few = len(packets) < awaited and 0 < sum(canvass.ballots(p.core) for p in packets) < small
    found = [] if few else canvass.totals(packets)
    wanted = request.args.get("contest", "")
    chosen = next((t for t in found if t.contest.id == wanted), None)
    groups = here.tray.groups(wanted) if chosen else []
    rows = [(" with ".join(p.place.name for p in group), None if 0 < size < small else canvass.totals(group, wanted)[0]) for group, size in groups]
    return render_template("totals.html", totals=found, chosen=chosen, rows=rows, places=len(packets), awaited=awaited, few=few)


@page.get("/compare")
def compare():
    return render_template("compare.html", result=None, mistakes={}, places=len(room().tray.current()))


@page.post("/compare")
def compared():
    """An official results CSV against what is in; nothing of it is kept."""
    sent = request.files.get("file")
    packets = [packet for _, packet in room().tray.current()]
    if sent is None or not sent.filename:
        return render_template("compare.html", result=None, mistakes={"file": "Choose the official results file, as CSV."}, places=len(packets)), 422
    try:
        result = official_file.compare(packets, sent.stream.read(FILE_LIMIT))
    except official_file.Unusable as wrong:
        return render_template("compare.html", result=None, mistakes={"file": str(wrong)}, places=len(packets)), 422
    return render_template("compare.html", result=result, mistakes={}, places=len(packets), when=g.now)
