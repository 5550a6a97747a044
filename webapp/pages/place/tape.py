"""The results tape: keyed blind by two people or called, typed and read back; differences against the paper; then signed once with prints and ink.

Until the second set is in, nothing that leaves this server holds a figure of the first.
"""

from collections.abc import Mapping

from flask import Blueprint, abort, current_app, g, redirect, render_template, request
from flask.typing import ResponseReturnValue

from webapp.pages.place.site.place_site import PlaceSite
from webapp.pages.shared import drafts, signing
from webapp.pages.shared.awaiting import Draft
from webapp.pages.shared.claim_form import claim, fresh_ids, prefix, read, sent, together
from webapp.precinct.checklist.checklist import Task
from webapp.precinct.day import tape_comparison
from webapp.precinct.place.place import Official

page = Blueprint("tape", __name__)


def room() -> PlaceSite:
    return current_app.extensions["room"]


@page.get("/tape")
def all_tapes() -> str:
    """Each tabulator and how far its tape is."""
    tasks = [t for t in room().tasks(g.now) if t.step.form == "tape"]
    return render_template("place/tapes.html", tasks=tasks, keyed={t.at: room().day.keyings.by(t.key) for t in tasks})


def task_at(at: str) -> Task:
    return next((t for t in room().tasks(g.now) if t.step.form == "tape" and t.at == at), None) or abort(404)


@page.get("/tape/<at>")
def tape(at: str) -> ResponseReturnValue:
    task = task_at(at)
    if task.state == "done":
        return redirect(f"/record/{task.entries[-1]}", 303)
    if any(t.state in ("later", "shut") for t in together(task)):
        return render_template(
            "shared/told.html",
            heading=f"The tape of {at} is not due yet",
            sentence=f"It opens {next(t.opens for t in together(task) if t.opens)}.",
        )
    return show(task, drafts.opened(f"/tape/{at}", fresh_ids(together(task))) if both(task) else None)


def show(task: Task, values: Mapping[str, str] | None = None, mistakes: Mapping[str, str] | None = None) -> str:
    """A keying form, or the comparison of two sets with all that is signed with it."""
    sets, by = room().day.keyings.open(task.key), room().day.keyings.by(task.key)
    called = by_calling()
    group = together(task)
    if called or len(sets) >= 2:
        figures = () if called else tape_comparison.compared(sets[-2].figures, sets[-1].figures, room().place)
        return render_template(
            "place/tape_both.html",
            task=task,
            tasks=group,
            values=values or fresh_ids(group),
            mistakes=mistakes or {},
            prefix=prefix,
            called=called,
            figures=figures,
            differ=[f for f in figures if f.differs],
            by=by[-2:],
            sections=tape_comparison.sections(room().place),
            people=signing.candidates(group[0].step.signs),
            before=prefix(group, task),
            tall_votes=tall_votes(values, mistakes, prefix(group, task)),
        )
    first = first_keyer(task)
    people = signing.candidates(second_seat(first), (first,)) if first else signing.candidates("1")
    return render_template(
        "place/tape_key.html",
        task=task,
        first=first,
        prints=next((t for t in group if t.step.id == "tape-prints"), None),
        second=second_seat(first),
        sections=tape_comparison.sections(room().place),
        people=people,
        tall_votes=tall_votes(values, mistakes),
        values=values or fresh_ids((task,)),
        mistakes=mistakes or {},
    )


def tall_votes(values: Mapping[str, str] | None, mistakes: Mapping[str, str] | None, before: str = "") -> bool:
    """Whether this keying has more votes than its own ballots allow: then the person who keyed may say that the tape prints it so."""
    return bool((values or {}).get(f"{before}as_printed")) or any(
        "tick that it does" in said for said in (mistakes or {}).values()
    )


def both(task: Task) -> bool:
    """Whether the tape's second page is due, which both sign; the keyings before it are blind and are never put aside."""
    return by_calling() or len(room().day.keyings.open(task.key)) >= 2


def by_calling() -> bool:
    """Whether the tape is called, typed and read back: by the place's rule, or since there is only one official to key it."""
    return room().rules.keying == "called" or len(room().people.working()) < 2


def first_keyer(task: Task) -> Official | None:
    """Who has keyed this tape; None while nobody has."""
    by = room().day.keyings.by(task.key)
    return room().people.official(by[0]) if by else None


def second_seat(first: Official | None) -> str:
    """Who keys second: an official of another party; where none is at work, anybody else, since the second set must not be missing. "" while nobody has keyed."""
    if first is None:
        return ""
    return "P" if signing.candidates("P", (first,)) else "2"


@page.post("/tape/<at>/key")
def key(at: str) -> ResponseReturnValue:
    """One person's set. The second never sees the first's; a mistake in one form says nothing of the other."""
    task, form = task_at(at), request.form
    early = any(t.state in ("later", "shut") for t in together(task))
    if early or len(room().day.keyings.open(task.key)) >= 2:
        return redirect(f"/tape/{at}", 303)
    said = room().read_form(task, {**form, "how": "blind"}, "", g.now)
    mistakes = dict(said.mistakes)
    if not mistakes:
        figures = {name: value for name, value in said.body.items() if name not in ("at", "how")}
        made = claim("keying", {"of": task.step.id, "at": at, "figures": figures}, None, form, {})
        first = first_keyer(task)
        bars = signing.second_keyer(first, second_seat(first))
        mistakes = signing.sign(Draft((made,), "1", f"/tape/{at}"), form, bars=bars).mistakes
    return (show(task, form, mistakes), 422) if mistakes else redirect(f"/tape/{at}", 303)


@page.post("/tape/<at>")
def keep(at: str) -> ResponseReturnValue:
    """Records prints, figures and ink of one tape, signed once by both. Figures that both keyed alike are taken; those that differ are read off the paper."""
    task = task_at(at)
    group = sent(task, request.form)
    before, form = prefix(group, task), dict(request.form)
    agreed: dict[str, int | None] = {}  # figures that both keyed alike, by input name
    if not by_calling():
        sets = room().day.keyings.open(task.key)
        if len(sets) < 2:
            return redirect(f"/tape/{at}", 303)
        figures = tape_comparison.compared(sets[-2].figures, sets[-1].figures, room().place)
        agreed = {before + figure.name: figure.first for figure in figures if not figure.differs}
        for name in ("earlier_ballots", "subtract"):
            if before + name not in form:
                agreed[before + name] = sets[-1].figures.get(name)
        form[before + "how"] = "blind"
        form[before + "as_printed"] = "yes"  # each keying was held against the rules by itself
    else:
        form[before + "how"] = "called"
    claims, mistakes = read(group, form, agreed)
    if not mistakes:
        outcome = signing.sign(Draft(tuple(claims), group[0].step.signs, f"/steps/{task.step.list}"), form)
        mistakes = outcome.mistakes
        if on := signing.where_next(
            outcome, lambda kept: room().after(group, kept) if room().kind.id == "test" else "/steps/closing"
        ):
            return on
    drafts.put_aside(f"/tape/{at}", [t.step.id for t in group], False, request.form)
    return show(task, form, mistakes), 422
