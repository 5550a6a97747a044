"""The desk's paper: its guide, the forms of each place, and the receipt for the goods of one place."""

from flask import Blueprint, current_app, render_template
from flask.typing import ResponseReturnValue

from webapp.office.received import receipt
from webapp.pages.desk.shared.named_place import known
from webapp.pages.desk.site.office_site import OfficeSite
from webapp.pages.shared.drawn_papers import drawn
from webapp.pages.shared.papers import pdf
from webapp.paper import forms, guide
from webapp.paper.receipt_page import Receipt, receipt_pdf
from webapp.precinct.checklist import cautions

page = Blueprint("desk_papers", __name__)
NO_PLACE = (
    "No place file was built yet, and the guide is made from its checklists. Build one with `tapeseal place build`."
)


def room() -> OfficeSite:
    return current_app.extensions["room"]


@page.get("/papers")
def papers() -> str:
    """The guide, and of each place its forms and its receipt, with when it opens."""
    here = room()
    rows = [(place, receipt.why_not(here.desks[place.id])) for place in here.roster.places.values()]
    return render_template("desk/desk_papers.html", rows=rows)


@page.get("/papers/guide.pdf")
def desk_guide() -> ResponseReturnValue:
    """One guide for the desk, whatever the place: made from the newest place file's checklist of the office."""
    first = next(iter(room().roster.places.values()), None)
    if first is None:
        return render_template("shared/told.html", heading="Not here", sentence=NO_PLACE), 404
    return pdf(guide.desk_pdf(first), "desk-guide")


@page.get("/papers/<place>/forms.pdf")
def place_forms(place: str) -> ResponseReturnValue:
    return pdf(drawn(forms.forms_pdf, known(place)), f"{place}-forms")


def made(place: str) -> Receipt:
    here = room()
    with here.lock:
        return receipt.receipt(
            known(place),
            here.desks[place],
            here.reports.of(place),
            here.people.everybody,
            here.place.parties,
            here.questions(place),
        )


@page.get("/receipt/<place>")
def one(place: str) -> str:
    """The receipt on the screen; before the seals were read, when it opens."""
    found = known(place)
    if closed := receipt.why_not(room().desks[place]):
        return render_template(
            "shared/told.html", heading=f"The receipt for {found.name} is not due yet", sentence=closed
        )
    return render_template(
        "desk/receipt.html",
        place=found,
        receipt=made(place),
        cautions=(cautions.LIFTING, cautions.CUSTODY, cautions.LAW),
    )


@page.get("/receipt/<place>/receipt.pdf")
def one_pdf(place: str) -> ResponseReturnValue:
    if receipt.why_not(room().desks[known(place).id]):
        return one(place)
    return pdf(receipt_pdf(known(place), made(place)), f"{place}-receipt")
