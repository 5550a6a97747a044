"""Late places: what of each is out, how long it is past due, the numbers to call, and each call with who was reached and what was promised."""

from collections.abc import Mapping
from typing import Any

from flask import Blueprint, current_app, g, redirect, render_template, request
from flask.typing import ResponseReturnValue

from webapp.office.received import late_places
from webapp.pages.desk.shared import late_rows
from webapp.pages.desk.shared.named_place import known
from webapp.pages.desk.shared.paging import page_of
from webapp.pages.desk.site.dated_words import day_time
from webapp.pages.desk.site.office_site import OfficeSite
from webapp.pages.shared import signing
from webapp.pages.shared.awaiting import Draft
from webapp.pages.shared.claim_form import claim, fresh
from webapp.pages.shared.papers import pdf
from webapp.paper.office_lists import LateRow, late_list_pdf
from webapp.precinct.checklist.field_parsers import half_missing, moment
from webapp.precinct.checklist.form_input import LONGEST
from webapp.precinct.place import plain_words
from webapp.precinct.place.place import Place

page = Blueprint("late", __name__)
A_PAGE = 50


def room() -> OfficeSite:
    return current_app.extensions["room"]


@page.get("/late")
def late() -> str:
    """Every place of which something is out, the longest past due first, fifty a page."""
    rows = late_places.ordered(late_rows.every(room()), g.now)
    last = max(len(rows) - 1, 0) // A_PAGE
    number = page_of(last)
    return render_template(
        "desk/late.html",
        rows=rows[number * A_PAGE : (number + 1) * A_PAGE],
        late=sum(one.late(g.now) for one in rows),
        out=len(rows),
        unknown=sum(one.due is None for one in rows),
        awaited=room().roster.awaited,
        whats=late_places.WHAT_WORDS,
        number=number,
        last=last,
    )


@page.get("/late.pdf")
def late_list() -> ResponseReturnValue:
    """The whole list on paper, for people who call: numbers, what is out, and room for the answers."""
    here = room()
    rows = late_places.ordered(late_rows.every(here), g.now)
    says = f"{here.roster.awaited - len(rows):,} of {here.roster.awaited:,} places have brought everything; of {len(rows):,} something is out."
    return pdf(
        late_list_pdf(
            here.roster.office.name, day_time(g.now), says, [printed(one) for one in rows], here.roster.practice
        ),
        "late-places",
    )


def printed(one: late_places.LatePlace) -> LateRow:
    """One place as the list on paper has it."""
    minutes, last = one.minutes(g.now), one.last
    past = "" if minutes is None or one.due is None else f"{minutes:,}" if minutes >= 0 else f"due {day_time(one.due)}"
    said = ""
    if last:
        reached = f"{last.who} reached" if last.reached else "nobody reached"
        promised = f", promised for {day_time(last.promised)}" if last.promised else ""
        said = f"{day_time(last.time)}: {reached}{promised}. {last.answer}"
    return LateRow(past, one.name, one.out_says, "\n".join(one.phones), said)


def roles(place: Place) -> list[str]:
    """The roles at that place, once each, in the order of its roll."""
    return list(dict.fromkeys(official.role for official in place.officials))


@page.get("/late/<place>")
def one(place: str) -> ResponseReturnValue:
    return show(place)


def show(
    place: str, values: Mapping[str, Any] | None = None, mistakes: Mapping[str, str] | None = None, code: int = 200
) -> ResponseReturnValue:
    file, here = known(place), room()
    found = late_rows.of_place(here, place)
    return render_template(
        "desk/late_call.html",
        place=file,
        row=found,
        whats=[(key, words) for key, words in late_places.WHATS if key == "answer" or key in found.out],
        whos=[*((role, role) for role in roles(file)), (late_places.NOBODY, "Nobody was reached")],
        bys=late_places.BYS,
        words=late_places.WHAT_WORDS,
        entries=[here.day.entry(call.number) for call in reversed(found.calls)],
        people=signing.candidates("1"),
        mistakes=mistakes or {},
        values=values or fresh(),
    ), code


@page.post("/late/<place>")
def call(place: str) -> ResponseReturnValue:
    """Records one call, signed by the person who made it: what was asked for, who was reached, what was promised."""
    file, form = known(place), request.form
    may = [*late_rows.of_place(room(), place).out, "answer"]
    body, mistakes = late_places.body(place, form, may, roles(file))
    answer, promised = form.get("answer", "").strip(), form.get("promised", "").strip()
    if answer and (wrong := plain_words.mistake(answer, LONGEST)):
        mistakes["answer"] = wrong
    if promised:
        body["promised"] = moment(file, promised, g.now)
        if ask := half_missing(file, promised):
            mistakes["promised"] = ask
        elif body["promised"] is None:
            mistakes["promised"] = "Enter the time as hours and minutes, such as 23:10, or leave it empty."
    if not mistakes:
        made = claim("late-call", body, None, form, {"answer": answer})
        outcome = signing.sign(Draft((made,), "1", "/late"), form)
        mistakes = dict(outcome.mistakes)
        if outcome.entries:
            return redirect("/late", 303)
    return show(place, form, mistakes, 422)
