"""The balance: the first look after the blind counts, each line with both figures, the remark for those that are off."""

from flask import Blueprint, abort, current_app, g, redirect, render_template, request

from webapp.pages import hands
from webapp.pages.drafts import Draft
from webapp.pages.steps import claim, fresh_ids
from webapp.precinct import checklist
from webapp.precinct.day import line_name

page = Blueprint("balance", __name__)


def room():
    return current_app.extensions["room"]


def task(name: str):
    return next((t for t in room().tasks(g.now) if t.step.id == name), None)


@page.get("/balance")
def balance():
    return show({}, {})


def show(values, mistakes):
    """Every line; what is to be signed here now: the first look, or a remark."""
    here = room()
    if here.day.folded_away or here.day.closed is None:
        return render_template("balance_closed.html", wanted=here.day.blind_wanted() if here.day.closed else ())
    first, remark = task("first-look"), task("remark")
    todo = first if first and first.state in ("open", "next", "overdue") else remark if remark and remark.state in ("open", "next", "overdue") else None
    return render_template("balance.html", balance=here.day.explained, impossible=here.day.impossible, todo=todo, unremarked=here.day.unremarked, remarks=here.day.remarks, line_name=line_name,
                           values=values or (fresh_ids((todo,)) if todo else {}), mistakes=mistakes, people=hands.candidates("P"))


@page.post("/balance/look")
def look():
    """Both have read every line: the gaps as they stand go with it."""
    here, form, step = room(), request.form, task("first-look") or abort(404)
    if step.state not in ("open", "next", "overdue"):
        return redirect("/balance", 303)
    said = here.read_form(step, form)
    mistakes = dict(said.mistakes)
    if not mistakes:
        body = {**said.body, "gaps": {line_name(line): line.gap for line in here.day.balance.lines}}
        return signed(claim("first-look", body, said.happened, form, said.words), form)
    return show(form, mistakes), 422


@page.post("/balance/remark")
def remark():
    """One remark for the lines that were chosen, with the gap each has now; with no gap at all, both sign that every line agrees."""
    here, form, step = room(), request.form, task("remark") or abort(404)
    if here.day.folded_away or step.state in ("later", "shut", "missed"):
        abort(409, checklist.why_not(step) or "The balance opens when the closing counts are signed: count first, then look.")
    gaps = {line_name(line): line.gap for line in here.day.balance.gaps}
    lines = [name for name in request.form.getlist("lines") if name in gaps]
    mistakes = {}
    if gaps and not lines:
        mistakes["lines"] = "Tick the lines that this remark speaks of."
    if gaps and not form.get("remark", "").strip():
        mistakes["remark"] = "Enter what you know of it. If no cause is known, write: cause unknown."
    if not mistakes:
        body = {"lines": lines, "gaps": [gaps[name] for name in lines]}
        return signed(claim("remark", body, g.now, form, {"remark": form.get("remark", "").strip()} if lines else {}), form)
    return show(form, mistakes), 422


def signed(made, form):
    outcome = hands.sign(Draft((made,), "P", "/balance"), form)
    if outcome.waiting:
        return redirect(f"/sign/{outcome.waiting}", 303)
    return show(form, outcome.mistakes), 422
