"""A finding withdrawn: what was found, what counts without it, the reason, two signatures. Finding and withdrawal both stay in the record."""

from collections.abc import Mapping
from typing import Any, cast

from flask import Blueprint, abort, current_app, g, redirect, render_template, request
from flask.typing import ResponseReturnValue

from webapp.office.questions import withdrawn
from webapp.office.questions.findings import Finding, overlaid, spot
from webapp.pages.desk.places import findings
from webapp.pages.desk.places.places import label
from webapp.pages.desk.shared.named_place import known
from webapp.pages.desk.site.office_site import OfficeSite
from webapp.pages.shared import signing
from webapp.pages.shared.awaiting import Draft
from webapp.pages.shared.claim_form import claim, fresh
from webapp.precinct.checklist.form_input import LONGEST
from webapp.precinct.day.current_entry import CurrentEntry
from webapp.precinct.place import plain_words

page = Blueprint("withdrawing", __name__)


def room() -> OfficeSite:
    return current_app.extensions["room"]


def chosen(place: str, number: int) -> list[Finding]:
    """The finding of that entry, with those that were signed with it as one corrected return; nothing of it is withdrawn yet."""
    known(place)
    tray, desk = room().tray, room().desks[place]
    found = tray.found.get(place, ())
    one = next((one for one in found if one.number == number), None) or abort(404)
    entries = [(f.number, cast(CurrentEntry, desk.entry(f.number))) for f in found]  # none is left out
    acts = {number: bytes(act) for number, entry in entries if (act := entry.body.get("act"))}
    return withdrawn.of_one_act(found, acts, one)


def gone(rows: list[Finding]) -> withdrawn.Withdrawal | None:
    """What withdrew these already; None where nothing did."""
    return next((by for one in rows if (by := room().desk_findings.withdrawal_of(one.number))), None)


def counts_then(place: str, rows: list[Finding]) -> dict[str, int | None]:
    """Figure -> what counts once these are withdrawn: an earlier finding, or the packet's own. Figures that the page of findings does not offer are absent."""
    sent = room().tray.sent(place)
    if sent is None:
        return {}
    ids = {one.id for one in rows}
    left = overlaid(sent.core, sent.place, [f for f in room().tray.findings.get(place, ()) if f.id not in ids])
    offered = {one.id for one in findings.spots(place)}
    here = {one.figure: spot(left, sent.place, one.figure) for one in rows if one.figure in offered}
    return {figure: found.value for figure, found in here.items() if found}


@page.get("/withdraw/<place>/<int:number>")
def ask(place: str, number: int) -> ResponseReturnValue:
    rows = chosen(place, number)
    return show(place, number, rows, {}, {}), 409 if gone(rows) else 200


@page.post("/withdraw/<place>/<int:number>")
def keep(place: str, number: int) -> ResponseReturnValue:
    """Signed like the finding itself: by two parties."""
    form, mistakes, rows, back = request.form, {}, chosen(place, number), f"/place/{place}#findings"
    why = form.get("why", "").strip()
    if not why:
        mistakes["why"] = "Enter why it is withdrawn: what was seen, and by whom. No names of voters."
    elif wrong := plain_words.mistake(why, LONGEST):
        mistakes["why"] = wrong
    if not mistakes:
        body = withdrawn.body_of(place, [(one, label(room().desks[place], one)) for one in rows])
        outcome = signing.sign(Draft((claim(withdrawn.KIND, body, None, form, {"why": why}),), "P", back), form)
        mistakes = dict(outcome.mistakes)
        if outcome.waiting:
            return redirect(f"/sign/{outcome.waiting}", 303)
        if outcome.entries:
            return redirect(back, 303)
    return show(place, number, rows, form, mistakes), 422


def show(place: str, number: int, rows: list[Finding], values: Mapping[str, Any], mistakes: Mapping[str, str]) -> str:
    here = room()
    return render_template(
        "desk/withdraw.html",
        place=here.roster.places[place],
        number=number,
        rows=[(one, label(here.desks[place], one), here.day.entry(one.number)) for one in rows],
        then=counts_then(place, rows),
        gone=gone(rows),
        mistakes=mistakes,
        people=signing.candidates("P"),
        values=values or fresh(),
        when=g.now,
    )
