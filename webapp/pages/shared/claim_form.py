"""Claims out of a form: which tasks it is about, the names of its inputs, the id and salt that it was opened with, what its page showed."""

import hashlib
import uuid
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from flask import abort, current_app, g

from webapp.pages.shared.check_word_fields import mark_mistakes
from webapp.precinct.checklist import checklist
from webapp.precinct.checklist.checklist import Read, Task
from webapp.precinct.place.step import at_label
from webapp.record.entry import Claim, Text, quarter_hour

SINCE = "Something was kept about this since this page was opened. Look at it as it is now, then sign."
LOST = "This form lost its number. Open the page again and fill it in once more."


def room() -> Any:  # what a shared page takes of it lies in the site of its folder
    return current_app.extensions["room"]


def together(task: Task) -> tuple[Task, ...]:
    """The tasks signed on one page with this one; itself alone where it is on no page or recorded already."""
    if not task.page or task.state == "done":
        return (task,)
    found = tuple(t for t in room().tasks(g.now) if t.page == task.page and t.state not in ("done", "shut", "missed"))
    return found if task in found else (task,)


def sent(task: Task, form: Mapping[str, str]) -> tuple[Task, ...]:
    """The tasks that this form was opened for: those of its page now, or those that it names where some are recorded meanwhile."""
    tasks = together(task)
    if len(tasks) > 1 or "entry_id" in form:
        return tasks
    page = tuple(t for t in room().tasks(g.now) if task.page and t.page == task.page)
    return tuple(t for t in page if prefix(page, t) + "entry_id" in form) or tasks


def read(
    tasks: Sequence[Task], form: Mapping[str, str], known: Mapping[str, int | None] | None = None
) -> tuple[list[Claim], dict[str, str]]:
    """Claims of these tasks out of one form, and every mistake by input name. On a page of several the names carry the step's id before a slash.
    What is recorded already, since the form is sent again, is not held against the day once more. `known`: numbers that are settled already, by input name.
    """
    kept = standing(tasks, form)
    claims, mistakes = [], mark_mistakes(kept, form)
    for task in kept:
        before = prefix(tasks, task)
        own = {name[len(before) :]: value for name, value in form.items() if name.startswith(before)}
        said = room().read_form(task, form, before, g.now, known=known)
        claims.append(claim(task.step.id, said.body, stated(said), own, said.words))
        if room().ledger.find(claims[-1].id) is None:
            mistakes |= where_they_are(tasks, task, said.mistakes)
    return claims, mistakes


def where_they_are(tasks: Sequence[Task], task: Task, mistakes: Mapping[str, str]) -> dict[str, str]:
    """The mistakes of one task; where its page asks the same of another bin or tabulator too, each begins with whose it is."""
    if sum(other.step.id == task.step.id for other in tasks) < 2:
        return dict(mistakes)
    where = at_label(room().place, task.step, task.at)
    named = f"{where[:1].upper()}{where[1:]}"
    return {name: said if where.lower() in said.lower() else f"{named}: {said}" for name, said in mistakes.items()}


def standing(tasks: Sequence[Task], form: Mapping[str, str]) -> tuple[Task, ...]:
    """The tasks of a page that this form records: a tabulator that stays shut takes its later steps with it."""
    return checklist.standing(tasks, form, lambda task: prefix(tasks, task))


def stated(said: Read) -> int | None:
    """When it happened, as the form itself says; None where it does not."""
    return said.happened if said.timed else None


def claim(
    kind: str, body: dict[str, Any], happened: int | None, form: Mapping[str, str], words: Mapping[str, str]
) -> Claim:
    """A claim with the id and the salt that the form carried, so that a retry is the same claim and keeps its time.

    `happened` in ms UTC. Times of entries about one ballot are rounded to the quarter hour here.
    """
    number, salt = claim_id(form), salt_from(form)
    known = room().ledger.find(number) if happened is None or "hour" in body else None
    if known and known.kind == kind and "hour" in body and "hour" in known.body:
        body = {**body, "hour": known.body["hour"]}
    moment = happened if happened is not None else known.happened if known else g.now
    moment = quarter_hour(moment) if room().ledger.rough(kind, body) else moment
    return Claim(
        number, kind, body, moment, g.session.tablet, 0, {n: Text(salt_of(salt, n), t) for n, t in words.items() if t}
    )


def claim_id(form: Mapping[str, str]) -> bytes:
    """The id (UUIDv4) that the form was given when it was opened. Answers 400 where it is missing."""
    try:
        number = uuid.UUID(hex=form.get("entry_id", "")).bytes
    except ValueError:
        number = b""
    return number if number and number[6] >> 4 == 4 else abort(400, LOST)


def following(number: bytes, name: str) -> str:
    """The id of an act that follows from the one with this id: the same whenever it is asked for, so that it is kept once."""
    return uuid.UUID(bytes=uuid.uuid5(uuid.UUID(bytes=number), name).bytes, version=4).hex


def salt_from(form: Mapping[str, str]) -> bytes:
    """The 16 bytes of salt that the form carried. Answers 400 where they are missing."""
    try:
        salt = bytes.fromhex(form.get("salt", ""))
    except ValueError:
        salt = b""
    return salt if len(salt) == 16 else abort(400, LOST)


def salt_of(salt: bytes, name: str) -> bytes:
    """The salt of one text, derived from the form's salt and the text's name."""
    return hashlib.sha256(salt + name.encode()).digest()[:16]


def prefix(tasks: Sequence[Task], task: Task) -> str:
    """Prefix of this task's input names: "" if alone on the page, else `STEP/`, or `KEY/` where a step can occur twice."""
    if len(tasks) == 1:
        return ""
    return f"{task.key if task.step.per and not task.step.page.endswith(':T') else task.step.id}/"


def fresh_ids(tasks: Sequence[Task]) -> dict[str, str]:
    """A new id and salt for each entry that this form will make."""
    return {prefix(tasks, t) + name: uuid.uuid4().hex for t in tasks for name in ("entry_id", "salt")}


def fresh(**values: str) -> dict[str, str]:
    """A form of one entry as it is opened: a new id, a new salt, and what it begins with."""
    return {"entry_id": uuid.uuid4().hex, "salt": uuid.uuid4().hex, **values}


# --- what a page showed when it was opened, as its form carries it


def mark(*facts: Any) -> str:
    """Eight hex digits that stand for these facts; other facts have others."""
    return hashlib.sha256(repr(facts).encode()).hexdigest()[:8]


def marks(rows: Iterable[tuple[Any, ...]]) -> str:
    """What a form carries of the rows that its page shows, one mark each."""
    return " ".join(mark(*row) for row in rows)


def showed(form: Mapping[str, str], *facts: Any) -> bool:
    """Whether the page of this form showed these very facts, or the form is in the record already and sent again."""
    return mark(*facts) in form.get("looked", "").split() or in_record(form)


def in_record(form: Mapping[str, str]) -> bool:
    """Whether this very form made its entry already."""
    return room().ledger.find(claim_id(form)) is not None
