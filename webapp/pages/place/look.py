"""A reading that asks for a look: its bracket, what was typed against the hour before, where to look; and what two parties found there.

People who sign such a reading come here at once. *I mistyped* leads to its correction; *It is so* records an entry
`looked` {of: the reading's entry} with the words `found`, signed by two of different parties. It settles the alert; a
later correction of the reading opens it again.
"""

from collections.abc import Mapping
from typing import Any

from flask import Blueprint, abort, current_app, redirect, render_template, request
from flask.typing import ResponseReturnValue

from webapp.pages.place.site.place_site import PlaceSite
from webapp.pages.shared import drafts, signing
from webapp.pages.shared.awaiting import Draft
from webapp.pages.shared.claim_form import claim, fresh
from webapp.precinct.reports import alerts
from webapp.precinct.reports.alerts import Alert

page = Blueprint("look", __name__)
FOLDED = "Readings are hidden until the closing counts are signed: count first, then look."
CLOSED = "The polls are closed: what the last reading showed is on Count and under Balance."
SETTLED = (
    "Nothing of this reading is open any more: it was looked into, corrected, or a later reading or a note settled it."
)


def room() -> PlaceSite:
    return current_app.extensions["room"]


def open_alerts(number: int) -> tuple[Alert, ...]:
    """What is open about this reading; refused with a sentence where nothing is, or while readings are hidden."""
    here = room()
    kept = here.day.entry(number)
    if kept is None or kept.kind != "hourly":
        abort(404)
    if here.day.folded_away:
        abort(409, FOLDED)
    if here.day.closed:
        abort(409, CLOSED)
    return tuple(a for a in alerts.of_the_day(here.place, here.day) if a.reading == number) or abort(409, SETTLED)


@page.get("/look/<int:number>")
def look(number: int) -> str:
    """What is wrong, and which of the two it is."""
    return render_template("place/look.html", alerts=open_alerts(number), compared=compared(number), **facts(number))


@page.get("/look/<int:number>/found")
def found(number: int) -> str:
    open_alerts(number)
    return show(number, drafts.opened(request.path, fresh()), {})


@page.post("/look/<int:number>/found")
def keep(number: int) -> ResponseReturnValue:
    """What was found, in words; it waits for the second signature."""
    here, form = room(), request.form
    words = form.get("found", "").strip()
    made = claim("looked", {"of": number}, None, form, {"found": words})
    if here.ledger.find(made.id):
        outcome = signing.sign(Draft((made,), "P", "/now"), form)  # sent again
        return signing.where_next(outcome, "/now") or abort(409, outcome.mistakes[""])
    open_alerts(number)
    mistakes = (
        {} if words else {"found": "Write what you looked at and what you found. Nothing found is an answer too."}
    )
    if not mistakes:
        outcome = signing.sign(Draft((made,), "P", "/now"), form, request.path)
        if outcome.waiting:
            return redirect(f"/sign/{outcome.waiting}", 303)
        mistakes = dict(outcome.mistakes)
    drafts.put_aside(request.path, ("looked",), False, form)
    return show(number, form, mistakes), 422


def show(number: int, values: Mapping[str, Any], mistakes: Mapping[str, str]) -> str:
    return render_template(
        "place/look_found.html",
        alerts=open_alerts(number),
        values=values,
        mistakes=mistakes,
        people=signing.candidates("P"),
        **facts(number),
    )


def facts(number: int) -> dict[str, Any]:
    """The entry of the reading, and the reading itself as it is now."""
    here = room()
    return {"entry": here.day.entry(number), "reading": next(r for r in here.day.readings if r.number == number)}


def compared(number: int) -> tuple[str, str, list[tuple[str, int | None, int]]] | None:
    """(hour before, this hour, rows of what was read: words, then, now); None where no reading came before."""
    here = room()
    both = [k for k in here.day.of("hourly") if k.number <= number][-2:]
    if len(both) < 2:
        return None
    before, now = both
    rows = [
        (words.format(thing), (before.body.get(field) or {}).get(thing), n)
        for field, words in (("check_ins", "Check-ins of {}"), ("counters", "Counter of {}"))
        for thing, n in (now.body.get(field) or {}).items()
    ]
    rows.append(("People in between", before.body.get("in_hand"), now.body["in_hand"]))
    hours = [room().time_beside("hourly", k.body.get("hour", k.time)) for k in both]
    return hours[0], hours[1], rows
