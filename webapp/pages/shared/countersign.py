"""A countersignature that comes later: the seat that was empty is taken after all, as an entry of its own, and is shown as later."""

from collections.abc import Mapping
from typing import Any

from flask import Blueprint, abort, current_app, redirect, render_template, request
from flask.typing import ResponseReturnValue

from webapp.pages.shared import signing
from webapp.pages.shared.claim_form import claim, fresh
from webapp.precinct.checklist import checklist
from webapp.precinct.day import short_signed
from webapp.precinct.day.current_entry import CurrentEntry
from webapp.precinct.place.place import Official

page = Blueprint("countersign", __name__)


def room() -> Any:  # what a shared page takes of it lies in the site of its folder
    return current_app.extensions["room"]


def weight_of(kept: CurrentEntry) -> str:
    """The seats that this entry asks for."""
    step = checklist.step_of(kept.kind, room().place)
    return step.signs if step else "P"


def refusal(kept: CurrentEntry, official: Official) -> str | None:
    """Why this person may not countersign this entry now; None when they may."""
    here = room()
    roll = here.people.official
    signers = [o for o in (roll(s.person) for s in kept.signers) if o]
    later = [o for o in (roll(s.person) for s, _ in kept.later) if o]
    return short_signed.countersign_refusal(
        weight_of(kept), signers, later, kept.short, official, here.people, here.rules
    )


def able(kept: CurrentEntry) -> list[tuple[str, str]]:
    """Who may countersign: (id, name with party and role)."""
    here = room()
    return [
        (o.id, f"{o.name}, {here.party_name(o.party)}, {o.role}")
        for o in here.people.working()
        if refusal(kept, o) is None
    ]


def found(number: int) -> CurrentEntry:
    kept = room().day.entry(room().day.root(number)) or abort(404)
    return kept if kept.short and not room().day.hidden(kept) else abort(404)


@page.get("/record/<int:number>/countersign")
def ask(number: int) -> str:
    return show(found(number), {}, {})


def show(kept: CurrentEntry, values: Mapping[str, Any], mistakes: Mapping[str, str]) -> str:
    return render_template(
        "shared/countersign.html", entry=kept, values=values or fresh(), mistakes=mistakes, people=able(kept)
    )


@page.post("/record/<int:number>/countersign")
def add(number: int) -> ResponseReturnValue:
    """Adds one more signature to an entry, with the time it came."""
    kept, form = found(number), request.form
    made = claim("countersigned", {"of": kept.number}, None, form, {})
    if room().ledger.find(made.id):
        return redirect(f"/record/{kept.number}", 303)
    official, mistakes = signing.authenticate(form, "1", bars=lambda who: refusal(kept, who))
    if official is not None:
        mistakes = signing.append_claims((made,), (signing.signer_of(official),)).mistakes
    return (show(kept, form, mistakes), 422) if mistakes else redirect(f"/record/{kept.number}", 303)
