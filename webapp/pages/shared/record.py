"""The record to be read: every entry in its order, one entry with what corrected it, and the correction of one."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from flask import Blueprint, abort, current_app, g, render_template, request
from flask.typing import ResponseReturnValue
from werkzeug.datastructures import MultiDict

from webapp.pages.shared import drafts, signing
from webapp.pages.shared.awaiting import Draft
from webapp.pages.shared.claim_form import claim, claim_id, fresh
from webapp.precinct.checklist.form_input import LONGEST
from webapp.precinct.checklist.form_values import typed
from webapp.precinct.day.current_entry import CurrentEntry
from webapp.precinct.place import plain_words
from webapp.precinct.place.step import Read, Step
from webapp.record.entry import Claim

page = Blueprint("record", __name__)
A_PAGE = 100
FOLDED = "Notes, tallies and readings are hidden from the close of the polls until the closing counts are signed: count first, then look."


def room() -> Any:  # what a shared page takes of it lies in the site of its folder
    return current_app.extensions["room"]


@page.get("/record")
def record() -> str:
    """Entries, newest first, a hundred a page."""
    here = room()
    last = max((len(here.day.entries) - 1) // A_PAGE, 0)
    wanted = request.args.get("page", "")
    number = min(int(wanted), last) if wanted.isascii() and wanted.isdigit() else 0
    entries = here.day.entries[::-1][number * A_PAGE : (number + 1) * A_PAGE]
    return render_template("shared/record.html", entries=entries, number=number, last=last)


@page.get("/record/<int:number>")
def entry(number: int) -> str:
    here = room()
    found = here.day.entry(number) or abort(404)
    if here.day.hidden(found):
        return render_template("shared/told.html", heading=f"Entry {number} is hidden for now", sentence=FOLDED)
    short = found.short and found.taken_back is None and here.role_of_room == "place"
    return render_template("shared/entry.html", entry=found, step=here.correctable(found), short=short)


@page.get("/record/<int:number>/correct")
def correct(number: int) -> str:
    found = room().day.entry(room().day.root(number)) or abort(404)
    if room().day.hidden(found):
        return render_template("shared/told.html", heading=f"Entry {number} is hidden for now", sentence=FOLDED)
    step = seen(room().correctable(found) or abort(404), found)
    room().correcting(found.number)
    values = fresh() | typed(step, found.body, room().zone, room().hours_on_clock) | dict(found.texts)
    values |= {"not_so": "yes"} if found.not_so else {}
    return show(found, step, drafts.opened(f"/record/{number}/correct", values), {})


@page.post("/record/<int:number>/correct")
def keep_correction(number: int) -> ResponseReturnValue:
    """The whole new body, with the reason; two signers where the first had two. The old figures stay legible, struck through."""
    here, form = room(), request.form
    found = here.day.entry(here.day.root(number)) or abort(404)
    number = found.number
    if here.day.hidden(found):
        abort(409, FOLDED)
    step = seen(here.correctable(found) or abort(404), found)
    here.correcting(number)
    said = here.read_form(here.task_of(step, found.at), form, now=g.now, said=found.kept)
    said = replace(said, body=carried(step, found, said.body))
    mistakes = {} if here.ledger.find(claim_id(form)) else wrong(found, said, form)  # sent again: it stands already
    if not mistakes:
        draft = Draft(
            (correction(number, found, said, form),), step.signs if step.signs != "T" else "1", f"/record/{number}"
        )
        outcome = signing.sign(draft, form)
        mistakes = outcome.mistakes
        if on := signing.where_next(outcome, f"/record/{number}"):
            return on
    drafts.put_aside(f"/record/{number}/correct", (found.kind,), here.ledger.rough(found.kind, {}), form)
    return show(found, step, form, mistakes), 422


def wrong(found: CurrentEntry, said: Read, form: Mapping[str, str]) -> dict[str, str]:
    """What to correct in a correction before anybody signs it, by input name."""
    mistakes = {name: words for name, words in said.mistakes.items() if name.split(".")[0] not in left_alone(found)}
    if not form.get("reason", "").strip():
        mistakes["reason"] = "Enter why the figures change, in a few words. No names of voters, no choices."
    elif unfit := plain_words.mistake(form["reason"].strip(), LONGEST):
        mistakes["reason"] = unfit
    if form.get("stands") != basis_of(found):
        mistakes[""] = (
            "Somebody corrected or counted it again since this page was opened. Look at the entry, correct what is still wrong, then sign."
        )
    if not mistakes and same(found, said):
        mistakes[""] = "Nothing was changed. Change the figure that is wrong, or go back."
    return mistakes


def seen(step: Step, found: CurrentEntry) -> Step:
    """The step without the fields that no correction asks again: check words copied on the day, and fields that are hidden now.

    These stay as they were signed, and no answer reveals whether a figure that is sent for them is right.
    """
    return replace(step, fields=tuple(field for field in step.fields if field.name not in left_alone(found)))


def left_alone(found: CurrentEntry) -> frozenset[str]:
    return room().day.unseen(found) | {"words_copied"}


def carried(step: Step, found: CurrentEntry, new: Mapping[str, Any]) -> dict[str, Any]:
    """The new body with what the form did not ask for as it was: the hour of a reading, the notes it listed,
    worked-out fields (except those that follow from the figures alone), hidden ones."""
    own = {
        "place",
        "hour",
        "notes_to",
        *left_alone(found),
        *(
            field.name
            for field in step.fields
            if field.kind == "worked-out" and field.name not in room().worked_out_again
        ),
    }
    return {k: v for k, v in new.items() if k not in own} | {k: v for k, v in found.body.items() if k in own}


def basis_of(found: CurrentEntry) -> str:
    """What the figures in force come from, as the form carries it: the newest correction and how many counts were made again."""
    return f"{found.corrected_by or found.number}+{len(found.again)}"


def same(found: CurrentEntry, said: Read) -> bool:
    """Whether a form says what the entry already says. A seat that was left empty, and who was notified of it, is no figure."""
    body = {name: value for name, value in found.body.items() if name not in ("words", "short")}
    words = {name: text for name, text in found.texts.items() if name != "told" or not found.short}
    return dict(said.body) == body and said.words == words


def correction(number: int, found: CurrentEntry, said: Read, form: MultiDict[str, str]) -> Claim:
    """The claim: the body of the correction holds the whole new body, its words by digest with the reason's."""
    inner = claim(found.kind, dict(said.body), said.happened, form, said.words)
    words = {**said.words, "reason": form["reason"].strip()}
    return claim("correction", {"of": number, "body": inner.full_body}, None, form, words)


def show(found: CurrentEntry, step: Step, values: Mapping[str, Any], mistakes: Mapping[str, str]) -> str:
    return render_template(
        "shared/correct.html",
        entry=found,
        step=step,
        values=values,
        mistakes=mistakes,
        unseen=room().day.unseen(found),
        stands=basis_of(found),
        task=room().task_of(step, found.at),
        people=signing.candidates(step.signs if step.signs != "T" else "1"),
    )
