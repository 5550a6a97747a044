"""The checklists, and one step or one page of steps: shown, filled in, signed."""

from collections.abc import Mapping, Sequence
from typing import Any

from flask import Blueprint, abort, current_app, g, redirect, render_template, request
from flask.typing import ResponseReturnValue

from webapp.pages.shared import drafts, signing
from webapp.pages.shared.awaiting import Draft
from webapp.pages.shared.check_word_fields import mark_claims
from webapp.pages.shared.claim_form import fresh_ids, prefix, read, sent, standing, together
from webapp.pages.shared.step_form import blind, rough, show
from webapp.precinct.checklist import checklist, form_reader
from webapp.precinct.checklist.checklist import Task

page = Blueprint("steps", __name__)
SPECIAL = {
    "oath": "/people",
    "tape": "/tape/{at}",
    "first-look": "/balance",
    "balance": "/balance",
    "packet": "/packet",
    "compared": "/compared/{at}",
}

KEYED = ("tape", "compared")  # kept by their own pages alone: two keyings, each blind; the figures that the page showed


def room() -> Any:  # what a shared page takes of it lies in the site of its folder
    return current_app.extensions["room"]


@page.get("/steps")
@page.get("/steps/<name>")
def steps(name: str = "") -> str:
    """One checklist: what is done, what is next, what opens later and when."""
    tasks = room().tasks(g.now)
    lists = room().lists(tasks)
    if not name:
        name = next((t.step.list for t in tasks if t.state in ("open", "next", "overdue")), tasks[-1].step.list)
    if name not in [item.id for item in lists]:
        abort(404)
    return render_template("shared/steps.html", lists=lists, name=name, tasks=[t for t in tasks if t.step.list == name])


@page.get("/step/<key>")
def step(key: str) -> ResponseReturnValue:
    task = room().task(key, g.now) or abort(404)
    tasks = together(task)
    special = next((t.step.form for t in tasks if t.step.form in SPECIAL), None)
    if special and (special != "tape" or task.state != "done"):
        return redirect(SPECIAL[special].format(at=task.at), 303)
    if why := checklist.why_not(task):
        return render_template("shared/later.html", task=task, why=why)
    return show(tasks, drafts.opened(f"/step/{tasks[0].key}", fresh_ids(tasks)))


@page.post("/step/<key>")
def keep_step(key: str, action: str = "") -> ResponseReturnValue:
    """What the form says becomes claims; one signature is kept, several wait for each other. `action`: the page's address, where it is another."""
    task = room().task(key, g.now) or abort(404)
    tasks = sent(task, request.form)
    if only_there := next((t.step.form for t in tasks if t.step.form in KEYED), ""):
        return redirect(SPECIAL[only_there].format(at=task.at), 303)
    form, path = request.form, action or f"/step/{tasks[0].key}"
    claims, mistakes = read(tasks, form)
    refused = next(filter(None, (checklist.why_not(t) for t in tasks if t.state in ("later", "shut", "missed"))), "")
    if refused:
        mistakes = {"": refused} | mistakes
    mistakes |= named_missing(tasks, form)
    if not mistakes:
        draft = Draft(
            tuple(mark_claims(standing(tasks, form), form) + claims),
            tasks[0].step.signs,
            f"/steps/{tasks[0].step.list}",
        )
        outcome = signing.sign(draft, form, path)
        mistakes = outcome.mistakes
        if on := signing.where_next(outcome, lambda kept: room().after(tasks, kept)):
            return on
    if not blind(tasks):
        drafts.put_aside(path, [t.step.id for t in tasks], rough(tasks), form)
    return show(tasks, form, mistakes, action), 422


def named_missing(tasks: Sequence[Task], form: Mapping[str, str]) -> dict[str, str]:
    """Polls that open at their hour although steps above lack a signature: that is an exception, and says which."""
    found = {}
    for task in tasks:
        name = prefix(tasks, task) + "not_so"
        if task.missing and not form_reader.is_exception(task.step, form, prefix(tasks, task)):
            found[name] = (
                f"Not signed yet: {', '.join(room().key_words(key) for key in task.missing)}. Sign these first; or, since it is time, "
                "write under “Something is missing or wrong” what is missing and what was done."
            )
    return found
