"""Paper forms: what is printed before the day and at its end. Each is made when it is asked for, from the place file or from the day as it is."""

from flask import Blueprint, Response, current_app, render_template
from flask.typing import ResponseReturnValue

from webapp.pages.shared.drawn_papers import drawn
from webapp.pages.shared.site import Site
from webapp.paper import carry_slip, forms, guide, witness_card
from webapp.precinct.checklist import cautions
from webapp.precinct.reports import carry_slip as carry
from webapp.precinct.reports.open_questions import SORT_WORDS

page = Blueprint("papers", __name__)


def room() -> Site:
    return current_app.extensions["room"]


def pdf(data: bytes, name: str) -> Response:
    """Shown in the browser, and saved under a name that says what it is."""
    return Response(data, mimetype="application/pdf", headers={"Content-Disposition": f'inline; filename="{name}.pdf"'})


@page.get("/papers")
def papers() -> str:
    """Everything that can be printed here: now, or when it opens."""
    here = room()
    return render_template(
        "shared/papers.html", closed=carry.why_not(here.place, here.day), packet=bool(here.day.packets)
    )


@page.get("/papers/forms.pdf")
def all_forms() -> ResponseReturnValue:
    return pdf(drawn(forms.forms_pdf, room().place), f"{room().place.id}-forms")


@page.get("/papers/guide.pdf")
def chair() -> ResponseReturnValue:
    return pdf(drawn(guide.chair_pdf, room().place), f"{room().place.id}-guide")


@page.get("/papers/card.pdf")
def card() -> ResponseReturnValue:
    return pdf(drawn(witness_card.card_pdf, room().place), f"{room().place.id}-witness-card")


@page.get("/carry")
def slip() -> str:
    """The carry slip on the screen, ready to print; before its time the sentence why it is too early."""
    here = room()
    if closed := carry.why_not(here.place, here.day):
        return render_template("shared/told.html", heading="The carry slip is not due yet", sentence=closed)
    with here.lock:
        found = carry.carry(here.place, here.day)
    return render_template(
        "place/carry.html",
        slip=found,
        sorts=SORT_WORDS,
        cautions=(cautions.LIFTING, cautions.CUSTODY, cautions.LAW),
        torn=carry.torn_words(found.torn),
    )


@page.get("/carry/slip.pdf")
def slip_pdf() -> ResponseReturnValue:
    here = room()
    if carry.why_not(here.place, here.day):
        return slip()
    with here.lock:
        found = carry.carry(here.place, here.day)
    return pdf(carry_slip.carry_pdf(here.place, found), f"{here.place.id}-carry-slip")
