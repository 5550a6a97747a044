"""The reconciliation report: as it is now, and as each edition froze it; page and PDF from the same figures as the CSV."""

import csv
import io

from flask import Blueprint, current_app, render_template, request
from flask.typing import ResponseReturnValue

from webapp.canvass import document, reconciled
from webapp.canvass.certifying import OFFICIAL
from webapp.canvass.edition import STATUSES
from webapp.canvass.envelopes import COUNTY, Envelopes
from webapp.office.canvassing import precinct_rows, reconciliation
from webapp.office.canvassing.editions import Changed
from webapp.pages.desk.shared.of_edition import edition_pdf
from webapp.pages.desk.shared.paging import page_of
from webapp.pages.desk.site.office_site import OfficeSite
from webapp.pages.desk.totals.posting import made_ready
from webapp.paper.reconciliation_pages import reconciliation_pdf

page = Blueprint("reconciliation", __name__)
A_PAGE = 100


def room() -> OfficeSite:
    return current_app.extensions["room"]


@page.get("/reconciliation")
def report() -> ResponseReturnValue:
    """Place by place, then the county; with `?edition=` as that edition froze it."""
    here, wanted = room(), request.args.get("edition", "")
    number = int(wanted) if wanted.isascii() and wanted.isdigit() and len(wanted) < 6 else 0
    known = next((one for one in here.editions.posted if one.number == number), None)
    try:
        found = frozen(number) if known else now()
    except Changed as wrong:
        return render_template("shared/told.html", heading="The report cannot be read", sentence=str(wrong)), 409
    places = [row for row in found.rows if row.place != reconciled.COUNTY]
    last = max(len(places) - 1, 0) // A_PAGE
    first = page_of(last) * A_PAGE
    return render_template(
        "desk/reconciliation.html",
        report=found,
        rows=places[first : first + A_PAGE],
        county=next((row for row in found.rows if row.place == reconciled.COUNTY), None),
        number=number if known else 0,
        official=bool(known and known.status in OFFICIAL),
        status=STATUSES[known.status] if known else "Unofficial, not frozen",
        posted=list(reversed(here.editions.posted))[:6],
        precincts=[] if known else precinct_rows.places(here.tray),
        envelopes=[] if known else envelopes(),
        page_number=first // A_PAGE,
        last=last,
    )


def envelopes() -> list[tuple[str, str, Envelopes, int]]:
    """(unit, way, what became of its envelopes, ballots counted) of every unit and way whose envelopes are decided: sent, received, counted, rejected."""
    added = room().added
    return [
        (
            added.name(unit),
            way.name,
            one,
            added.counted_loose(way.id) if unit == COUNTY else added.counted(unit, way.id),
        )
        for unit in (*room().roster.places, *added.pools, COUNTY)
        for way in added.ways
        if (one := added.decided(unit, way.id))
    ]


def frozen(number: int) -> reconciled.Report:
    one = document.read(room().editions.data(number, *document.FILES))
    return reconciled.report(one.reconciliation, one.registered)


def now() -> reconciled.Report:
    """The report of the figures that are kept now. Raises Changed."""
    here = room()
    found, _ = made_ready("unofficial-partial", "", False)
    with here.lock:
        data = reconciliation.written(found.edition, here.roster, here.tray, here.added, here.board.places)
    registered = {unit.name: unit.registered for unit in found.edition.units if unit.registered is not None}
    return reconciled.report(list(csv.DictReader(io.StringIO(data.decode()))), registered)


@page.get("/posting/<int:number>/reconciliation.pdf")
def report_pdf(number: int) -> ResponseReturnValue:
    """The report of one edition, made of its files alone."""
    return edition_pdf(number, reconciliation_pdf, "reconciliation")
