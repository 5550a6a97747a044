"""Totals by precinct: the rows that an edition of now would show, precinct by precinct; what is not by precinct, and why."""

from flask import Blueprint, abort, current_app, g, render_template, request
from flask.typing import ResponseReturnValue

from webapp.canvass import precinct_totals
from webapp.canvass.atoms import precinct_unit
from webapp.canvass.edition import Edition, lines
from webapp.canvass.precinct_totals import Ward
from webapp.office.canvassing.editions import Changed
from webapp.office.checking import split_returns
from webapp.pages.desk.shared import votes_held
from webapp.pages.desk.site.office_site import OfficeSite
from webapp.pages.desk.totals.totals_since import drawn_now
from webapp.precinct.place.place import Contest

page = Blueprint("totals_precincts", __name__)


def room() -> OfficeSite:
    return current_app.extensions["room"]


@page.get("/totals/precincts")
def by_precinct() -> ResponseReturnValue:
    """The contests; one of them precinct by precinct, `?contest=GOV`."""
    here, wanted = room(), request.args.get("contest", "")
    if held := votes_held.until(here, g.now):
        return render_template("desk/totals_precincts.html", held=held, contests=(), chosen=None)
    try:
        drawn = drawn_now()
    except Changed as wrong:
        return render_template(
            "shared/told.html", heading="Totals by precinct cannot be shown", sentence=str(wrong)
        ), 409
    chosen = next((one for one in drawn.contests if one.id == wanted), None)
    if wanted and chosen is None:
        abort(404)
    return render_template(
        "desk/totals_precincts.html",
        held=None,
        contests=drawn.contests,
        chosen=chosen,
        lines=[(line, label) for line, label, _ in lines(chosen)] if chosen else (),
        table=precinct_totals.table(drawn, wanted, wards(drawn)) if chosen else None,
        waiting=drawn.figures[wanted].ballots_waiting if chosen else 0,
        why=why_not(chosen) if chosen else (),
    )


def wards(drawn: Edition) -> dict[str, frozenset[Ward]]:
    """The precincts whose ballots each unit may have."""
    places = room().roster.places
    found = {id: frozenset(Ward(one.id, one.name) for one in place.precincts) for id, place in places.items()}
    found |= {
        precinct_unit(id, one.id): frozenset({Ward(one.id, one.name)})
        for id, place in places.items()
        for one in place.precincts
    }
    return found | {
        unit.id: frozenset().union(*(found.get(place, frozenset()) for place in unit.of))
        for unit in drawn.units
        if unit.of
    }


def why_not(contest: Contest) -> list[tuple[str, str, str]]:
    """(place, its name, the reason) of each place of several precincts that is in and whose return has this contest for the whole place only."""
    found = []
    for _, packet in room().tray.current():
        place = packet.place
        here = place.contest(contest.id)
        if place.kind == "place" and len(place.precincts) > 1 and here and contest.id in packet.core["contests"]:
            _, why = split_returns.by_precinct(packet.core, place, here)
            found += [(place.id, place.name, why)] if why else []
    return found
