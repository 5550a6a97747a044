"""Check words on a page: shown for the record as it is, copied by hand, and recorded with the step that says they were copied."""

import uuid
from collections.abc import Mapping, Sequence

from flask import current_app, g

from webapp.precinct.checklist.checklist import Task
from webapp.record.entry import Claim

MARK_FIELD = "words_copied"


def marked(tasks: Sequence[Task]) -> bool:
    """Whether one of these steps asks for the check words to be copied."""
    return any(t.step.field(MARK_FIELD) for t in tasks)


def mark_mistakes(tasks: Sequence[Task], form: Mapping[str, str]) -> dict[str, str]:
    """The words on the page must be those of this record."""
    if not marked(tasks):
        return {}
    shown = current_app.extensions["room"].marked_at(_number(form))
    if shown is None or shown != form.get("mark_words"):
        return {"mark_words": "The check words have changed. Copy these onto the witness’s card instead."}
    return {}


def mark_claims(tasks: Sequence[Task], form: Mapping[str, str]) -> list[Claim]:
    """The claim of the laptop itself that says which words were shown."""
    if not marked(tasks):
        return []
    try:
        number = uuid.UUID(hex=form.get("mark_id", "")).bytes
    except ValueError:
        number = uuid.uuid4().bytes
    return [Claim(number, "check-words", {"number": _number(form), "words": form["mark_words"]}, g.now, "L", 0)]


def _number(form: Mapping[str, str]) -> int:
    text = form.get("mark_number", "")
    return int(text) if text.isascii() and text.isdigit() else -1
