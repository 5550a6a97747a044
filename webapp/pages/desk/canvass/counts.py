"""Ballots counted after the night: units and ways, what became of the envelopes, and places whose ballots were counted together."""

import re
from collections.abc import Mapping
from typing import Any

from flask import Blueprint, abort, current_app, render_template, request
from flask.typing import ResponseReturnValue
from werkzeug.datastructures import MultiDict

from webapp.canvass import envelopes
from webapp.canvass.edition import Way
from webapp.canvass.envelopes import COUNTY, Envelopes
from webapp.packet.print_content import total
from webapp.pages.desk.shared.paging import page_of
from webapp.pages.desk.site.office_site import OfficeSite
from webapp.pages.shared import claim_form, signing
from webapp.pages.shared.awaiting import Draft
from webapp.pages.shared.claim_form import claim, fresh
from webapp.precinct.checklist.field_parsers import InvalidInput, number
from webapp.precinct.checklist.form_input import LONGEST
from webapp.precinct.place import plain_words

page = Blueprint("counts", __name__)
A_PAGE = 100
ID = re.compile(r"[A-Za-z0-9-]{1,16}")
DAY = re.compile(r"20[0-9]{2}-(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])")


def room() -> OfficeSite:
    return current_app.extensions["room"]


@page.get("/counts")
def counts() -> str:
    """Every unit with what is decided, open and counted, a hundred a page; with `?show=open` only those with envelopes that are not decided."""
    here = room()
    added, show = here.added, request.args.get("show", "")
    units = [*added.pools, *here.roster.places]
    rows = [(unit, added.name(unit), states(unit)) for unit in units] if show else []
    if show == "open":
        rows = [row for row in rows if any(one.open for _, one, _ in row[2] if one)]
    elif show == "counted":
        rows = [row for row in rows if any(n is not None for _, _, n in row[2])]
    last = max(len(rows if show else units) - 1, 0) // A_PAGE
    first = page_of(last) * A_PAGE
    if show:
        rows = rows[first : first + A_PAGE]
    else:
        rows = [(unit, added.name(unit), states(unit)) for unit in units[first : first + A_PAGE]]
    return render_template(
        "desk/counts.html",
        rows=rows,
        county=states(COUNTY),
        show=show,
        number=first // A_PAGE,
        last=last,
        against=[(atom, added.name(atom.unit), added.way(atom.way)) for atom in added.against()],
        pools=len(added.pools),
    )


def states(unit: str) -> list[tuple[Way, Envelopes | None, int | None]]:
    """(way, what became of its envelopes, ballots counted) of each way that has anything; None: nothing of it is kept."""
    added, found = room().added, []
    for way in added.ways:
        decided, parts = added.decided(unit, way.id), added.parts(unit, way.id)
        if decided or parts:
            found.append((way, decided, added.counted(unit, way.id) if parts else None))
    return found


def unit_or_404(unit: str) -> str:
    """Returns the unit; answers 404 where there is none with this id."""
    return unit if room().added.is_unit(unit) else abort(404)


def way_or_404(name: str) -> Way:
    """Returns the way of voting with this id; answers 404 where there is none."""
    return room().added.way(name) or abort(404)


def provisional_of_return(unit: str) -> int | None:
    """Provisional envelopes by the place's own return; None where it says none or is not in."""
    found = room().tray.counts(unit) if unit in room().roster.places else None
    return total(found[1].core["aside"].get("provisional")) if found else None


@page.get("/counts/<unit>")
def one(unit: str) -> str:
    """One unit: each way with its envelopes, its counts and what is to do."""
    added = room().added
    unit_or_404(unit)
    ways = [(way, added.decided(unit, way.id), added.parts(unit, way.id)) for way in added.ways]
    return render_template(
        "desk/counts_unit.html",
        unit=unit,
        name=added.name(unit),
        ways=ways,
        lines={
            part.count.atom: [line for line in added.lines(part.count, added.contests(unit)) if line.gap]
            for _, _, parts in ways
            for part in parts
            if part.count
        },
        county=unit == COUNTY,
        provisional=provisional_of_return(unit),
        inn=room().tray.counts(unit) is not None,
        pool=added.pools.get(unit),
    )


# --- envelopes


@page.get("/counts/<unit>/<way>/envelopes")
def envelopes_page(unit: str, way: str) -> str:
    return show_envelopes(unit_or_404(unit), way_or_404(way), {}, {})


def show_envelopes(unit: str, way: Way, values: Mapping[str, Any], mistakes: Mapping[str, str]) -> str:
    here = room()
    return render_template(
        "desk/envelopes.html",
        unit=unit,
        name=here.added.name(unit),
        way=way,
        reasons=here.roster.office.reasons,
        history=here.added.history(unit, way.id),
        looked=claim_form.mark(len(here.added.history(unit, way.id))),
        provisional=provisional_of_return(unit) if way.type == "provisional" else None,
        mistakes=mistakes,
        people=signing.candidates("P"),
        values=values or fresh(),
    )


@page.post("/counts/<unit>/<way>/envelopes")
def keep_envelopes(unit: str, way: str) -> ResponseReturnValue:
    """Records the newest decision, which says the whole: it is not added to the one before."""
    known, form = way_or_404(way), request.form
    unit_or_404(unit)
    body, mistakes = read_envelopes(unit, known, form)
    note = form.get("note", "").strip()
    if note and (wrong := plain_words.mistake(note, LONGEST)):
        mistakes["note"] = wrong
    if not claim_form.showed(form, len(room().added.history(unit, known.id))):
        mistakes[""] = claim_form.SINCE
    own = provisional_of_return(unit) if known.type == "provisional" else None
    if not mistakes and own is not None and body["issued"] != own and not note:
        mistakes["note"] = (
            f"The return of the place says {own:,} provisional envelopes, here {'no figure' if body['issued'] is None else format(body['issued'], ',')} "
            "is issued. Look again; if the papers say so, enter a note that says why."
        )
    if not mistakes:
        made = claim("envelopes-decided", body, None, form, {"note": note})
        outcome = signing.sign(Draft((made,), "P", f"/counts/{unit}"), form)
        mistakes = dict(outcome.mistakes)
        if on := signing.where_next(outcome, f"/counts/{unit}"):
            return on
    return show_envelopes(unit, known, form, mistakes), 422


def read_envelopes(unit: str, way: Way, form: MultiDict[str, str]) -> tuple[dict[str, Any], dict[str, str]]:
    """(the body of `envelopes-decided`, what to correct by input name)."""
    mistakes: dict[str, str] = {}

    def figure(name: str, needed: str = "") -> int | None:
        text = form.get(name, "").strip()
        if not text:
            if needed:
                mistakes[name] = needed
            return None
        try:
            return number(text)
        except InvalidInput:
            mistakes[name] = "Enter this figure in digits."
            return None

    issued = figure("issued")
    received = figure("received", "Enter how many envelopes were received, 0 if none.")
    accepted = figure("accepted", "Enter how many envelopes were accepted, 0 if none.")
    partly, still = figure("partly") or 0, figure("open") or 0
    rejected = {reason.id: figure(f"rejected.{reason.id}") or 0 for reason in room().roster.office.reasons}
    until = form.get("cure_until", "").strip()
    if until and not DAY.fullmatch(until):
        mistakes["cure_until"] = "Enter the day as year, month and day, such as 2026-11-24, or leave it empty."
    body = {
        "unit": unit,
        "way": way.id,
        "issued": issued,
        "received": received,
        "accepted": accepted,
        "partly": partly,
        "rejected": {reason: n for reason, n in rejected.items() if n},
        "open": still,
        "cure_until": until or None,
    }
    if not mistakes:
        mistakes |= envelopes.mistakes(envelopes.of_body(body))
        if issued is not None and received is not None and received > issued and not form.get("note", "").strip():
            mistakes["note"] = (
                f"{received:,} received and {issued:,} issued: {received - issued:,} more received than issued. Look again; if it is so, enter a note that says why."
            )
    return body, mistakes


# --- pools


@page.get("/counts/pool")
def pool() -> str:
    return show_pool({}, {})


def show_pool(values: Mapping[str, Any], mistakes: Mapping[str, str]) -> str:
    here = room()
    return render_template(
        "desk/pool.html",
        places=list(here.roster.places.values())[:A_PAGE],
        pools=[(one, here.added.name(one.id)) for one in here.added.pools.values()],
        mistakes=mistakes,
        people=signing.candidates("P"),
        values=values or fresh(),
    )


@page.post("/counts/pool")
def keep_pool() -> ResponseReturnValue:
    """Places named once each, by their ids; two parties sign that their ballots were counted together."""
    here, form, mistakes = room(), request.form, {}
    name, named = form.get("id", "").strip(), re.split(r"[\s,;]+", form.get("places", "").strip())
    named = [place for place in named if place]
    known = (
        here.ledger.find(bytes.fromhex(form["entry_id"]))
        if re.fullmatch("[0-9a-f]{32}", form.get("entry_id", ""))
        else None
    )
    if not ID.fullmatch(name):
        mistakes["id"] = "Enter a short name of 1 to 16 letters, digits or dashes, such as abs-north."
    elif (here.added.is_unit(name) or here.roster.office.place(name)) and not known:
        mistakes["id"] = f"{name} is taken: a place or other places counted together have it. Choose another."
    strange = next((place for place in named if place not in here.roster.places), None)
    twice = next((place for i, place in enumerate(named) if place in named[:i]), None)
    if strange:
        mistakes["places"] = f"No place has the id {strange[:40]}. Enter ids as on the list of places, such as W3 W5."
    elif twice:
        mistakes["places"] = f"{twice} is there twice. Name each place once."
    elif len(named) < 2:
        mistakes["places"] = "Enter the ids of two places or more, with spaces between."
    why = form.get("why", "").strip()
    if not why:
        mistakes["why"] = "Enter why these were counted together, in one sentence."
    elif wrong := plain_words.mistake(why, LONGEST):
        mistakes["why"] = wrong
    if not mistakes:
        order = [place for place in here.roster.places if place in named]
        made = claim("pool", {"id": name, "places": order}, None, form, {"why": why})
        outcome = signing.sign(Draft((made,), "P", f"/counts/{name}"), form)
        mistakes = dict(outcome.mistakes)
        if on := signing.where_next(outcome, f"/counts/{name}"):
            return on
    return show_pool(form, mistakes), 422
