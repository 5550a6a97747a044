"""Make batches: up to ten of one tray on one page, a row each, signed once by two. If the same table unfolds the tray, that is above the rows and signed with them."""

from collections.abc import Mapping
from typing import Any
from urllib.parse import urlencode

from flask import Blueprint, abort, current_app, g, render_template, request
from flask.typing import ResponseReturnValue

from webapp.board.batch_ids import next_batch
from webapp.pages.board.board_site import BoardSite
from webapp.pages.shared import drafts, signing
from webapp.pages.shared.awaiting import Draft
from webapp.pages.shared.claim_form import claim, fresh_ids, stated
from webapp.precinct.place.step import Task
from webapp.record.entry import Claim

page = Blueprint("making", __name__)
ROWS = 10
FIGURES = ("envelopes", "empty", "extra", "ballots")
UNFOLD = "unfold/"  # how the names of the controls about the tray begin
UNFOLDED = ("ballots", "extra", "damaged", "not_so", "found", "done")


def room() -> BoardSite:
    return current_app.extensions["room"]


def task() -> Task:
    """The note of a batch made."""
    return room().notes.task("batch-made", "") or abort(404)


def row(number: int) -> str:
    """How the names of a row's controls begin."""
    return f"row{number}/"


@page.get("/batches/make")
def make() -> str:
    return show(drafts.opened(path(asked()), fresh(asked())), {}, asked())


def path(about: Mapping[str, str]) -> str:
    """The address of this page for its tray, precinct and kind: a draft of one tray never shows on the page of another."""
    told = {name: value for name, value in about.items() if value and (name, value) != ("kind", "first")}
    return "/batches/make" + (f"?{urlencode(told)}" if told else "")


def asked() -> dict[str, str]:
    """The tray and the precinct that the link speaks of; the precinct by itself where the tray has one."""
    here = room()
    tray = here.board.trays.get(request.values.get("tray", "").strip().upper())
    precincts = [p.id for p in here.place.precincts]
    precinct = tray.precincts[0] if tray and len(tray.precincts) == 1 else request.values.get("precinct", "")
    kind = request.values.get("kind", "first")
    return {
        "tray": tray.id if tray else "",
        "precinct": precinct if precinct in precincts else precincts[0] if len(precincts) == 1 else "",
        "kind": kind if kind in ("first", "duplicates", "again") else "first",
    }


def fresh(about: dict[str, str]) -> dict[str, str]:
    """Ids for ten entries, and the ids of the next ten header sheets: a table whose pile begins elsewhere writes its own."""
    here = room()
    found: dict[str, str] = {}
    new = here.next_batch(about["kind"])
    for number in range(1, ROWS + 1):
        found |= {row(number) + name: value for name, value in fresh_ids((task(),)).items()}
        found[row(number) + "batch"] = new
        new = next_batch(about["kind"], [new], here.day.run or 1)
    if unfolds(about):
        found |= {UNFOLD + name: value for name, value in fresh_ids((unfold_task(),)).items()}
    return found


def unfold_task() -> Task:
    """The note of a tray unfolded."""
    return room().notes.task("unfold", "") or abort(404)


def unfolds(about: Mapping[str, str]) -> bool:
    """Whether the tray of this page is open and nobody has unfolded it."""
    tray = room().board.trays.get(about["tray"])
    return about["kind"] == "first" and tray is not None and tray.ballots is None


def unfolded(form: Mapping[str, str], about: Mapping[str, str]) -> tuple[list[Claim], dict[str, str]]:
    """(the claim of the tray unfolded, what to correct in it); nothing where that part of the page is left empty."""
    if not form.get(UNFOLD + "entry_id") or not any(form.get(UNFOLD + name, "").strip() for name in UNFOLDED):
        return [], {}
    own = {name[len(UNFOLD) :]: value for name, value in form.items() if name.startswith(UNFOLD)}
    said = room().read_form(unfold_task(), own | {"tray": about["tray"]}, "", g.now)
    where = {"": "ballots", "tray": "not_so"}
    mistakes = {UNFOLD + where.get(name, name): sentence for name, sentence in said.mistakes.items()}
    made = claim("unfold", dict(said.body), stated(said), own, said.words)
    return [made], {} if room().ledger.find(made.id) else mistakes


@page.post("/batches/make")
def keep() -> ResponseReturnValue:
    """Rows with ballots become entries, all recorded or none; those that are in the record already, since the page is sent again, are not held against it."""
    here, form, about = room(), request.form, asked()
    claims, mistakes = unfolded(form, about)
    filled = [n for n in range(1, ROWS + 1) if any(form.get(row(n) + name, "").strip() for name in FIGURES)]
    if not filled:
        mistakes[row(1) + "ballots"] = "Enter the ballots of at least one batch, in digits."
    for number in filled:
        own = {name[len(row(number)) :]: value for name, value in form.items() if name.startswith(row(number))}
        own |= {"kind": about["kind"]}
        if about["precinct"]:
            own[f"precincts.{about['precinct']}"] = (own.get("ballots", "").split() or [""])[-1]
        said = here.read_form(task(), own, "", g.now)
        claims.append(claim("batch-made", dict(said.body), None, own, said.words))
        if here.ledger.find(claims[-1].id):
            continue
        where = {f"precincts.{about['precinct']}": "ballots", "": "batch"}
        for name, sentence in said.mistakes.items():
            mistakes.setdefault(row(number) + where.get(name, name), f"Row {number}: {sentence}")
        if about["kind"] == "first" and "envelopes" not in said.body and about["tray"]:
            mistakes.setdefault(
                row(number) + "envelopes", f"Row {number}: Enter the envelopes of this batch in digits."
            )
    if not mistakes:
        outcome = signing.sign(Draft(tuple(claims), "2", "/batches"), form, path(about))
        mistakes = dict(outcome.mistakes)
        if on := signing.where_next(outcome, "/batches"):
            return on
    drafts.put_aside(path(about), ("batch-made",), False, form)
    return show(form, mistakes, about), 422


def show(values: Mapping[str, Any], mistakes: Mapping[str, str], about: Mapping[str, str]) -> str:
    here = room()
    return render_template(
        "board/make.html",
        values=values,
        mistakes=mistakes,
        about=about,
        path=path(about),
        unfold=unfold_task() if unfolds(about) or values.get(UNFOLD + "entry_id") else None,
        rows=range(1, ROWS + 1),
        row=row,
        precincts=[(p.id, p.name) for p in here.place.precincts],
        tray=here.board.trays.get(about["tray"]),
        size=here.board.rules.batch,
        join=here.own.join,
        task=task(),
        people=signing.candidates("2"),
    )
