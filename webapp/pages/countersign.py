"""A countersignature that comes later: the seat that was empty is taken after all, as an entry of its own, and is shown as later."""

import uuid

from flask import Blueprint, abort, current_app, g, redirect, render_template, request

from webapp.pages import hands
from webapp.pages.steps import claim
from webapp.precinct import checklist, short_signed
from webapp.precinct.kept import Kept
from webapp.precinct.place import Official

page = Blueprint("countersign", __name__)


def room():
    return current_app.extensions["room"]


def weight_of(kept: Kept) -> str:
    """The seats that this entry asks for."""
    step = checklist.step_of(kept.kind, room().place)
    return step.signs if step else "P"


def refusal(kept: Kept, official: Official) -> str | None:
    """Why this person may not countersign this entry now; None when they may."""
    here = room()
    roll = here.people.official
    signers = [o for o in (roll(s.person) for s in kept.signers) if o]
    later = [o for o in (roll(s.person) for s, _ in kept.later) if o]
    return short_signed.countersign_refusal(weight_of(kept), signers, later, kept.short, official, here.people, here.rules)


def able(kept: Kept) -> list[tuple[str, str]]:
    """Who may countersign: (id, name with party and role)."""
    here = room()
    return [(o.id, f"{o.name}, {here.party_name(o.party)}, {o.role}") for o in here.people.working() if refusal(kept, o) is None]


def found(number: int) -> Kept:
    kept = room().day.entry(room().day.root(number)) or abort(404)
    return kept if kept.short and not room().day.hidden(kept) else abort(404)


@page.get("/record/<int:number>/countersign")
def ask(number: int):
    return show(found(number), {}, {})


def show(kept: Kept, values, mistakes):
    return render_template("countersign.html", entry=kept, values=values or new_ids(), mistakes=mistakes, people=able(kept))


def new_ids() -> dict[str, str]:
    return {"entry_id": uuid.uuid4().hex, "salt": uuid.uuid4().hex}


@page.post("/record/<int:number>/countersign")
def add(number: int):
    """One more signature under what stands there, with the time it came."""
    kept, form = found(number), request.form
    made = claim("countersigned", {"of": kept.number}, g.now, form, {})
    if room().ledger.find(made.id):
        return redirect(f"/record/{kept.number}", 303)
    official, mistakes = hands.hand(form, "1", bars=lambda who: refusal(kept, who))
    if official is not None:
        mistakes = hands.kept((made,), (hands.of(official),)).mistakes
    return (show(kept, form, mistakes), 422) if mistakes else redirect(f"/record/{kept.number}", 303)
