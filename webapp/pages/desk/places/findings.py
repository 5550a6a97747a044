"""What the desk finds otherwise than a packet says: one figure, what the packet has, what was found, signed by two parties. The packet stays as it is."""

from collections.abc import Mapping
from typing import Any

from flask import Blueprint, abort, current_app, g, render_template, request
from flask.typing import ResponseReturnValue

from webapp.office.checking import split_returns
from webapp.office.questions import findings
from webapp.office.questions.findings import FigureAddress
from webapp.pages.desk.shared import votes_held
from webapp.pages.desk.shared.named_place import known
from webapp.pages.desk.site.office_site import OfficeSite
from webapp.pages.shared import claim_form, signing
from webapp.pages.shared.awaiting import Draft
from webapp.pages.shared.claim_form import claim, fresh
from webapp.precinct.checklist.field_parsers import InvalidInput, number
from webapp.precinct.checklist.form_input import LONGEST
from webapp.precinct.place import plain_words

page = Blueprint("findings", __name__)


def room() -> OfficeSite:
    return current_app.extensions["room"]


def spots(place: str) -> list[FigureAddress]:
    """The figures of the packet that counts; votes of contests that this place is not shown with alone stay under Totals."""
    known(place)
    sent = room().tray.sent(place) or abort(404)
    alone = frozenset() if votes_held.until(room(), g.now) else room().tray.over_all.alone(place)
    alone -= set(room().tray.recounts.get(place, {}))  # recounted rows take the place of the packet's
    small = room().roster.office.small
    return [
        spot
        for spot in findings.spots(sent.core, sent.place)
        if split_returns.may_be_seen(spot.id, sent.core, alone, small)
    ]


@page.get("/finding/<place>")
def which(place: str) -> str:
    """Every figure of the packet, group by group: the one that was found otherwise is a tap away."""
    here = room()
    groups = [(name, [spot for spot in spots(place) if spot.group == name]) for name in findings.GROUPS]
    return render_template(
        "desk/findings.html", place=here.roster.places[place], groups=[(name, rows) for name, rows in groups if rows]
    )


@page.get("/finding/<place>/<path:figure>")
def finding(place: str, figure: str) -> str:
    return show(place, wanted(place, figure), {}, {})


@page.post("/finding/<place>/<path:figure>")
def keep_finding(place: str, figure: str) -> ResponseReturnValue:
    """Kept with what the packet had there, so that nobody takes it for a figure of another packet."""
    spot, form, mistakes, n = wanted(place, figure), request.form, {}, 0
    try:
        n = number(form.get("is", "").strip())
    except InvalidInput:
        mistakes["is"] = "Enter in digits what was found there."
    if (
        "is" not in mistakes
        and n == spot.value
        and not any(one.figure == figure for one in room().tray.findings.get(place, ()))
    ):
        mistakes["is"] = f"The packet says {n:,} too: nothing is different. Count again, or go back."
    if form.get("was", "") != was(spot):
        mistakes[""] = (
            f"Another packet of this place counts since this page was opened: it says {'nothing' if spot.value is None else f'{spot.value:,}'} here. Look at it, then sign."
        )
    elif not claim_form.showed(form, *(one.id for one in found_before(place, spot))):
        mistakes[""] = claim_form.SINCE
    if not form.get("what", "").strip():
        mistakes["what"] = (
            "Enter what was found, where, and by whom it was seen. No names of voters, no choices of anybody."
        )
    if form.get("what", "").strip() and (wrong := plain_words.mistake(form["what"].strip(), LONGEST)):
        mistakes["what"] = wrong
    if not mistakes:
        body = {"place": place, "figure": spot.id, "label": spot.words, "was": spot.value, "is": n}
        made = claim("desk-finding", body, None, form, {"what": form["what"].strip()})
        outcome = signing.sign(Draft((made,), "P", f"/place/{place}"), form)
        mistakes = dict(outcome.mistakes)
        if on := signing.where_next(outcome, f"/place/{place}"):
            return on
    return show(place, spot, form, mistakes), 422


def found_before(place: str, spot: FigureAddress) -> list[findings.Finding]:
    """What the desk found of this figure so far, in the order in which it was kept; nothing that was withdrawn."""
    return [one for one in room().tray.findings.get(place, ()) if one.figure == spot.id]


def was(spot: FigureAddress) -> str:
    """What the page showed of the packet, as the form carries it."""
    return "" if spot.value is None else str(spot.value)


def wanted(place: str, figure: str) -> FigureAddress:
    return next((spot for spot in spots(place) if spot.id == figure), None) or abort(404)


def show(place: str, spot: FigureAddress, values: Mapping[str, Any], mistakes: Mapping[str, str]) -> str:
    return render_template(
        "desk/finding.html",
        place=room().roster.places[place],
        spot=spot,
        was=was(spot),
        before=found_before(place, spot),
        looked=claim_form.mark(*(one.id for one in found_before(place, spot))),
        mistakes=mistakes,
        people=signing.candidates("P"),
        values=values or fresh(),
    )
