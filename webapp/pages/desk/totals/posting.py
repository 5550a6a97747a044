"""Editions: what is published, made ready from all that is kept, looked at, signed by two parties, and then never changed."""

import json
from collections.abc import Callable, Iterator, Mapping
from datetime import datetime
from typing import Any

from flask import Blueprint, Response, abort, current_app, g, redirect, render_template, request
from flask.typing import ResponseReturnValue

from webapp.canvass import changes, edition, posting_page
from webapp.canvass.certifying import OFFICIAL
from webapp.canvass.edition import STATUSES
from webapp.merging import brought
from webapp.office.canvassing import edition_figures, edition_files, logged_events
from webapp.office.canvassing import editions as editions_room
from webapp.office.canvassing.certifying import COMPLETE, MOVES_FIGURES
from webapp.office.canvassing.editions import EDITION, Changed, Ready
from webapp.pages.desk.shared.of_edition import moved
from webapp.pages.desk.site.dated_words import day_time
from webapp.pages.desk.site.office_site import OfficeSite
from webapp.pages.shared import signing
from webapp.pages.shared.awaiting import Draft
from webapp.pages.shared.claim_form import claim, fresh
from webapp.precinct.checklist.form_input import LONGEST
from webapp.precinct.numbers import few
from webapp.precinct.place import plain_words

page = Blueprint("posting", __name__)
UNOFFICIAL = ("unofficial-partial", COMPLETE)  # posted here; the board's own are made under Certify
EVERY = 30  # minutes between two editions on the night, unless somebody says why
SHOWN = 40  # entries since the last edition that are listed
TYPES = {"html": "text/html", "csv": "text/csv", "json": "application/json", "pdf": "application/pdf"}


def room() -> OfficeSite:
    return current_app.extensions["room"]


@page.get("/posting")
def posting() -> str:
    return editions_page({}, {})


def editions_page(form: Mapping[str, str], mistakes: Mapping[str, str]) -> str:
    """Every edition, the newest first, and what is kept since; `form` and `mistakes` of a waiver that was refused, else empty."""
    here = room()
    since = here.editions.posted[-1].cut if here.editions.posted else 0
    return render_template(
        "desk/posting.html",
        posted=list(reversed(here.editions.posted)),
        statuses=STATUSES,
        since=len(came_since(since)),
        inn=len(here.board.places),
        awaited=here.roster.awaited,
        waits=waits(),
        **waiver(form, mistakes),
    )


def came_since(cut: int) -> list[Any]:
    """Entries after that one that can move a figure, in order."""
    return [kept for kept in room().day.everything(MOVES_FIGURES) if kept.number > cut]


def now_kept() -> tuple[edition_figures.KeptFigures, int]:
    here = room()
    with here.lock:
        return edition_figures.figures_now(here.roster, here.tray, here.added), here.ledger.length


def waits() -> list[tuple[str, str, str]]:
    """Places that wait for a small neighbor that is still out: (their name, the neighbor, its name)."""
    here = room()
    inn = {place: None for place in here.roster.places if here.tray.in_totals(place)}
    found = edition_figures.waits_for(here.roster, here.added, inn)
    return [(here.added.name(place), out, here.added.name(out)) for place, out in found.items()]


def made_ready(
    status: str, because: str, whole: bool, more_of: Callable[..., dict[str, bytes]] | None = None
) -> tuple[Ready, dict[str, Any]]:
    """The next edition and the figures of the one before; `whole`: with every file that is handed out, and those that `more_of` makes of the edition.
    Raises Changed."""
    here = room()
    before = here.editions.figures()
    found, cut = now_kept()
    new = edition_figures.drawn_up(
        here.roster, here.added, found, before, here.editions.next, g.now, cut, status, because, here.certifying.shown
    )
    last = day_time(here.editions.posted[-1].kept) if here.editions.posted else ""
    made = datetime.fromtimestamp(g.now // 1000, here.zone).isoformat()
    more = further_files(new, made, cut) if whole else {}
    if whole and more_of:
        more |= more_of(new, made, before)
    return editions_room.ready(new, before, made, day_time(g.now), last, more), before


def further_files(new: edition.Edition, made: str, cut: int) -> dict[str, bytes | Iterator[bytes]]:
    """Reconciliation, and results and event log in the standards' forms."""
    here = room()
    with here.lock:
        everybody = {official.id: official for official in here.people.everybody}
        own, desks = brought.by_desk(entry for entry in here.ledger.entries() if entry.number <= cut)
        logged = logged_events.devices(here.roster, here.tray, own, everybody, here.place, desks)
        return edition_files.more(new, made, here.roster, here.tray, here.added, here.board.places, logged)


@page.get("/posting/ready")
def ready() -> str:
    return show_ready({}, {})


def show_ready(values: Mapping[str, Any], mistakes: Mapping[str, str]) -> str:
    """The next edition as it would be: what it shows, what waits, what came since, and what a reader can work out."""
    here = room()
    try:
        found, before = made_ready("unofficial-partial", "", False)
    except Changed as wrong:
        return render_template("shared/told.html", heading="No edition can be made now", sentence=str(wrong))
    since = here.editions.posted[-1].cut if here.editions.posted else 0
    came = came_since(since)
    return render_template(
        "desk/posting_ready.html",
        found=found,
        contests=preview(found),
        least=edition.whole_blocks(before, found.edition),
        waiting=waiting(found),
        came=came[-SHOWN:],
        more=max(len(came) - SHOWN, 0),
        open=edition_figures.open_things(here.roster, here.tray, here.added),
        statuses=[(id, STATUSES[id]) for id in UNOFFICIAL],
        changed=[(one, changes.in_words(one.came, found.edition)) for one in found.changed] if before else [],
        first=not before,
        soon=soon(),
        mistakes=mistakes,
        people=signing.candidates("P"),
        values=values or fresh(),
    )


def soon() -> int | None:
    """Minutes since the newest edition, while it is less than 30 of them and places are still out; None else. Editions one on another are easily
    compared, and the night is busy (common practice)."""
    here = room()
    if not here.editions.posted or len(here.board.places) >= here.roster.awaited:
        return None
    minutes = (g.now - here.editions.posted[-1].kept) // 60_000
    return minutes if minutes < EVERY else None


def preview(found: Ready) -> list[Any]:
    """(contest, rows, names, total) of each contest, as the page for the public shows them."""
    one, lists = found.edition, edition.lists_of(found.edition)
    names = one.names
    return [
        (
            contest,
            [line for line in edition.lines(contest) if line[0] in edition.total(one.figures[contest.id]).votes],
            [(" + ".join(names[u] for u in row.units), row) for row in edition.rows(one.figures[contest.id], lists)],
            edition.total(one.figures[contest.id]),
        )
        for contest in one.contests
        if one.figures[contest.id].blocks
    ]


def waiting(found: Ready) -> list[tuple[str, int]]:
    """(contest, ballots) of each contest in which something is counted and not shown yet."""
    return [
        (contest.title, n)
        for contest in found.edition.contests
        if (n := found.edition.figures[contest.id].ballots_waiting)
    ]


@page.post("/posting/ready")
def post() -> ResponseReturnValue:
    """The figures that were looked at, signed by two parties: the files are whole on the disk before the first signature."""
    here, form, mistakes = room(), request.form, {}
    status, because = form.get("status", ""), form.get("because", "").strip()
    if known := next((one for one in here.editions.posted if entry_of(form) == one.entry), None):
        return redirect(f"/posting/{known.number}", 303)
    if status not in UNOFFICIAL:
        mistakes["status"] = "Choose what this edition is."
    elif status == COMPLETE and (still := edition_figures.open_things(here.roster, here.tray, here.added)):
        mistakes["status"] = f"Not complete: {' '.join(still)} Post it as partial, or close these first."
    if (minutes := soon()) is not None and form.get("sooner") != "yes":
        mistakes["sooner"] = (
            f"Edition {here.editions.posted[-1].number} was posted {few(minutes, 'minute')} ago. On the night one every {EVERY} minutes is enough: wait, or tick that this one is needed now."
        )
    if not because:
        mistakes["because"] = "Enter why this edition is posted, in one sentence for the public."
    elif wrong := plain_words.mistake(because, LONGEST):
        mistakes["because"] = wrong
    try:
        found, _ = made_ready(status if status in UNOFFICIAL else "unofficial-partial", because, not mistakes)
    except Changed as wrong:
        return render_template("shared/told.html", heading="No edition can be made now", sentence=str(wrong)), 409
    mistakes |= moved(form, found)
    if not mistakes:
        here.editions.lay(found)
        made = claim("edition-posted", found.body(), g.now, form, {"because": because})
        outcome = signing.sign(Draft((made,), "P", f"/posting/{found.edition.number}"), form)
        mistakes = dict(outcome.mistakes)
        if on := signing.where_next(outcome, f"/posting/{found.edition.number}"):
            return on
    return show_ready(form, mistakes), 422


def entry_of(form: Mapping[str, str]) -> int | None:
    """The number of the entry that this very form made already; None where it made none."""
    try:
        known = room().ledger.find(bytes.fromhex(form.get("entry_id", "")))
    except ValueError:
        return None
    return known.number if known else None


@page.get("/posting/<int:number>")
def one(number: int) -> str:
    """One edition: its digest, its files, the entry that posted it."""
    here = room()
    found = next((one for one in here.editions.posted if one.number == number), None) or abort(404)
    try:
        files, wrong = here.editions.files(number), ""
    except Changed as changed:
        files, wrong = {}, str(changed)
    return render_template(
        "desk/edition.html",
        one=found,
        official=found.status in OFFICIAL,
        files={name: path.stat().st_size for name, path in files.items()},
        wrong=wrong,
        made=json.loads(files[EDITION].read_bytes())["made"] if files else "",
        statuses=STATUSES,
        entry=here.day.entry(found.entry),
        newest=number == len(here.editions.posted),
    )


@page.get("/posting/<int:number>/<name>")
def file(number: int, name: str) -> ResponseReturnValue:
    """A file of an edition as it was posted; a changed one is refused."""
    try:
        path = room().editions.files(number)[name]
    except KeyError:
        abort(404)
    except Changed as wrong:
        return render_template("shared/told.html", heading="This file is not what was posted", sentence=str(wrong)), 409
    kind = name.rpartition(".")[2]
    data = path.read_bytes()
    answer = Response(data, mimetype=TYPES.get(kind, "application/octet-stream"))
    if kind == "html":
        answer.headers["Content-Security-Policy"] = f"{posting_page.policy_of(data)}; frame-ancestors 'none'"
    else:
        answer.headers["Content-Disposition"] = f'attachment; filename="edition-{number}-{name}"'
    return answer


# --- a neighbor waits no more


def waiver(values: Mapping[str, Any], mistakes: Mapping[str, str]) -> dict[str, Any]:
    return {"mistakes": mistakes, "people": signing.candidates("P"), "values": values or fresh()}


@page.post("/posting/waive")
def waive() -> ResponseReturnValue:
    """Two parties sign that nobody waits for a small place any longer."""
    form, mistakes = request.form, {}
    may = {out for _, out, _ in waits()}
    if form.get("place") not in may and not entry_of(form):
        mistakes["place"] = "Choose the place that nobody waits for."
    why = form.get("why", "").strip()
    if not why:
        mistakes["why"] = "Enter why nobody waits for it, in one sentence."
    elif wrong := plain_words.mistake(why, LONGEST):
        mistakes["why"] = wrong
    if not mistakes:
        outcome = signing.sign(
            Draft((claim("wait-waived", {"place": form["place"]}, None, form, {"why": why}),), "P", "/posting"), form
        )
        mistakes = dict(outcome.mistakes)
        if on := signing.where_next(outcome, "/posting"):
            return on
    return editions_page(form, mistakes), 422
