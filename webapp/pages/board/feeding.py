"""Feed: one page a tabulator, where the pair reads the counter, feeds a batch and reads it again. It opens on the next batch when both have signed."""

from collections.abc import Mapping
from typing import Any

from flask import Blueprint, abort, current_app, g, redirect, render_template, request
from flask.typing import ResponseReturnValue

from webapp.board.stops import stopping, tabulator_stops
from webapp.pages.board.batch_view import view
from webapp.pages.board.board_site import BoardSite
from webapp.pages.board.board_state import last_on
from webapp.pages.shared import drafts, signing
from webapp.pages.shared.awaiting import Draft
from webapp.pages.shared.claim_form import fresh_ids, read
from webapp.precinct.place.step import Task

page = Blueprint("feeding", __name__)

VOUCH = ("header_cards", "header_back", "end_reached")
"""What the pair says of the batch that it has just fed: when the page is opened again, perhaps for another batch, nobody has said it yet."""


def room() -> BoardSite:
    return current_app.extensions["room"]


@page.get("/feed")
def which() -> ResponseReturnValue:
    """Which tabulator; straight there where the board has one."""
    here = room()
    ats = [t.id for t in here.place.tabulators]
    if len(ats) == 1:
        return redirect(f"/feed/{ats[0]}", 303)
    rows = [(at, here.board.out.get(at), last_on(here.board, at), tabulator_stops(here.board, at)) for at in ats]
    return render_template("board/feed_where.html", rows=rows)


def task(at: str) -> Task:
    return room().notes.task("batch-fed", at) or abort(404)


@page.get("/feed/<at>")
def feed(at: str) -> str:
    named = {"batch": request.args["batch"]} if request.args.get("batch") else {}
    left = drafts.opened(f"/feed/{at}", fresh_ids((task(at),)) | named)
    return show(at, {name: value for name, value in left.items() if name.partition(".")[0] not in VOUCH}, {})


@page.post("/feed/<at>")
def keep(at: str) -> ResponseReturnValue:
    """The form of a batch fed; what does not agree is said here, before anybody signs."""
    one, form = task(at), request.form
    claims, mistakes = read((one,), form)
    if not mistakes:
        outcome = signing.sign(Draft(tuple(claims), one.step.signs, f"/feed/{at}"), form, f"/feed/{at}")
        mistakes = dict(outcome.mistakes)
        if on := signing.where_next(outcome, f"/feed/{at}"):
            return on
    drafts.put_aside(f"/feed/{at}", ("batch-fed",), False, form)
    return show(at, form, mistakes), 422


def show(at: str, values: Mapping[str, Any], mistakes: Mapping[str, str]) -> str:
    here = room()
    last = view(here.board, last_on(here.board, at))
    waiting = [batch for batch in here.board.batches.values() if batch.fed is None]
    return render_template(
        "board/feed.html",
        at=at,
        task=task(at),
        values=values,
        mistakes=mistakes,
        last=last,
        stop=tabulator_stops(here.board, at),
        stopping=stopping(here.board, at),
        out=here.board.out.get(at),
        barred=here.board.rules.hours.barred("batch-fed", here.wall_now()),
        waiting=waiting[:12],
        more=max(len(waiting) - 12, 0),
        people=signing.candidates("2"),
        now=g.now,
    )
