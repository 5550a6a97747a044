"""Which steps of a place's goods share a page, and when each page can be signed."""

from collections.abc import Mapping
from dataclasses import dataclass

from flask import current_app, g

from webapp.pages.desk.site.office_site import OfficeSite
from webapp.pages.shared.claim_form import prefix
from webapp.precinct.checklist.checklist import Task


@dataclass(frozen=True, slots=True)
class GoodsPage:
    """One page: its name in the address, its words, the steps on it, and the step that must be kept before."""

    name: str
    words: str
    steps: tuple[str, ...]
    first: str = ""


PAGES = (
    GoodsPage(
        "goods",
        "Goods on the table, on one page",
        ("carriers-in", "receivers", "containers-in", "seals-read", "memory-in", "envelopes-in"),
    ),
    GoodsPage("tapes", "Tapes, on one page", ("tape-to-packet",), "receivers"),
    GoodsPage("handed-over", "Questions asked, receipt", ("ask-now", "receipt"), "seals-read"),
)


def room() -> OfficeSite:
    return current_app.extensions["room"]


def tasks_of(place: str, one: GoodsPage) -> tuple[Task, ...]:
    """The steps of this page that are not done yet."""
    return tuple(t for t in room().desk_tasks(place, g.now) if t.step.id in one.steps and t.state != "done")


def named(place: str, one: GoodsPage, form: Mapping[str, str]) -> tuple[Task, ...]:
    """The steps of this page that a form was opened for, those too that were signed since; () where it names none."""
    found = tuple(t for t in room().desk_tasks(place, g.now) if t.step.id in one.steps)
    return tuple(t for t in found if prefix(found, t) + "entry_id" in form)


def waits(place: str, one: GoodsPage) -> str:
    """Why the page cannot be signed yet; "" when it can."""
    if one.first and not room().desks[place].last(one.first):
        before = (
            "the seals on the table were read and signed" if one.first == "seals-read" else "two receivers took over"
        )
        return f"This page opens once {before}."
    if one.name == "handed-over":
        left = [t.title for t in room().desk_tasks(place, g.now) if _before_receipt(t)]
        return f"First: {'; '.join(left)}." if left else ""
    return ""


def _before_receipt(task: Task) -> bool:
    """Whether a step is still to be done before the receipt can be signed."""
    mine = task.step.id in PAGES[0].steps or task.step.id in PAGES[1].steps
    return mine and task.state != "done" and not task.step.optional


def offered(place: str) -> list[tuple[str, str]]:
    """(address, words) of the pages that can be signed now, for the page of the place."""
    return [
        (f"/place/{place}/{one.name}", one.words)
        for one in PAGES
        if len(tasks_of(place, one)) > 1 and not waits(place, one)
    ]
