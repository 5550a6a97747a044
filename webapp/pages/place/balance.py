"""The balance: the first look after the blind counts, each line with both figures, what it is consistent with, the remark for those that are off.

From a line that is off another pair repeats a hand count, blind: the first count stays, and theirs is recorded with
it.
"""

from collections.abc import Mapping
from typing import Any

from flask import Blueprint, abort, current_app, g, redirect, render_template, request
from flask.typing import ResponseReturnValue
from werkzeug.datastructures import MultiDict

from webapp.pages.place import counting_again
from webapp.pages.place.site.place_site import PlaceSite
from webapp.pages.shared import drafts, signing
from webapp.pages.shared.awaiting import Draft
from webapp.pages.shared.claim_form import SINCE, claim, claim_id, fresh, fresh_ids, marks, showed, stated
from webapp.precinct.balance import summary
from webapp.precinct.balance.summary import OpenLine
from webapp.precinct.checklist import checklist, second_counts
from webapp.precinct.checklist.form_input import LONGEST
from webapp.precinct.place import plain_words
from webapp.precinct.place.step import Task
from webapp.precinct.reports import gap_timing
from webapp.precinct.reports.first_look import FirstLook, first_look, tapes_to_come
from webapp.record.entry import Claim

page = Blueprint("balance", __name__)
OPEN = ("open", "next", "overdue")
BLIND = "The balance opens when the closing counts are signed: count first, then look. Balance lists what is still to be signed."
GONE = "The officials have left: what is counted now is a finding of the office, and is written down there."


def room() -> PlaceSite:
    return current_app.extensions["room"]


def task(name: str) -> Task | None:
    return next((t for t in room().tasks(g.now) if t.step.id == name), None)


@page.get("/balance")
def balance() -> str:
    return show(drafts.opened("/balance", {}), {})


def show(values: Mapping[str, Any], mistakes: Mapping[str, str]) -> str:
    """Every line; what is to be signed here now: the first look, or a remark."""
    here = room()
    if barred():
        return render_template("place/balance_closed.html", wanted=here.day.blind_wanted() if here.day.closed else ())
    first, remark = task("first-look"), task("remark")
    todo = first if first and first.state in OPEN else remark if remark and remark.state in OPEN else None
    looking = todo is not None and todo.step.id == "first-look"
    look = lines_now(looking)
    found, seals = look.balance, [one for one in summary.open_lines(look.balance) if summary.of_seals(one)]
    ballots = [one for one in summary.open_lines(found) if not summary.of_seals(one)]
    return render_template(
        "place/balance.html",
        balance=found,
        off=[*ballots, *seals],
        first=looking,
        looked=marks([gaps_of(look)] if looking else [(line.name, line.gap) for line in here.day.balance.gaps]),
        stands_in=look.stands_in,
        only_seals=all(name.split(":")[0] in ("seals", "seal-stock") for name in here.day.unremarked),
        screen=summary,
        behind=behind,
        may_count=here.day.phase != "done",
        impossible=here.day.impossible,
        todo=todo,
        stretches=gap_timing.stretches(found, here.day),
        unremarked=here.day.without_remark(found.gaps),
        remarks=here.day.remarks,
        ticked=request.form.getlist("lines") or (values.getlist("lines") if isinstance(values, MultiDict) else []),
        values=ids(todo) | {name: values[name] for name in values},
        mistakes=mistakes,
        people=signing.candidates("P"),
    )


def lines_now(looking: bool) -> FirstLook:
    """The lines as the page shows them; `looking`: at the first look, without what a gap may come from."""
    here = room()
    told = here.day.balance if looking else here.day.explained
    return first_look(here.day, told, tapes_to_come(here.tasks(g.now)))


def gaps_of(look: FirstLook) -> tuple[tuple[str, int], ...]:
    """(line, gap) of every line of it."""
    return tuple((line.name, line.gap) for line in look.balance.lines)


def ids(todo: Task | None) -> dict[str, str]:
    """New ids for what is to be signed here now; those that a form brought along are kept."""
    return fresh_ids((todo,)) if todo else {}


def barred() -> bool:
    """Whether the balance is out of sight: before the close, and until the last blind figure is signed."""
    return room().day.folded_away or room().day.closed is None


def behind(told: OpenLine) -> list[second_counts.SecondCount]:
    """The hand counts that are part of a line and its open scopes, each once, in order."""
    here = room()
    scoped = [part.line for part in told.within] or [told.line]
    return list(dict.fromkeys(count for line in scoped for count in second_counts.behind(line, here.place, here.day)))


@page.post("/balance/look")
def look() -> ResponseReturnValue:
    """Both have read every line: their signatures cover the gaps that the page showed."""
    here, form, step = room(), request.form, task("first-look") or abort(404)
    if step.state not in OPEN:
        if here.ledger.find(claim_id(form)):
            return redirect("/balance", 303)  # sent again: it stands already
        abort(409, BLIND if here.day.folded_away else checklist.why_not(step))
    said = here.read_form(step, form, "", g.now)
    mistakes, shown = dict(said.mistakes), lines_now(True)
    if not showed(form, *gaps_of(shown)):
        mistakes[""] = SINCE
    if not mistakes:
        by_counters = {"stand_in": list(shown.stands_in)} if shown.stands_in else {}
        body = {**said.body, "gaps": dict(gaps_of(shown)), **by_counters}
        return signed(claim("first-look", body, stated(said), form, said.words), form)
    return show(form, mistakes), 422


@page.post("/balance/remark")
def remark() -> ResponseReturnValue:
    """One remark for the lines that were chosen, with the gap that the page showed of each; with no gap at all, both sign that every line agrees."""
    here, form, step = room(), request.form, task("remark") or abort(404)
    if here.day.folded_away or step.state in ("later", "shut", "missed"):
        abort(409, checklist.why_not(step) or BLIND)
    gaps = {line.name: line.gap for line in here.day.balance.gaps}
    lines = [name for name in request.form.getlist("lines") if name in gaps]
    mistakes = {}
    if not all(showed(form, name, gaps[name]) for name in lines):
        mistakes["lines"] = SINCE
    elif gaps and not lines:
        mistakes["lines"] = "Tick the lines that this remark is about."
    if gaps and not form.get("remark", "").strip():
        mistakes["remark"] = "Enter what you know of it. If no cause is known, write: cause unknown."
    elif gaps and (wrong := plain_words.mistake(form["remark"].strip(), LONGEST)):
        mistakes["remark"] = wrong
    if not mistakes:
        body = {"lines": lines, "gaps": [gaps[name] for name in lines]}
        return signed(
            claim("remark", body, None, form, {"remark": form.get("remark", "").strip()} if lines else {}), form
        )
    return show(form, mistakes), 422


def signed(made: Claim, form: MultiDict[str, str]) -> ResponseReturnValue:
    outcome = signing.sign(Draft((made,), "P", "/balance"), form, "/balance")
    if outcome.waiting:
        return redirect(f"/sign/{outcome.waiting}", 303)
    return redirect("/balance", 303) if outcome.entries else (show(form, outcome.mistakes), 422)


# --- a hand count, made again


@page.get("/balance/again/<int:of>/<field>")
@page.get("/balance/again/<int:of>/<field>/<thing>")
def again(of: int, field: str, thing: str = "") -> str:
    return show_again(wanted(of, field, thing), {}, {})


@page.post("/balance/again/<int:of>/<field>")
@page.post("/balance/again/<int:of>/<field>/<thing>")
def keep_again(of: int, field: str, thing: str = "") -> ResponseReturnValue:
    """What another pair counted, signed by both of them; the first to sign must not have signed a count of this figure before."""
    count, form = wanted(of, field, thing), request.form
    n, mistakes = counting_again.read(count, form, "P", "this figure")
    if not mistakes:
        body = {"of": count.of, "field": count.field, **({"thing": count.thing} if count.thing else {}), "n": n}
        outcome = signing.sign(Draft((claim("counted-again", body, None, form, {}),), "P", "/balance"), form)
        if on := signing.where_next(outcome, "/balance"):
            return on
        mistakes = dict(outcome.mistakes)
    return show_again(count, form, mistakes), 422


def wanted(of: int, field: str, thing: str) -> second_counts.SecondCount:
    """The hand count of this address, while it may be made again."""
    if barred():
        abort(409, "The balance opens when the closing counts are signed: count first, then look.")
    if room().day.phase == "done":
        abort(409, GONE)
    return second_counts.find(of, field, thing, room().place, room().day) or abort(404)


def show_again(count: second_counts.SecondCount, values: Mapping[str, Any], mistakes: Mapping[str, str]) -> str:
    heading = f"Count again, another pair: {count.words}" if count.counts else f"Count by hand: {count.words}"
    return render_template(
        "place/count_again.html",
        count=count,
        heading=heading,
        alone=counting_again.only_they(count, "P") and bool(count.counts),
        people=counting_again.people(count, "P"),
        mistakes=mistakes,
        values=values or fresh(),
    )
