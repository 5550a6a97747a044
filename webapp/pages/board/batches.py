"""Batches: what stops, what waits, what was fed last; one batch with its figures, its bracket, its ballots set aside; its second count and its remark."""

from collections.abc import Mapping, Sequence
from typing import Any

from flask import Blueprint, abort, current_app, g, redirect, render_template, request
from flask.typing import ResponseReturnValue

from webapp.board.batch_explain import open_batches
from webapp.board.batch_ids import NotThisSheet, batch_of
from webapp.board.stops import batch_stops, tabulator_stops
from webapp.pages.board.batch_view import BatchView, listed, view
from webapp.pages.board.board_site import BoardSite
from webapp.pages.place import counting_again
from webapp.pages.shared import claim_form, drafts, signing
from webapp.pages.shared.awaiting import Draft
from webapp.pages.shared.claim_form import claim, fresh, fresh_ids
from webapp.precinct.balance.balance import Balance
from webapp.precinct.balance.explanation import ConsistentWith
from webapp.precinct.balance.line import Line
from webapp.precinct.checklist import second_counts
from webapp.precinct.checklist.form_input import LONGEST
from webapp.precinct.place import plain_words
from webapp.precinct.place.step import Step

page = Blueprint("batches", __name__)


def room() -> BoardSite:
    return current_app.extensions["room"]


@page.get("/batches")
def batches() -> str:
    """Those that stop first, then those that wait, then the last ones of each tabulator; never all of them."""
    at, only, table = (request.args.get(name, "") for name in ("at", "open", "table"))
    here = room()
    tables = here.day.sheet.tables
    among = {id for id, there in tables.items() if there == table} if table else None
    return render_template(
        "board/batches.html",
        found=listed(here.board, at, bool(only), among),
        table=table,
        tables=sorted(set(filter(None, tables.values()))),
        at=at,
        only=only,
        tabulators=[t.id for t in here.place.tabulators],
        stops=[says for t in here.place.tabulators if (says := tabulator_stops(here.board, t.id))],
        missing="",
    )


@page.get("/batches/find")
def find() -> ResponseReturnValue:
    """The batch whose header sheet was scanned, or whose id was typed."""
    here, text = room(), request.args.get("code", "").strip()
    try:
        id = batch_of(text, here.place.id) if ":" in text else text.upper()
    except NotThisSheet as other:
        return refused(str(other)), 422
    if id not in here.board.batches:
        return refused(
            f"{id or 'This id'} is not a batch of this board yet: no table has made it. Read the header sheet again."
        ), 404
    return redirect(f"/batches/{id}", 303)


def refused(sentence: str) -> str:
    here = room()
    return render_template(
        "board/batches.html",
        found=listed(here.board),
        table="",
        tables=(),
        at="",
        only="",
        tabulators=[t.id for t in here.place.tabulators],
        stops=[],
        missing=sentence,
    )


def wanted(id: str) -> BatchView:
    return view(room().board, id) or abort(404)


@page.get("/batches/<id>")
def batch(id: str) -> str:
    return show(wanted(id), drafts.opened(f"/batches/{id}", fresh_ids((room().task_of(remark_step(), ""),))), {})


def remark_step() -> Step:
    return next(task.step for task in room().tasks(g.now) if task.step.id == "remark")


def show(found: BatchView, values: Mapping[str, Any], mistakes: Mapping[str, str]) -> str:
    here, id = room(), found.batch.id
    sheet = here.day.sheet
    own = here.day.around(id) if found.open else None
    lines = of_batch(own, id) if own else []
    return render_template(
        "board/batch.html",
        one=found,
        stop=batch_stops(here.board, found.batch) if found.batch.fed is None else "",
        made=sheet.made.get(id),
        table=sheet.tables.get(id, ""),
        fed=sheet.fed.get(id),
        lines=lines,
        looked=claim_form.mark(off_now(found, lines)),
        unremarked=here.day.without_remark(lines) or (found.batch.again and f"batch:{id}" not in here.board.remarked),
        explained=explained(own, id) if own and lines else (),
        remarks=[
            k
            for k in here.day.remarks
            if any(line.partition("@")[0].partition(":")[2] == id for line in k.body.get("lines", ()))
        ],
        tabulators=[t.id for t in here.place.tabulators if t.id not in here.board.out],
        values=values,
        mistakes=mistakes,
        people=signing.candidates("P"),
    )


def of_batch(own: Balance, id: str) -> list[Line]:
    """The rows of this batch that are off."""
    return [line for line in own.gaps if line.id.partition(":")[2] == id]


def off_now(found: BatchView, lines: Sequence[Line]) -> list[tuple[str, int]]:
    """(line, gap) of each row of this batch that is off; of one that was fed twice and is off in none the batch itself."""
    return [(line.name, line.gap) for line in lines] or ([(f"batch:{found.batch.id}", 0)] if found.batch.again else [])


def explained(own: Balance, id: str) -> Sequence[ConsistentWith]:
    """What the open rows of this batch's group are consistent with."""
    groups = open_batches(own.board.batches or (), own.lines) if own.board else ()
    return next((group.explanations for group in groups if id in group.ids), ())


@page.post("/batches/<id>/remark")
def remark(id: str) -> ResponseReturnValue:
    """Two of different parties say what they know of the rows of this batch that are off; "cause unknown" is an answer. Then the batch or its tabulator goes on."""
    here, form, found = room(), request.form, wanted(id)
    lines = of_batch(here.day.around(id), id)
    words, mistakes = form.get("remark", "").strip(), {}
    names = off_now(found, lines)
    if names and not claim_form.showed(form, names):
        mistakes[""] = claim_form.SINCE
    if not names:
        mistakes[""] = f"Every row of {id} agrees now: there is nothing to remark."
    elif not words:
        mistakes["remark"] = "Enter what you know of it. If no cause is known, write: cause unknown."
    elif wrong := plain_words.mistake(words, LONGEST):
        mistakes["remark"] = wrong
    if not mistakes:
        body = {"lines": [name for name, _ in names], "gaps": [gap for _, gap in names]}
        made = claim("remark", body, None, form, {"remark": words})
        outcome = signing.sign(Draft((made,), "P", f"/batches/{id}"), form, f"/batches/{id}")
        if on := signing.where_next(outcome, f"/batches/{id}"):
            return on
        mistakes = dict(outcome.mistakes)
    return show(found, form, mistakes), 422


# --- the ballots of a batch, counted again


@page.get("/batches/<id>/again")
def again(id: str) -> str:
    return show_again(id, count_of(id), {}, {})


@page.post("/batches/<id>/again")
def keep_again(id: str) -> ResponseReturnValue:
    """What another pair counted, without the first figure in sight; the first to sign must not have signed a count of it before."""
    count, form = count_of(id), request.form
    n, mistakes = counting_again.read(count, form, "2", id)
    if not mistakes:
        made = claim("counted-again", {"of": count.of, "field": count.field, "n": n}, None, form, {})
        outcome = signing.sign(Draft((made,), "2", f"/batches/{id}"), form)
        if on := signing.where_next(outcome, f"/batches/{id}"):
            return on
        mistakes = dict(outcome.mistakes)
    return show_again(id, count, form, mistakes), 422


def count_of(id: str) -> second_counts.SecondCount:
    here = room()
    made = here.day.sheet.made.get(id) or abort(404)
    return second_counts.find(made, "ballots", "", here.place, here.day) or abort(404)


def show_again(
    id: str, count: second_counts.SecondCount, values: Mapping[str, Any], mistakes: Mapping[str, str]
) -> str:
    return render_template(
        "board/batch_again.html",
        id=id,
        count=count,
        alone=counting_again.only_they(count, "2"),
        people=counting_again.people(count, "2"),
        mistakes=mistakes,
        values=values or fresh(),
    )
