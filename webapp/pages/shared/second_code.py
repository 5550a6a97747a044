"""On a spare laptop nobody has a PIN: each sworn official sets one again, with the second code on their own slip. The oath is in the record already.

Without a kit there are no codes. Then nobody can prove who sets a PIN, the entry says so, and the packet is not proven either.
"""

from collections.abc import Mapping

from flask import Blueprint, abort, current_app, g, redirect, render_template, request
from flask.typing import ResponseReturnValue
from werkzeug.datastructures import MultiDict

from webapp.gate.gate import GateRefused, WrongPin
from webapp.pages.shared import signing
from webapp.pages.shared.claim_form import claim, fresh
from webapp.pages.shared.site import Site
from webapp.precinct.place.place import Official

page = Blueprint("second_code", __name__)
LOWER = "It is the second code, the lower one on the slip."


def room() -> Site:
    return current_app.extensions["room"]


def how(person: str) -> str:
    """How this person may set a PIN again: "vouched", "second-code" or "fresh" (no kit); "" where there is a PIN, or no oath yet."""
    here = room()
    if person not in here.people.sworn or here.gate.pins.has(person) or not here.restored_with():
        return ""
    if here.day.pin_vouched(person):
        return "vouched"
    return "fresh" if here.restored_with() == "fresh" else "second-code"


@page.get("/people/pin/<person>")
def pin_again(person: str) -> str:
    return show(person, {})


def show(person: str, mistakes: Mapping[str, str]) -> str:
    official = room().people.official(person) or abort(404)
    way = how(person) or abort(404)
    values = request.form or fresh()
    return render_template("shared/pin_again.html", official=official, way=way, mistakes=mistakes, values=values)


@page.post("/people/pin/<person>")
def set_again(person: str) -> ResponseReturnValue:
    """The PIN is set and that it was is signed by its owner."""
    form, official = request.form, room().people.official(person) or abort(404)
    way = how(person)
    if not way:
        return redirect("/people", 303)
    mistakes = {}
    if way == "second-code" and not form.get("code"):
        mistakes["code"] = f"Enter the second code on the slip of {official.name}."
    if not form.get("pin"):
        mistakes["pin"] = f"Enter the PIN that {official.name} chooses: 6 to 12 digits."
    elif form["pin"] != form.get("pin_again"):
        mistakes["pin_again"] = "The two PINs differ. Enter the same PIN twice."
    mistakes = mistakes or kept_at_the_gate(official, way, form)
    if mistakes:
        return show(person, mistakes), 422
    kept = signing.append_claims(
        [claim("pin-set", {"person": person, "by": way}, g.now, form, {})], [signing.signer_of(official)]
    )
    return (show(person, kept.mistakes), 409) if kept.mistakes else redirect("/people", 303)


def kept_at_the_gate(official: Official, way: str, form: MultiDict[str, str]) -> dict[str, str]:
    """Sets the PIN in the gate. Returns what to correct, by input name."""
    gate, day = room().gate, room().election_day
    try:
        if way == "second-code":
            gate.set_pin_with_slip(official.id, form["code"], form["pin"], g.session.tablet, g.now, day)
        else:
            gate.pins.set(official.id, form["pin"], day)
    except WrongPin as wrong:
        return {"code": f"{wrong} {LOWER}" + signing.failed(official.id)}
    except GateRefused as refused:
        return {"pin": str(refused)}
    return {}
