"""One tape compared: the figures that differ, what they are consistent with, which ballots to feed alone; signed by two parties, equal or not."""

from collections.abc import Mapping

from flask import Blueprint, abort, current_app, g, redirect, render_template, request
from flask.typing import ResponseReturnValue

from webapp.deck import comparison, diagnosis
from webapp.pages.deck.deck_site import DeckSite
from webapp.pages.deck.tapes_page import chart
from webapp.pages.shared import drafts, signing
from webapp.pages.shared.awaiting import Draft
from webapp.pages.shared.claim_form import fresh_ids, read
from webapp.precinct.checklist import checklist
from webapp.precinct.checklist.checklist import Task

page = Blueprint("compared", __name__)


def room() -> DeckSite:
    return current_app.extensions["room"]


def task_at(at: str) -> Task:
    return room().task(f"compared:{at}", g.now) or abort(404)


@page.get("/compared/<at>")
def compared(at: str) -> ResponseReturnValue:
    task = task_at(at)
    if task.state == "done":
        return redirect(f"/tapes/{at}", 303)
    if why := checklist.why_not(task):
        return render_template("shared/later.html", task=task, why=why)
    return show(task, drafts.opened(f"/compared/{at}", fresh_ids((task,))))


def show(task: Task, values: Mapping[str, str], mistakes: Mapping[str, str] | None = None) -> str:
    here = room()
    found = here.round.compared(task.at)
    if found is None:
        abort(409, f"The tape of {task.at} is not typed in this round. Type it first.")
    explained = diagnosis.explain(here.deck, found)
    plan = here.deck.plan
    return render_template(
        "deck/compared.html",
        task=task,
        found=found,
        seen=fingerprint(found),
        differ=[(comparison.in_words(plan, one.cell), one) for one in found.differ],
        missing=[comparison.in_words(plan, cell) for cell in found.missing],
        sums=list(comparison.own_sums(plan, found)),
        causes=[(one, one.as_json(plan)) for one in explained],
        feed=diagnosis.rows_to_feed(here.deck, explained),
        sections=list(chart(here.deck, found)),
        typed=here.round.last("tape-typed", task.at),
        values=values,
        mistakes=mistakes or {},
        people=signing.candidates(task.step.signs),
    )


def fingerprint(found: comparison.Comparison) -> str:
    """A short name of the figures that the page shows: the form is taken for these alone."""
    return f"{len(found.compared)}-{sum(one.typed * (i + 1) for i, one in enumerate(found.differ))}-{len(found.differ)}"


@page.post("/compared/<at>")
def keep(at: str) -> ResponseReturnValue:
    """Signed by both: that all agrees, or what was found and what is done."""
    task, form = task_at(at), request.form
    here = room()
    found = here.round.compared(at)
    claims, mistakes = read((task,), form)
    if why := checklist.why_not(task):
        mistakes = {"": why} | mistakes
    elif found is not None and form.get("seen") != fingerprint(found):
        mistakes = {"": "Other figures are typed now than this page showed. Read them again, then sign."} | mistakes
    elif found is not None and found.equal and not found.missing and form.get("not_so"):
        mistakes = {"not_so": "Every figure is as expected: there is nothing that is not so. Take the tick out."}
    if not mistakes:
        outcome = signing.sign(Draft(tuple(claims), task.step.signs, f"/steps/{task.step.list}"), form)
        mistakes = dict(outcome.mistakes)
        if on := signing.where_next(outcome, lambda kept: here.after((task,), kept)):
            return on
    drafts.put_aside(f"/compared/{at}", [task.step.id], False, form)
    return show(task, form, mistakes), 422
