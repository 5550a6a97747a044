"""What changed since when: an edition against what is kept now, contest by contest in whole blocks, and the entries that it comes from."""

from dataclasses import replace

from flask import Blueprint, abort, current_app, g, render_template, request
from flask.typing import ResponseReturnValue

from webapp.canvass import changes
from webapp.canvass.edition import Edition
from webapp.office.canvassing import edition_figures
from webapp.office.canvassing.editions import Changed, Posted
from webapp.pages.desk.shared import votes_held
from webapp.pages.desk.site.dated_words import day_time
from webapp.pages.desk.site.office_site import OfficeSite
from webapp.pages.desk.totals.posting import came_since
from webapp.pages.shared.papers import pdf
from webapp.paper.office_lists import ChangedContest, changes_pdf
from webapp.precinct.checklist import checklist
from webapp.precinct.day.current_entry import CurrentEntry

page = Blueprint("totals_since", __name__)
SHOWN = 100  # entries that are listed


def room() -> OfficeSite:
    return current_app.extensions["room"]


@page.get("/totals/since")
def since() -> ResponseReturnValue:
    """With `?edition=` since that one, else since the newest. Before the first edition there is nothing to compare with."""
    here, wanted = room(), request.args.get("edition", "")
    posted = here.editions.posted
    if not posted:
        said = "Nothing is posted yet. Once an edition is posted, this page says what has changed since."
        return render_template("shared/told.html", heading="No edition to compare with", sentence=said)
    number = int(wanted) if wanted.isascii() and wanted.isdigit() and len(wanted) < 6 else posted[-1].number
    one = next((one for one in posted if one.number == number), None) or abort(404)
    try:
        found, edition = changed_since(one.number)
    except Changed as wrong:
        return render_template("shared/told.html", heading="This cannot be compared", sentence=str(wrong)), 409
    came = came_since(one.cut)
    return render_template(
        "desk/totals_since.html",
        one=one,
        posted=list(reversed(posted)),
        changed=[]
        if votes_held.until(here, g.now)
        else [(c, changes.in_words(c.came, edition), fixed(c, edition)) for c in found],
        waiting=[(c.title, n) for c in edition.contests if (n := edition.figures[c.id].ballots_waiting)],
        came=[(kept, checklist.title(kept.kind, "", here.place)) for kept in came[-SHOWN:]],
        more=max(len(came) - SHOWN, 0),
    )


@page.get("/totals/since.pdf")
def since_pdf() -> ResponseReturnValue:
    """The same on paper; with `?to=` as it was in that later edition, and not now."""
    here, posted = room(), room().editions.posted
    one = numbered(request.args.get("edition", ""), posted[-1].number if posted else 0) or abort(404)
    to = numbered(request.args["to"], 0) or abort(404) if request.args.get("to") else None
    if to and to.number <= one.number:
        abort(404)
    try:
        found, edition = changed_between(one.number, to.number) if to else changed_since(one.number)
    except Changed as wrong:
        return render_template("shared/told.html", heading="This cannot be compared", sentence=str(wrong)), 409
    small = f"Whole blocks; fewer than {here.roster.office.small} ballots are shown with others."
    against = f"edition {to.number}, {day_time(to.kept)}" if to else f"what is kept at {day_time(g.now)}; not posted"
    rows = [
        ChangedContest(c, tuple(changes.in_words(c.came, edition)), tuple(fixed(c, edition)))
        for c in ([] if votes_held.until(here, g.now) else found)
    ]
    came = [kept for kept in came_since(one.cut) if to is None or kept.number <= to.cut]
    entries = [(f"{kept.number}", entry_words(kept)) for kept in came[-SHOWN:]]
    head = (
        f"What changed from edition {one.number} to {to.number}" if to else f"What changed since edition {one.number}"
    )
    about = f"Edition {one.number}, {day_time(one.kept)}, against {against}. {small}"
    return pdf(
        changes_pdf(here.roster.office.name, head, about, rows, entries, here.roster.practice),
        f"changes-{one.number}-{to.number if to else 'now'}",
    )


def numbered(text: str, default: int) -> Posted | None:
    """The edition of this number, else of the `default`; None where there is none."""
    number = int(text) if text.isascii() and text.isdigit() and len(text) < 6 else default
    return next((one for one in room().editions.posted if one.number == number), None)


def entry_words(kept: CurrentEntry) -> str:
    """What an entry is, and of which place."""
    place = kept.body.get("place") or kept.body.get("unit")
    return checklist.title(kept.kind, "", room().place) + (f", {room().added.name(place)}" if place else "")


def changed_between(number: int, to: int) -> tuple[list[changes.ContestChange], Edition]:
    """(changes from one posted edition to a later one, the later one as far as its figures go). Raises Changed."""
    _, now = changed_since(number)
    figures = room().editions.figures(to)
    later = replace(now, figures=figures, contests=tuple(c for c in now.contests if c.id in figures))
    return changes.between(room().editions.figures(number), later), later


def changed_since(number: int) -> tuple[list[changes.ContestChange], Edition]:
    """(changes since that edition, the edition as it would be now). Raises Changed.

    Now is drawn up after the newest edition, as blocks only ever come behind those that were published; older figures are only compared."""
    drawn = drawn_now()
    return changes.between(room().editions.figures(number), drawn), drawn


def drawn_now() -> Edition:
    """The edition as it would be now, after the newest one. Raises Changed."""
    here = room()
    with here.lock:
        now, cut = edition_figures.figures_now(here.roster, here.tray, here.added), here.ledger.length
    return edition_figures.drawn_up(
        here.roster,
        here.added,
        now,
        here.editions.figures(),
        here.editions.next,
        g.now,
        cut,
        "unofficial-partial",
        "",
        here.certifying.shown,
    )


def fixed(change: changes.ContestChange, edition: Edition) -> list[str]:
    """Units whose block was corrected over the same ballots."""
    names = edition.names
    return list(dict.fromkeys(names.get(atom.unit, atom.unit) for atom in change.corrected))
