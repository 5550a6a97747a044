"""The everyday notes: what happened, two taps from anywhere; taken back within a minute without ceremony; handed-back ballots as taps of the hour."""

from collections.abc import Mapping

from flask import Blueprint, abort, current_app, g, make_response, redirect, render_template, request
from flask.typing import ResponseReturnValue

from webapp.gate.gate import GateRefused
from webapp.pages.place.site.place_site import PlaceSite
from webapp.pages.shared import drafts, signing
from webapp.pages.shared.awaiting import Draft
from webapp.pages.shared.check_word_fields import mark_claims
from webapp.pages.shared.claim_form import claim_id, following, fresh_ids, read, standing
from webapp.pages.shared.step_form import holds, rough, show
from webapp.precinct.day.hours import full_hour
from webapp.precinct.place.step import Task
from webapp.record.entry import Claim

page = Blueprint("note", __name__)


def room() -> PlaceSite:
    return current_app.extensions["room"]


@page.get("/note")
def notes() -> str:
    """Every kind of note with how many there are, and the last ones, each to look at or correct."""
    here = room()
    return render_template(
        "place/note.html",
        groups=here.notes.groups(g.now),
        tallies=here.notes.set_aside(),
        last=here.notes.of_the_page(5),
        folded=here.day.folded_away,
        kept=request.args.get("kept", ""),
    )


@page.get("/note/<kind>")
def where(kind: str) -> ResponseReturnValue:
    """The note's form; first which tabulator or box, where there is more than one."""
    step = room().notes.step(kind) or abort(404)
    places = room().notes.ats(step)
    if len(places) == 1:
        return form(kind, places[0])
    return render_template("place/where.html", step=step, places=places)


@page.get("/note/<kind>/<at>")
def at(kind: str, at: str) -> ResponseReturnValue:
    return form(kind, at)


def form(kind: str, at: str) -> ResponseReturnValue:
    task = room().notes.task(kind, at) or abort(404)
    if task.step.form == "tally":
        return sheet(task)
    found = tile(task) | room().prefilled(task, request.args)
    chosen = {name: value for name, value in found.items() if name in request.args}
    values = drafts.opened(action(task), fresh_ids((task,)) | found, chosen)
    return show((task,), values, action=action(task))


def tile(task: Task) -> dict[str, str]:
    """What the tile said that was tapped: its style or poll book, chosen by that tap."""
    field = task.step.field(task.step.tiles) if task.step.tiles else None
    said = request.args.get(field.name, "") if field else ""
    return {field.name: said} if field and said in dict(room().choices(task, field)) else {}


@page.post("/note/<kind>")
def keep(kind: str) -> ResponseReturnValue:
    step = room().notes.step(kind) or abort(404)
    places = room().notes.ats(step)
    return keep_at(kind, places[0]) if len(places) == 1 else make_response(where(kind), 422)


@page.post("/note/<kind>/<at>")
def keep_at(kind: str, at: str) -> ResponseReturnValue:
    """One note. What is signed by one is kept at once; what two sign waits for the second."""
    task = room().notes.task(kind, at) or abort(404)
    if task.step.form == "tally":
        return tap(task)
    claims, mistakes = read((task,), request.form)
    if not mistakes:
        marks = mark_claims(standing((task,), request.form), request.form)
        outcome = signing.sign(Draft(tuple(marks + claims), task.step.signs, "/note"), request.form)
        mistakes = outcome.mistakes
        if on := signing.where_next(outcome, lambda kept: f"/note?kept={kept[-1].number}"):
            return on
    drafts.put_aside(action(task), (kind,), rough((task,)), request.form)
    return show((task,), request.form, mistakes, action(task)), 422


def action(task: Task) -> str:
    return f"/note/{task.step.id}" + (f"/{task.at}" if task.at else "")


def tap(task: Task) -> ResponseReturnValue:
    """One ballot handed back by the tabulator: a tally of the hour, with no minute and no entry of its own."""
    here = room()
    said = here.read_form(task, request.form, "", g.now)
    mistakes = dict(said.mistakes)
    if not mistakes and (barred := signing.barred_holder()):
        mistakes = {"holder": barred}
    if not mistakes:
        change = here.gate.tallies.untap if request.form.get("less") else here.gate.tallies.tap
        hour = shown_hour(request.form) if request.form.get("less") else full_hour(g.now)
        try:
            change(said.body["message"], said.body["outcome"], hour, claim_id(request.form))
            told = f"?tapped={said.body['message']}/{said.body['outcome']}&tap={request.form['entry_id']}"
            return redirect("/note/handed-back" + ("" if request.form.get("less") else told), 303)
        except GateRefused as refused:
            mistakes = {"": str(refused)}
    return sheet(task, mistakes), 422


def shown_hour(form: Mapping[str, str]) -> int:
    """The hour (ms UTC) of the sheet on which a tap is taken back: another one may have begun since it was opened."""
    text = form.get("hour", "")
    return full_hour(int(text)) if text.isascii() and text.isdigit() and len(text) < 15 else full_hour(g.now)


def sheet(task: Task, mistakes: Mapping[str, str] | None = None) -> str:
    """The hour's sheet, with an id for the next tap."""
    here = room()
    beside = (
        following(claim_id({"entry_id": request.args["tap"]}), "note") if "tap" in request.args else here.new_id().hex()
    )
    return render_template(
        "place/handed_back.html",
        task=task,
        cells=here.taps.cells(g.now),
        taps=here.taps.of_hour(g.now),
        tapped=here.taps.tapped(request.args.get("tapped", "")),
        beside=beside,
        noted=here.ledger.find(bytes.fromhex(beside)),
        hour=full_hour(g.now),
        mistakes=mistakes,
        values=fresh_ids((task,)),
        holds=holds((task,)),
    )


@page.post("/note/back/<int:number>")
def take_back(number: int) -> ResponseReturnValue:
    """Within a minute of being kept, by the tablet and the holder that kept it."""
    here = room()
    found = here.day.entry(number) or abort(404)
    if why := here.notes.not_back(found):
        abort(409, why)
    here.keep([Claim(here.new_id(), "taken-back", {"of": number}, g.now, g.session.tablet, 0)], holder=g.session.holder)
    return redirect("/note", 303)
