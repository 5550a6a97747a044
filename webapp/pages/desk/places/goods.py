"""Three pages of one place's goods, each signed once by two parties: what is on the table, the tapes, the receipt. The kinds of entry stay those of the single steps."""

from flask import Blueprint, abort, current_app, g, redirect, render_template, request
from flask.typing import ResponseReturnValue
from werkzeug.datastructures import MultiDict

from webapp.pages.desk.places.goods_pages import PAGES, GoodsPage, named, tasks_of, waits
from webapp.pages.desk.shared.named_place import known
from webapp.pages.desk.site.office_site import OfficeSite
from webapp.pages.shared import signing
from webapp.pages.shared.awaiting import Draft
from webapp.pages.shared.claim_form import claim, fresh_ids, prefix, stated
from webapp.pages.shared.step_form import show
from webapp.precinct.checklist.checklist import Task
from webapp.record.entry import Claim

page = Blueprint("goods", __name__)


def room() -> OfficeSite:
    return current_app.extensions["room"]


def page_or_404(name: str) -> GoodsPage:
    return next((one for one in PAGES if one.name == name), None) or abort(404)


@page.get("/place/<place>/goods", defaults={"name": "goods"})
@page.get("/place/<place>/tapes", defaults={"name": "tapes"})
@page.get("/place/<place>/handed-over", defaults={"name": "handed-over"})
def together(place: str, name: str) -> ResponseReturnValue:
    """Every step of this page that is not done, as one form."""
    known(place)
    one = page_or_404(name)
    tasks = tasks_of(place, one)
    if not tasks:
        return redirect(f"/place/{place}", 303)
    if closed := waits(place, one):
        return render_template("shared/told.html", heading=f"{one.words}: not due yet", sentence=closed)
    return show(tasks, fresh_ids(tasks), action=f"/place/{place}/{name}")


@page.post("/place/<place>/goods", defaults={"name": "goods"})
@page.post("/place/<place>/tapes", defaults={"name": "tapes"})
@page.post("/place/<place>/handed-over", defaults={"name": "handed-over"})
def keep(place: str, name: str) -> ResponseReturnValue:
    """One entry a step, all signed once by two people of two parties; a mistake in one keeps none of them."""
    known(place)
    one, form = page_or_404(name), request.form
    tasks = named(place, one, form) or tasks_of(place, one)
    if not tasks:
        return redirect(f"/place/{place}", 303)
    claims, mistakes = read(place, tasks, form)
    if told := next((told for claim in claims if (told := room().other_desks.done_already(claim))), ""):
        return show_rest(tasks, form, told, f"/place/{place}/{name}"), 422
    if closed := waits(place, one):
        mistakes = {"": closed} | mistakes
    if not mistakes:
        outcome = signing.sign(Draft(tuple(claims), "P", f"/place/{place}"), form)
        mistakes = dict(outcome.mistakes)
        if on := signing.where_next(outcome, f"/place/{place}"):
            return on
    return show(tasks, form, mistakes, f"/place/{place}/{name}"), 422


def show_rest(tasks: tuple[Task, ...], form: MultiDict[str, str], told: str, action: str) -> str:
    """What is left of a page of which another desk has signed a part, as it was typed; all of it where nothing is left."""
    left = tuple(task for task in tasks if task.state != "done") or tasks
    before, now = prefix(tasks, left[0]), prefix(left, left[0])
    values = {
        now + name.removeprefix(before) if name.startswith(before) else name: value for name, value in form.items()
    }
    return show(left, values, {"": told}, action)


def read(place: str, tasks: tuple[Task, ...], form: MultiDict[str, str]) -> tuple[list[Claim], dict[str, str]]:
    """Claims of these steps out of one form, and every mistake by input name."""
    claims, mistakes = [], dict[str, str]()
    for task in tasks:
        before = prefix(tasks, task)
        own = {name[len(before) :]: value for name, value in form.items() if name.startswith(before)}
        said = room().read_form(task, form, before, g.now)
        claims.append(claim(task.step.id, {**said.body, "place": place}, stated(said), own, said.words))
        mistakes |= {} if room().ledger.find(claims[-1].id) else said.mistakes
    return claims, mistakes
