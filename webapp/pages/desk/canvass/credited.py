"""Voters credited with having voted, typed place by place from the list of registered voters: numbers of people, compared with the ballots counted."""

from collections.abc import Mapping
from typing import Any

from flask import Blueprint, current_app, redirect, render_template, request
from flask.typing import ResponseReturnValue

from webapp.pages.desk.shared.paging import page_of
from webapp.pages.desk.site.office_site import OfficeSite
from webapp.pages.shared import claim_form, signing
from webapp.pages.shared.awaiting import Draft
from webapp.pages.shared.claim_form import claim, fresh
from webapp.precinct.checklist.field_parsers import InvalidInput, number
from webapp.precinct.checklist.form_input import LONGEST
from webapp.precinct.place import plain_words

page = Blueprint("credited", __name__)
A_PAGE = 50
FIELD = "credited."
PATH = "/reconciliation/credited"


def room() -> OfficeSite:
    return current_app.extensions["room"]


@page.get(PATH)
def credited() -> str:
    return show({}, {})


def show(values: Mapping[str, Any], mistakes: Mapping[str, str]) -> str:
    """Fifty places a page, each with the figure in force."""
    here, places = room(), list(room().roster.places.values())
    last = max(len(places) - 1, 0) // A_PAGE
    at = page_of(last)
    return render_template(
        "desk/credited.html",
        rows=[
            (place, f"{FIELD}{place.id}", here.added.credited.get(place.id))
            for place in places[at * A_PAGE : (at + 1) * A_PAGE]
        ],
        looked=claim_form.marks(
            (place.id, here.added.credited.get(place.id)) for place in places[at * A_PAGE : (at + 1) * A_PAGE]
        ),
        number=at,
        last=last,
        path=PATH,
        locked=here.certified.locked_edition(),
        people=signing.candidates("P"),
        mistakes=mistakes,
        values=values or fresh(),
    )


@page.post(PATH)
def keep() -> ResponseReturnValue:
    """The figures that were typed, signed by two parties; a place whose field is empty keeps what it had."""
    form, mistakes, figures = request.form, {}, {}
    for place in room().roster.places:
        text = form.get(f"{FIELD}{place}", "").strip()
        if text:
            try:
                figures[place] = number(text)
            except InvalidInput:
                mistakes[f"{FIELD}{place}"] = "Enter how many voters are credited in digits, or leave it empty."
    if not figures and not mistakes:
        mistakes[""] = "No place has a figure. Enter the voters credited of at least one."
    for place in figures:
        if not claim_form.showed(form, place, room().added.credited.get(place)):
            mistakes[f"{FIELD}{place}"] = claim_form.SINCE
    note = form.get("note", "").strip()
    if note and (wrong := plain_words.mistake(note, LONGEST)):
        mistakes["note"] = wrong
    if not mistakes:
        made = claim("voters-credited", {"credited": figures}, None, form, {"note": note})
        outcome = signing.sign(Draft((made,), "P", "/reconciliation"), form)
        mistakes = dict(outcome.mistakes)
        if outcome.waiting:
            return redirect(f"/sign/{outcome.waiting}", 303)
        if outcome.entries:
            return redirect("/reconciliation", 303)
    return show(form, mistakes), 422
