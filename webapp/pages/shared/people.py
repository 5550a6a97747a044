"""The roll: arrivals, oath with slip and PIN, walk-ins and lost PINs by voucher, relief and departure."""

import re
import uuid
from collections import Counter
from collections.abc import Mapping
from typing import Any

from flask import Blueprint, abort, current_app, g, redirect, render_template, request
from flask.typing import ResponseReturnValue
from werkzeug.datastructures import MultiDict

from webapp.gate.gate import GateRefused, WrongPin
from webapp.pages.shared import drafts, second_code, signing
from webapp.pages.shared.awaiting import Draft
from webapp.pages.shared.claim_form import claim, fresh
from webapp.pages.shared.site import Site
from webapp.precinct.place import plain_words
from webapp.precinct.place.place import Official

page = Blueprint("people", __name__)
WHYS = (
    ("walk-in", "Someone new is to work here"),
    ("lost-pin", "A PIN is lost"),
    ("reset", "A tablet refuses someone after wrong PINs"),
)


def room() -> Site:
    return current_app.extensions["room"]


@page.get("/people")
def people() -> str:
    """Everyone on the roll, and what each may do next."""
    here = room()
    rows = [(o, state_of(o.id)) for o in here.people.everybody]
    return render_template(
        "shared/people.html",
        rows=rows,
        next_one=next((o for o, state in rows if state == "present"), None),
        pin_again=second_code.how,
        refusing=Counter(person for person, _ in here.gate.throttle.refusing()),
    )


def state_of(person: str) -> str:
    """sworn | relieved | present (arrived, no oath yet) | expected."""
    roll = room().people
    if person in roll.sworn:
        return "sworn"
    if person in roll.relieved:
        return "relieved"
    return "present" if person in roll.present or any(o.id == person for o in roll.walk_ins) else "expected"


@page.get("/people/oath/<person>")
def oath(person: str) -> str:
    return show_oath(person, {})


def show_oath(person: str, mistakes: Mapping[str, str]) -> str:
    here = room()
    official = here.people.official(person) or abort(404)
    row = len(here.people.sworn) + len(here.people.relieved) + 1
    return render_template(
        "shared/oath.html",
        official=official,
        vouched=by(person) in WITHOUT_A_CODE,
        second=by(person) == "second-code",
        has_pin=pin_kept(person),
        row=row,
        mistakes=mistakes,
        values=request.form
        or {"entry_id": uuid.uuid4().hex, "pin_id": uuid.uuid4().hex, "salt": uuid.uuid4().hex, "row": str(row)},
    )


def vouched(person: str) -> bool:
    """Whether two officials spoke for this person's next PIN, and it has not been set since."""
    return room().day.pin_vouched(person)


WITHOUT_A_CODE = ("vouched", "fresh")


def by(person: str) -> str:
    """How this person's PIN is set with the oath: "slip", "vouched"; on a spare laptop "second-code", or "fresh" where it has no kit and nobody a code."""
    if vouched(person):
        return "vouched"
    return {"spare": "second-code", "fresh": "fresh"}.get(room().restored_with(), "slip")


def pin_kept(person: str) -> bool:
    """Whether the record says that this person set a PIN that still holds. The gate alone may know of one after a crash: then it is set again, and said."""
    return person in room().people.admitted and not vouched(person)


@page.post("/people/oath/<person>")
def swear(person: str) -> ResponseReturnValue:
    """The oath is taken, the PIN set with the person's own slip, and both are signed by that person."""
    here, form = room(), request.form
    official = here.people.official(person) or abort(404)
    again = pin_kept(person)
    mistakes = {}
    if not form.get("oath"):
        mistakes["oath"] = f"Read the oath aloud with {official.name}, then tick that it was taken."
    if not re.fullmatch(r"[0-9]{1,5}", form.get("row", "")):
        mistakes["row"] = "Enter the row of the oath sheet that was signed, in digits."
    if not again and by(person) not in WITHOUT_A_CODE and not form.get("code"):
        mistakes["code"] = f"Enter the code on the slip that the office gave to {official.name}."
    if not form.get("pin"):
        mistakes["pin"] = f"Enter the PIN that {official.name} chooses: 6 to 12 digits."
    elif not again and form["pin"] != form.get("pin_again"):
        mistakes["pin_again"] = "The two PINs differ. Enter the same PIN twice."
    if not mistakes:
        mistakes = set_pin(official, again, form)
    if mistakes:
        return show_oath(person, mistakes), 422
    signer = signing.signer_of(official)
    claims = [claim("oath", {"person": person, "row": int(form["row"])}, None, form, {})]
    if not again:
        claims.insert(
            0,
            claim(
                "pin-set", {"person": person, "by": by(person)}, None, {**form, "entry_id": form.get("pin_id", "")}, {}
            ),
        )
    outcome = signing.append_claims(claims, [signer])
    return (show_oath(person, outcome.mistakes), 409) if outcome.mistakes else redirect("/people", 303)


def set_pin(official: Official, again: bool, form: MultiDict[str, str]) -> dict[str, str]:
    """Sets the PIN by slip or voucher, or checks the one there is. Returns what to correct, by input name."""
    gate, tablet = room().gate, g.session.tablet
    try:
        if again:
            gate.check_pin(official.id, form["pin"], tablet, g.now)
        elif by(official.id) in WITHOUT_A_CODE:
            gate.pins.set(official.id, form["pin"], room().election_day)
        else:
            gate.set_pin_with_slip(official.id, form["code"], form["pin"], tablet, g.now, room().election_day)
    except WrongPin as wrong:
        return {"pin" if again else "code": str(wrong) + signing.failed(official.id)}
    except GateRefused as refused:
        return {"pin": str(refused)}
    return {}


@page.get("/people/vouch")
def vouch() -> str:
    return show_vouch({}, drafts.opened("/people/vouch", fresh()))


def show_vouch(mistakes: Mapping[str, str], values: Mapping[str, Any] | None = None) -> str:
    here = room()
    return render_template(
        "shared/vouch.html",
        whys=WHYS,
        parties=here.parties(),
        everybody=[(o.id, o.name) for o in here.people.everybody],
        people=signing.candidates("P"),
        mistakes=mistakes,
        values=values or request.form,
    )


@page.post("/people/vouch")
def keep_vouch() -> ResponseReturnValue:
    """Two officials of different parties speak for a walk-in, a lost PIN or a tablet that refuses somebody."""
    here, form = room(), request.form
    why, mistakes, words = form.get("why", ""), {}, {}
    if why not in dict(WHYS):
        mistakes["why"] = "Select what the two of you vouch for."
    if why == "walk-in":
        person, party, role = here.people.next_walk_in(), form.get("party", ""), form.get("role", "").strip().lower()
        words = {"name": form.get("name", "").strip()}
        if not words["name"]:
            mistakes["name"] = "Enter the name of the person who is to work here."
        elif wrong := plain_words.mistake(words["name"], plain_words.NAME, lines=False):
            mistakes["name"] = wrong
        if party not in dict(here.parties()):
            mistakes["party"] = "Select the party this person works for here."
        if not re.fullmatch(r"[a-z][a-z -]{0,23}", role):
            mistakes["role"] = "Enter the person's role in letters, as inspector."
    else:
        official = here.people.official(form.get("person", ""))
        if official is None:
            mistakes["person"] = "Select the person you vouch for."
        else:
            person, party, role = official.id, official.party, official.role
    if not mistakes:
        body = {"person": person, "party": party, "role": role, "why": why}
        outcome = signing.sign(Draft((claim("vouched", body, None, form, words),), "P", "/people", person), form)
        mistakes = outcome.mistakes
        if on := signing.where_next(outcome, "/people"):
            return on
    drafts.put_aside("/people/vouch", ("vouched",), False, form)
    return show_vouch(mistakes), 422
