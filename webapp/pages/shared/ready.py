"""The first page of the morning: what is ready and what is missing, each with its next step. At a place and at the desk; later from the menu."""

from typing import Any

from flask import Blueprint, current_app, g, render_template

from webapp.gate import signed_place_file
from webapp.pages.shared import host_status
from webapp.precinct.checklist import cautions
from webapp.precinct.reports.office_readiness import at_office
from webapp.precinct.reports.readiness import STATES, Looked, at_place, counted

page = Blueprint("ready", __name__)


def room() -> Any:  # what a shared page takes of it lies in the site of its folder
    return current_app.extensions["room"]


@page.get("/ready")
def ready() -> str:
    here = room()
    place = here.role_of_room == "place"
    lines = (
        at_place(here.place, looked(here))
        if place
        else at_office(places(here), here.place.officials, looked(here), next(iter(here.roster.places.values()), None))
    )
    begun = bool(here.people.present or here.people.sworn)
    return render_template(
        "shared/ready.html",
        lines=lines,
        said=counted(lines),
        states=STATES,
        begun=begun,
        cautions=cautions.ALL if place else (cautions.LAW, cautions.LIFTING, cautions.SECRECY),
        after=("/now", "Now") if place else ("/intake", "Intake"),
    )


def looked(here: Any) -> Looked:
    """What can be seen from this laptop now."""
    officials, gate = here.place.officials, here.gate
    source, charge = host_status.power()
    known = [one for one in gate.tablets.all() if not one.revoked]
    admitted = sum(one.admitted for one in known)
    return Looked(
        g.now,
        host_status.free_bytes(here.folder),
        source,
        charge,
        here.clock.scripted,
        (here.folder / signed_place_file.FILE).exists(),
        {o.id: gate.slips.used(o.id) for o in officials},
        frozenset(o.id for o in officials if gate.pins.has(o.id)),
        frozenset(here.people.present),
        frozenset(here.people.sworn),
        (admitted, len(known) - admitted),
        here.ledger.length,
        (here.stick().ok, here.stick_words()) if here.stick_words() else None,
    )


def places(here: Any) -> list[tuple[Any, ...]]:
    """(id, name, newest place file, enrolled) of every place that the office awaits or has built a file for."""
    keyed = {row.place for row in here.roster.enrolments.values() if row.to_ms is None}
    awaited = {p.id: p.name for p in here.roster.office.places} | {p.id: p.name for p in here.roster.places.values()}
    return [(name, words, here.roster.places.get(name), name in keyed) for name, words in awaited.items()]
