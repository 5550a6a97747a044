"""The form of a step, or of several that are signed on one page, as it is shown; what a tablet would hold of it."""

from collections.abc import Mapping, Sequence
from typing import Any

from flask import current_app, g, render_template

from webapp.pages.shared import signing
from webapp.pages.shared.check_word_fields import marked
from webapp.pages.shared.claim_form import prefix
from webapp.precinct.checklist import offline_rules, quick_note
from webapp.precinct.checklist.checklist import Task


def room() -> Any:  # what a shared page takes of it lies in the site of its folder
    return current_app.extensions["room"]


def show(
    tasks: Sequence[Task], values: Mapping[str, str], mistakes: Mapping[str, str] | None = None, action: str = ""
) -> str:
    """The page of one step or of several that are signed together."""
    mark = room().marked() if marked(tasks) else None
    return render_template(
        "shared/step.html",
        tasks=tasks,
        values=values,
        mistakes=mistakes or {},
        prefix=prefix,
        copied=mark,
        action=action or f"/step/{tasks[0].key}",
        weight=tasks[0].step.signs,
        people=signing.candidates(tasks[0].step.signs),
        holds=holds(tasks),
        quick=quick(tasks, values),
        blind=blind(tasks),
        needs=offline_rules.together_need_laptop([t.step for t in tasks]),
    )


def quick(tasks: Sequence[Task], values: Mapping[str, str]) -> quick_note.Offer | None:
    """The buttons by which a ticked note is kept at one tap, while somebody holds this tablet."""
    if len(tasks) != 1 or not tasks[0].step.usual or not g.session.holder:
        return None
    place, day = room().at_hand()
    return quick_note.offer(tasks[0].step, place, day, tasks[0].at if tasks[0].step.per else "", values)


def holds(tasks: Sequence[Task], here: Any = None) -> list[dict[str, Any]]:
    """What of this form a tablet would hold if it could not be sent: kind, place, title, how coarse its time is,
    what each control needs. Empty: it needs the laptop."""
    if offline_rules.together_need_laptop([t.step for t in tasks]):
        return []
    here = here or room()
    return [
        {
            "kind": t.step.id,
            "at": t.at,
            "prefix": prefix(tasks, t),
            "title": t.title,
            "coarse": offline_rules.coarse(t.step),
            "asks": offline_rules.asks(t.step, here.place, here.day, t.at if t.step.per else ""),
        }
        for t in tasks
    ]


def blind(tasks: Sequence[Task]) -> bool:
    """Whether something of this page is counted before anybody looks: it is never put aside."""
    return any(task.step.blind for task in tasks)


def rough(tasks: Sequence[Task]) -> bool:
    """Whether the page is about single ballots, whose times are kept to the quarter hour."""
    return any(room().ledger.rough(task.step.id, {}) for task in tasks)
