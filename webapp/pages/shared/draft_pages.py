"""Where a page half filled in is put aside, opened again, or put away: asked by the script as people type, by a button without it."""

import re
from collections.abc import Sequence
from typing import Any

from flask import Blueprint, Flask, abort, current_app, g, jsonify, redirect, render_template, request
from flask.typing import ResponseReturnValue
from werkzeug.datastructures import MultiDict

from webapp.gate.drafts import PageDraft
from webapp.pages.shared import drafts
from webapp.pages.shared.claim_form import together

page = Blueprint("draft", __name__)
CORRECTION = re.compile(r"/record/(\d{1,9})/correct")
SIGNED = "Not put aside: this page is signed already. For another one, open it again."
NOT_STORED = "This could not be put aside; perhaps it is gone on with on another tablet. Leave the page open."
FOUND = re.compile(r"/look/\d{1,9}/found")  # what two parties found after a reading that asks for a look


def room() -> Any:  # what a shared page takes of it lies in the site of its folder
    return current_app.extensions["room"]


def install(app: Flask) -> None:
    """Gives the templates the list of drafts; it is empty at the office."""
    app.jinja_env.filters.update(draft_words=drafts.words, draft_title=drafts.titles)
    app.jinja_env.globals.update(pages_begun=pages_begun)


def pages_begun() -> list[PageDraft]:
    return drafts.begun() if room().role_of_room == "place" else []


def steps_of(path: str) -> tuple[str, ...]:
    """The steps that a page with drafts speaks of; () for a page that has none, such as every blind one."""
    here, (first, _, rest) = room(), path.removeprefix("/").partition("/")
    if first == "step" and (task := here.task(rest, g.now)):
        found = [t.step for t in together(task)]
        return () if any(step.blind for step in found) else tuple(step.id for step in found)
    if first == "note" and (step := here.notes.step(rest.partition("/")[0])):
        return (step.id,)
    if first == "tape" and "/" not in rest and (task := here.task(f"tape-typed:{rest}", g.now)):
        alone = len(here.people.working()) < 2 or here.rules.keying == "called"
        blind = len(here.day.keyings.open(task.key)) < 2 and not alone
        return () if blind else tuple(t.step.id for t in together(task))
    if (match := CORRECTION.fullmatch(path)) and (found := here.day.entry(here.day.root(int(match[1])))):
        return (found.kind,)
    if kinds := here.signed_at(path):
        return kinds
    if FOUND.fullmatch(path):
        return ("looked",)
    return {"/packet/close": ("packet",), "/balance": ("remark",), "/people/vouch": ("vouched",)}.get(path, ())


@page.post("/draft")
def put_aside() -> ResponseReturnValue:
    """Keeps what the form holds now, as the script sends it; the button Put aside comes here too, and then goes on to Now."""
    path = request.args.get("path", "")
    steps = steps_of(path)
    coarse = any(room().ledger.rough(kind, {}) for kind in steps)
    stored = bool(steps) and drafts.put_aside(path, steps, coarse, timed(request.form))
    if request.args.get("then"):
        return redirect("/now", 303)
    said = "Put aside, not signed" if coarse else f"Put aside at {drafts.clock(g.now)}, not signed"
    over = (
        SIGNED
        if is_signed([value for name, value in request.form.items() if name.endswith("entry_id")])
        else NOT_STORED
    )
    return jsonify(stored=stored, says=said if stored else over)


def timed(form: MultiDict[str, str]) -> MultiDict[str, str]:
    """The form as it came; where its button says when it happened ("Power lost now") and no time is typed, with that time."""
    at = request.args.get("time", "")[:5]
    if not at or form.get("time"):
        return form
    return MultiDict([*((name, value) for name, value in form.items(multi=True) if name != "time"), ("time", at)])


@page.get("/draft/signed")
def signed() -> ResponseReturnValue:
    """Whether the page of these entries (`id`, ...) is signed: then what a tablet put aside of it is over."""
    return jsonify(signed=is_signed(request.args.getlist("id")))


def is_signed(ids: Sequence[str]) -> bool:
    """Whether one of these entries is in the record or waits for a signature."""
    found = [draft for name in ids if (draft := room().gate.drafts.get(name))]
    return any(draft.state == "waits" for draft in found) or any(
        drafts.any_in_record({"entry_id": name}) for name in ids
    )


def wanted(name: str) -> PageDraft:
    """A draft that may be seen now."""
    found = room().gate.drafts.get(name)
    if found is None or found.state == "waits" or drafts.withheld(found):
        abort(404, "Nothing unsigned is here any more: it was signed or put away, or it is hidden for now.")
    return found


@page.get("/draft/<name>")
def look(name: str) -> str:
    """Go on with it on this tablet, or put it away."""
    return render_template("shared/draft.html", draft=wanted(name))


@page.post("/draft/<name>/open")
def go_on(name: str) -> ResponseReturnValue:
    found = wanted(name)
    room().gate.drafts.move(name, g.session.tablet)
    return redirect(f"{found.path}{'&' if '?' in found.path else '?'}draft={name}", 303)


@page.post("/draft/<name>/away")
def put_away(name: str) -> ResponseReturnValue:
    found = wanted(name)
    room().gate.drafts.drop([name])
    return redirect(found.path if request.args.get("anew") else "/now", 303)
