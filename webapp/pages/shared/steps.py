"""The checklists, and one step or one page of steps: shown, filled in, signed."""

import hashlib
import uuid
from collections.abc import Mapping, Sequence

from flask import Blueprint, abort, current_app, g, redirect, render_template, request

from webapp.pages.shared import drafts, signing
from webapp.pages.shared.awaiting import Draft
from webapp.pages.shared.check_word_fields import mark_claims, mark_mistakes, marked
from webapp.precinct.checklist import checklist, form_reader, offline_rules, quick_note
from webapp.precinct.checklist.checklist import Read, Task
from webapp.precinct.place.step import at_label
from webapp.record.entry import Claim, Text, quarter_hour

page = Blueprint("steps", __name__)
LOST = "This form lost its number. Open the page again and fill it in once more."
SPECIAL = {
    "oath": "/people",
    "tape": "/tape/{at}",
    "first-look": "/balance",
    "balance": "/balance",
    "packet": "/packet",
    "compared": "/compared/{at}",
}

KEYED = ("tape", "compared")  # kept by their own pages alone: two keyings, each blind; the figures that the page showed


def room():
    return current_app.extensions["room"]


@page.get("/steps")
@page.get("/steps/<name>")
def steps(name: str = ""):
    """One checklist: what is done, what is next, what opens later and when."""
    tasks = room().tasks(g.now)
    lists = room().lists(tasks)
    if not name:
        name = next((t.step.list for t in tasks if t.state in ("open", "next", "overdue")), tasks[-1].step.list)
    if name not in [item.id for item in lists]:
        abort(404)
    return render_template("shared/steps.html", lists=lists, name=name, tasks=[t for t in tasks if t.step.list == name])


def together(task: Task) -> tuple[Task, ...]:
    """The tasks signed on one page with this one; itself alone where it is on no page or recorded already."""
    if not task.page or task.state == "done":
        return (task,)
    found = tuple(t for t in room().tasks(g.now) if t.page == task.page and t.state not in ("done", "shut", "missed"))
    return found if task in found else (task,)


@page.get("/step/<key>")
def step(key: str):
    task = room().task(key, g.now) or abort(404)
    tasks = together(task)
    special = next((t.step.form for t in tasks if t.step.form in SPECIAL), None)
    if special and (special != "tape" or task.state != "done"):
        return redirect(SPECIAL[special].format(at=task.at), 303)
    if why := checklist.why_not(task):
        return render_template("shared/later.html", task=task, why=why)
    return show(tasks, drafts.opened(f"/step/{tasks[0].key}", fresh_ids(tasks)))


@page.post("/step/<key>")
def keep_step(key: str, action: str = ""):
    """What the form says becomes claims; one signature is kept, several wait for each other. `action`: the page's address, where it is another."""
    task = room().task(key, g.now) or abort(404)
    tasks = together(task)
    if only_there := next((t.step.form for t in tasks if t.step.form in KEYED), ""):
        return redirect(SPECIAL[only_there].format(at=task.at), 303)
    form, path = request.form, action or f"/step/{tasks[0].key}"
    claims, mistakes = read(tasks, form)
    refused = next(filter(None, (checklist.why_not(t) for t in tasks if t.state in ("later", "shut", "missed"))), "")
    if refused:
        mistakes = {"": refused} | mistakes
    mistakes |= named_missing(tasks, form)
    if not mistakes:
        draft = Draft(
            tuple(mark_claims(standing(tasks, form), form) + claims),
            tasks[0].step.signs,
            f"/steps/{tasks[0].step.list}",
        )
        outcome = signing.sign(draft, form, path)
        mistakes = outcome.mistakes
        if outcome.waiting:
            return redirect(f"/sign/{outcome.waiting}", 303)
        if outcome.entries:
            return redirect(room().after(tasks, outcome.entries), 303)
    if not blind(tasks):
        drafts.put_aside(path, [t.step.id for t in tasks], rough(tasks), form)
    return show(tasks, form, mistakes, action), 422


def blind(tasks: Sequence[Task]) -> bool:
    """Whether something of this page is counted before anybody looks: it is never put aside."""
    return any(task.step.blind for task in tasks)


def rough(tasks: Sequence[Task]) -> bool:
    """Whether the page speaks of single ballots, whose times are kept to the quarter hour."""
    return any(room().ledger.rough(task.step.id, {}) for task in tasks)


def named_missing(tasks: Sequence[Task], form: Mapping[str, str]) -> dict[str, str]:
    """Polls that open at their hour although steps above lack a signature: that is an exception, and says which."""
    found = {}
    for task in tasks:
        name = prefix(tasks, task) + "not_so"
        if task.missing and not form_reader.is_exception(task.step, form, prefix(tasks, task)):
            found[name] = (
                f"Not signed yet: {', '.join(room().key_words(key) for key in task.missing)}. Sign these first; or, since it is time, "
                "write under “Something is missing or wrong” what is missing and what was done."
            )
    return found


def read(tasks: Sequence[Task], form: Mapping[str, str]) -> tuple[list[Claim], dict[str, str]]:
    """Claims of these tasks out of one form, and every mistake by input name. On a page of several the names carry the step's id before a slash."""
    kept = standing(tasks, form)
    claims, mistakes = [], mark_mistakes(kept, form)
    for task in kept:
        before = prefix(tasks, task)
        own = {name[len(before) :]: value for name, value in form.items() if name.startswith(before)}
        said = room().read_form(task, form, before, g.now)
        mistakes |= where_they_are(tasks, task, said.mistakes)
        claims.append(claim(task.step.id, said.body, stated(said), own, said.words))
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


def claim(kind: str, body: dict, happened: int | None, form: Mapping[str, str], words: Mapping[str, str]) -> Claim:
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


def holds(tasks: Sequence[Task], here=None) -> list[dict]:
    """What of this form a tablet would hold if it could not be sent: kind, place, title, how coarse its time is, what must stand in it. Empty: it needs the laptop."""
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
