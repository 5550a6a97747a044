"""The open questions of one place and their answers: one answer may close several, signed once by two parties."""

import uuid
from collections.abc import Mapping

from flask import Blueprint, current_app, redirect, render_template, request
from flask.typing import ResponseReturnValue
from werkzeug.datastructures import MultiDict

from webapp.office.questions.desk_questions import OUTCOMES, DeskQuestion
from webapp.pages.desk.shared.named_place import known
from webapp.pages.desk.site.office_site import OfficeSite
from webapp.pages.shared import claim_form, signing
from webapp.pages.shared.awaiting import Draft
from webapp.pages.shared.claim_form import claim, claim_id, following
from webapp.record.entry import Claim

page = Blueprint("questions", __name__)
OWNERS = {
    "Short-signed": "for the carriers, before they leave",
    "Figures": "for the carriers, before they leave",
    "Containers": "for the carriers, before they leave",
    "Seals": "for the carriers, before they leave",
    "Envelopes": "for the carriers, before they leave",
    "Tape": "for the receivers: read the tape again",
    "Memory": "for the receivers: load what is missing, or find it",
    "Missing": "for the place: ask for an amended packet, or for the paper",
}
LATER = "for the office, before the canvass"


def room() -> OfficeSite:
    return current_app.extensions["room"]


@page.get("/questions/<place>")
def questions(place: str) -> ResponseReturnValue:
    return show(place)


def show(
    place: str, values: MultiDict[str, str] | None = None, mistakes: Mapping[str, str] | None = None, code: int = 200
) -> ResponseReturnValue:
    found, here = known(place), room()
    rows = here.questions(place)
    return render_template(
        "desk/questions.html",
        place=found,
        state=here.state(place),
        open=[one for one in rows if one.open],
        looked=claim_form.marks((one.name, one.facts) for one in rows if one.open),
        closed=[(one, here.day.entry(one.answer.number)) for one in rows if one.answer],
        owners=OWNERS,
        later=LATER,
        outcomes=OUTCOMES,
        out=place in here.tray.marks["out"],
        mistakes=mistakes or {},
        people=signing.candidates("P"),
        values=values or {"salt": here.fresh_salt(), "entry_id": uuid.uuid4().hex},
        chosen=values.getlist("ask") if values else [],
    ), code


@page.post("/questions/<place>")
def answer(place: str) -> ResponseReturnValue:
    """One answer to the questions that were ticked; each becomes an entry, all are signed once by two parties."""
    known(place)
    form, mistakes = request.form, {}
    if all_kept(form):
        return redirect(f"/questions/{place}", 303)
    may = {one.name: one for one in room().questions(place) if one.open and not one.settle}
    chosen = [may[name] for name in form.getlist("ask") if name in may]
    seen = all(claim_form.mark(one.name, one.facts) in form.get("looked", "").split() for one in chosen)
    if not seen or len(chosen) < len(set(form.getlist("ask"))):
        mistakes["ask"] = "A question changed since this page was opened. Read the list again, then sign."
    elif not chosen:
        mistakes["ask"] = "Tick the questions that this answers."
    if form.get("outcome") not in dict(OUTCOMES):
        mistakes["outcome"] = "Choose what came of it."
    if not form.get("answer", "").strip():
        mistakes["answer"] = "Enter the answer: what was said or found, and by whom. No names of voters."
    if not mistakes:
        draft = Draft(tuple(made(place, one, form) for one in chosen), "P", f"/questions/{place}")
        outcome = signing.sign(draft, form)
        mistakes = dict(outcome.mistakes)
        if on := signing.where_next(outcome, f"/questions/{place}"):
            return on
    return show(place, form, mistakes, 422)


def all_kept(form: MultiDict[str, str]) -> bool:
    """Whether this very form made its entries already, and is sent again."""
    ids = [bytes.fromhex(following(claim_id(form), name)) for name in form.getlist("ask")]
    return bool(ids) and all(room().ledger.find(id) for id in ids)


def made(place: str, one: DeskQuestion, form: MultiDict[str, str]) -> Claim:
    """One question's answer. Its id follows from the form's and the question, so that a retry is the same entry."""
    own = following(claim_id(form), one.name)
    body = {"place": place, "question": one.name, "outcome": form["outcome"], "facts": list(one.facts)}
    return claim(
        "answered", body, None, {**form, "entry_id": own}, {"answer": form["answer"].strip(), "asked": one.says}
    )
