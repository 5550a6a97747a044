"""What a tablet keeps of the pages so that it can go on alone: the manifest, the worker, and blank forms of what may be held.

The shell is listed here by hand and named by version. Its pages are drawn from the same templates as all others, for a day on which
nothing has happened yet: they show no figure, name nobody and have no field for a PIN.
"""

import copy
import json
from typing import Any

from flask import Blueprint, Response, abort, current_app, jsonify, render_template
from flask.typing import ResponseReturnValue

from webapp.pages.shared.filters import STATIC, VERSION, static_url
from webapp.pages.shared.step_form import holds
from webapp.precinct.checklist import checklist, offline_rules
from webapp.precinct.checklist.checklist import Step
from webapp.precinct.place.step import Task

page = Blueprint("shell", __name__)
FILES = (
    "ledger.css",
    "type/text.woff2",
    "type/text-ext.woff2",
    "mark.svg",
    "icon-192.png",
    "page.js",
    "store.js",
    "tablet_memory.js",
    "outbox.js",
    "offline.js",
    "live.js",
    "page_drafts.js",
    "list_rows.js",
    "held_entries.js",
    "refused_entries.js",
    "held_codes.js",
    "qr.js",
)
PAPER = "#faf7f0"


def room() -> Any:  # what a shared page takes of it lies in the site of its folder
    return current_app.extensions["room"]


def blank() -> Any:
    """This room before anything happened: the same place, an empty day."""
    twin = copy.copy(room())
    twin.day = type(room().day)(twin.place)
    return twin


def held_steps() -> list[Step]:
    """The steps and notes of this place that a tablet may hold, in the order of the day."""
    return [
        step
        for step in checklist.steps(room().place)
        if not offline_rules.needs_laptop(step) and (step.form == "reading" or room().notes.ats(step))
    ]


def pages() -> list[str]:
    """Every page of the shell, each at the address of its own with /shell before it."""
    found = ["/shell", "/shell/held"]
    for step in held_steps():
        ats = [at for at in room().notes.ats(step) if at]
        if step.note:
            found += [f"/shell/note/{step.id}", *(f"/shell/note/{step.id}/{at}" for at in ats if len(ats) > 1)]
        else:
            found += [f"/shell/step/{step.id}:{at}" for at in ats] or [f"/shell/step/{step.id}"]
    return found


@page.get("/manifest.webmanifest")
def manifest() -> ResponseReturnValue:
    """What makes a tablet offer to install it."""
    icons = [
        {"src": static_url(name), "sizes": size, "type": "image/png", "purpose": purpose}
        for name, size, purpose in (
            ("icon-192.png", "192x192", "any"),
            ("icon-512.png", "512x512", "any"),
            ("icon-maskable-192.png", "192x192", "maskable"),
            ("icon-maskable-512.png", "512x512", "maskable"),
        )
    ]
    answer = jsonify(
        id="/",
        name=f"Tape & Seal, {room().name}",
        short_name="Tape & Seal",
        start_url=room().start,
        scope="/",
        display="standalone",
        lang="en",
        background_color=PAPER,
        theme_color=PAPER,
        icons=icons,
    )
    answer.mimetype = "application/manifest+json"
    return answer


@page.get("/worker.js")
def worker() -> ResponseReturnValue:
    """The worker with its version and its list; a byte that differs makes it a new one, which waits until every page here is closed."""
    lists = {
        "VERSION": VERSION + "-" + room().place.digest.hex()[:8],
        "FILES": [static_url(name) for name in FILES],
        "PAGES": pages(),
    }
    head = "".join(f"const {name} = {json.dumps(value)};\n" for name, value in lists.items())
    return Response(
        head + (STATIC / "worker.js").read_text(encoding="utf-8"),
        mimetype="text/javascript",
        headers={"Cache-Control": "no-cache"},
    )


@page.get("/shell")
def shell() -> str:
    """The page for everything that is not kept: what may be held here, and what needs the laptop."""
    here = blank()
    rest = [
        (checklist.fill(step, here.place, "").title, offline_rules.needs_laptop(step))
        for step in checklist.steps(here.place)
        if step.list != "office" and offline_rules.needs_laptop(step)
    ]
    return render_template(
        "tablets/shell.html",
        shell=True,
        room=here,
        notes=[s for s in held_steps() if s.note],
        steps=[s for s in held_steps() if not s.note],
        rest=rest,
    )


@page.get("/shell/held")
def held() -> str:
    return render_template("tablets/held.html", shell=True, room=blank())


@page.get("/shell/note/<kind>")
@page.get("/shell/note/<kind>/<at>")
def note(kind: str, at: str = "") -> str:
    here = blank()
    step = next((s for s in held_steps() if s.note and s.id == kind), None) or abort(404)
    places = here.notes.ats(step)
    if not at and len(places) > 1:
        return render_template("place/where.html", shell=True, room=here, step=step, places=places)
    return form(here, here.notes.task(kind, at or places[0]) or abort(404), f"/note/{kind}" + (f"/{at}" if at else ""))


@page.get("/shell/step/<key>")
def step(key: str) -> str:
    here = blank()
    kind, _, at = key.partition(":")
    found = next((s for s in held_steps() if not s.note and s.id == kind), None) or abort(404)
    if at not in (here.notes.ats(found) if found.per else ("",)):
        abort(404)
    return form(here, here.task_of(found, at), f"/step/{key}")


def form(here: Any, task: Task, action: str) -> str:
    """A blank form of one step or note."""
    name = "place/handed_back.html" if task.step.form == "tally" else "shared/step.html"
    return render_template(
        name,
        shell=True,
        room=here,
        task=task,
        tasks=(task,),
        cells=here.taps.cells(0) if task.step.form == "tally" else (),
        values={},
        mistakes={},
        prefix=lambda tasks, task: "",
        copied=None,
        action=action,
        weight=task.step.signs,
        people=(),
        holds=holds((task,), here),
        needs="",
    )
