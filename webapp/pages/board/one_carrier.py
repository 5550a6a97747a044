"""A carrier on one page, signed once: received, its envelopes counted, shown empty. Three entries, all recorded or none.

A carrier whose seal is not as it should be is recorded alone: nothing of it is opened, so the rest of the page stays
empty. The figure on its slip is asked below the count: a person who has read it counts to it.
"""

from collections.abc import Mapping

from flask import Blueprint, abort, current_app, g, render_template, request
from flask.typing import ResponseReturnValue

from webapp.pages.board.board_site import BoardSite
from webapp.pages.shared import drafts, signing
from webapp.pages.shared.awaiting import Draft
from webapp.pages.shared.claim_form import claim, fresh_ids, stated
from webapp.precinct.checklist.checklist import Read, Task
from webapp.precinct.checklist.form_reader import is_exception
from webapp.record.entry import Claim

page = Blueprint("one_carrier", __name__)
KINDS = ("carrier-in", "envelopes-counted", "carrier-empty")
PATH, NUMBER, COUNTED = "/trays/carrier", "carrier-in/carrier", "envelopes-counted/not_so"
WEIGHT = "P"  # the heaviest of the three
SLIP = "slip_envelopes"  # of the first entry, and typed after the count


def room() -> BoardSite:
    return current_app.extensions["room"]


def tasks() -> tuple[Task, ...]:
    """The three of them; a board that lacks one of these notes has no such page."""
    return tuple(room().notes.task(kind, "") or abort(404) for kind in KINDS)


@page.get(PATH)
def carrier() -> str:
    asked = {NUMBER: request.args["carrier"]} if request.args.get("carrier") else {}
    return show(drafts.opened(PATH, fresh_ids(tasks()), asked), {})


@page.post(PATH)
def keep() -> ResponseReturnValue:
    """Records the three entries; the carrier's number is asked once for all of them."""
    form = request.form
    claims, mistakes = read(form)
    if not mistakes:
        outcome = signing.sign(Draft(tuple(claims), WEIGHT, "/trays"), form, PATH)
        mistakes = dict(outcome.mistakes)
        if on := signing.where_next(outcome, "/trays"):
            return on
    drafts.put_aside(PATH, KINDS, False, form)
    return show(form, mistakes), 422


def read(form: Mapping[str, str]) -> tuple[list[Claim], dict[str, str]]:
    """(the claims of this page, what to correct, by control)."""
    typed = dict(form) | {f"{kind}/carrier": form.get(NUMBER, "") for kind in KINDS}
    there = tasks()
    alone = is_exception(there[0].step, typed, f"{KINDS[0]}/") and not any(map(form.get, further(form)))
    kept = there[:1] if alone else there
    claims: list[Claim] = []
    mistakes: dict[str, str] = {}
    for task, said in zip(kept, room().read_act(kept, typed, g.now), strict=True):
        claims.append(made(task, said, typed))
        if room().ledger.find(claims[-1].id):
            continue
        for name, sentence in said.mistakes.items():
            mistakes.setdefault(beside(name, form), sentence)
    return claims, mistakes


def further(form: Mapping[str, str]) -> list[str]:
    """The controls of the count and of the empty carrier, where something may have been typed."""
    own = ("entry_id", "salt", "carrier")
    return [
        name
        for name in form
        if name.startswith(tuple(f"{kind}/" for kind in KINDS[1:])) and name.rpartition("/")[2] not in own
    ]


def lines(task: Task) -> tuple[str, ...]:
    """What is done at a part of this page; its slip is read below the count."""
    slip = task.step.id == KINDS[0]
    return tuple(line for line in task.step.do if not (slip and line.startswith("Read the slip")))


def beside(name: str, form: Mapping[str, str]) -> str:
    """The control where a sentence is shown: the number is on the page once; what a count has against its slip is answered by an exception."""
    if name == "envelopes-counted/carrier" and form.get(NUMBER, "").strip():
        return COUNTED
    return NUMBER if name.endswith("/carrier") else name


def made(task: Task, said: Read, typed: Mapping[str, str]) -> Claim:
    before = f"{task.step.id}/"
    own = {name[len(before) :]: value for name, value in typed.items() if name.startswith(before)}
    return claim(task.step.id, dict(said.body), stated(said), own, said.words)


def show(values: Mapping[str, str], mistakes: Mapping[str, str]) -> str:
    return render_template(
        "board/carrier.html",
        tasks=tasks(),
        lines=lines,
        slip=tasks()[0].step.field(SLIP),
        values=values,
        mistakes=mistakes,
        path=PATH,
        weight=WEIGHT,
        people=signing.candidates(WEIGHT),
    )
