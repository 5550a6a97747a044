"""Which of two histories of one desk apart is the desk's own: two parties sign what they found out."""

from flask import Blueprint, abort, current_app, request
from flask.typing import ResponseReturnValue

from webapp.merging.histories import SETTLED, refused_of
from webapp.pages.desk.intake import merging
from webapp.pages.desk.site.office_site import OfficeSite
from webapp.pages.shared import claim_form, signing
from webapp.pages.shared.awaiting import Draft
from webapp.pages.shared.claim_form import claim
from webapp.precinct.checklist.form_input import LONGEST
from webapp.precinct.place import plain_words

page = Blueprint("histories", __name__)
STANDS = {"merged": True, "refused": False}


def room() -> OfficeSite:
    return current_app.extensions["room"]


@page.post("/merge/history")
def settle() -> ResponseReturnValue:
    """No figure moves by this: what is set aside or counted again afterwards moves figures."""
    here, form, mistakes = room(), request.form, {}
    desk = form.get("desk", "")
    refused = refused_of(here.day, desk)
    if not refused:
        abort(404)
    if form.get("stands") not in STANDS:
        mistakes["stands"] = "Choose which history is the desk’s."
    why = form.get("why", "").strip()
    if not why:
        mistakes["why"] = "Enter how you found out, in one or two sentences."
    elif wrong := plain_words.mistake(why, LONGEST):
        mistakes["why"] = wrong
    digests = sorted({bytes(kept.body["digest"]) for kept in refused})
    if not claim_form.showed(form, desk, digests):
        mistakes["desk"] = claim_form.SINCE
    if not mistakes:
        body = {"desk": desk, "merged": STANDS[form["stands"]], "refused": digests}
        outcome = signing.sign(Draft((claim(SETTLED, body, None, form, {"why": why}),), "P", "/merge"), form)
        mistakes = dict(outcome.mistakes)
        if on := signing.where_next(outcome, "/merge"):
            return on
    return merging.show(mistakes, [], form), 422
