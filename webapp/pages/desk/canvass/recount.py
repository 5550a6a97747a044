"""Recounts: who ordered one and of what, how the container was found, whether the ballots may be recounted, and every recounted row next to the old one."""

import csv
import io
from collections.abc import Mapping
from typing import Any

from flask import Blueprint, abort, current_app, g, render_template, request
from flask.typing import ResponseReturnValue
from werkzeug.datastructures import MultiDict

from webapp.canvass import recounts as rules
from webapp.canvass.atoms import Atom
from webapp.canvass.counts import Row
from webapp.canvass.edition import Way
from webapp.canvass.envelopes import COUNTY
from webapp.canvass.recounts import BY, HOW, PAPERS, Opening
from webapp.office.canvassing.editions import Changed
from webapp.office.questions.findings import overlaid
from webapp.pages.desk.shared import votes_held
from webapp.pages.desk.site.office_site import OfficeSite
from webapp.pages.shared import signing
from webapp.pages.shared.awaiting import Draft
from webapp.pages.shared.claim_form import claim, fresh
from webapp.precinct.checklist.field_parsers import InvalidInput, number
from webapp.precinct.place import plain_words

page = Blueprint("recount", __name__)
SEAL_STATES = (("yes", "It was whole and bore this number"), ("no", "It was broken, missing, or bore another number"))


def room() -> OfficeSite:
    return current_app.extensions["room"]


class Unit:
    """What can be recounted of one unit: its ways with their parts, its contests, and the rows before a recount."""

    def __init__(self, unit: str):
        here = room()
        if unit == COUNTY or not here.added.is_unit(unit):
            abort(404)
        self.id, self.name = unit, here.added.name(unit)
        self.contests = here.added.contests(unit)
        file = here.roster.places.get(unit)
        self.own = here.added.way_of_return(unit)  # the way of the return's own ballots
        self.with_places = bool(
            here.added.of_boards.get(unit)
        )  # a board's votes that stand with each place: recounted there
        self.returned = here.tray.counts(unit) if file and not self.with_places else None
        self.ways: list[tuple[Way, list[int]]] = [
            (way, [1] if way.id == self.own and self.returned else counted(unit, way.id))
            for way in here.roster.office.ways
        ]
        self.ways = [row for row in self.ways if row[1]]

    def way(self, name: str) -> Way:
        """Returns the way of voting with this id; answers 404 where this unit has none."""
        return next((way for way, _ in self.ways if way.id == name), None) or abort(404)

    def was(self, atom: Atom) -> tuple[bytes, dict[str, Row]]:
        """(digest of the return or id of the count, rows by contest) as they were before any recount."""
        here = room()
        if atom.way == self.own and self.returned:
            sent = here.tray.sent(self.id) or abort(404)
            core = overlaid(sent.core, sent.place, here.tray.findings.get(self.id, []))
            return self.returned[0], {id: tuple(row) for id, row in core["contests"].items()}
        found = here.added.counts.get(atom)
        return (found.count.id, dict(found.count.contests)) if found and found.count else (b"", {})

    def ballots(self, atom: Atom) -> int | None:
        """Returns the ballots of these as they count now; None where no return or count is in force."""
        here = room()
        if atom.way == self.own:
            one = here.board.places.get(self.id)
            return one.ballots if one else None
        found = here.added.counts.get(atom)
        return found.count.ballots if found and found.count else None

    def may_show(self, atom: Atom, contest: str) -> bool:
        """Whether votes of this contest may be shown for this unit by itself."""
        here = room()
        if votes_held.until(here, g.now):
            return False
        if atom.way == self.own:
            return contest in here.tray.over_all.alone(self.id)
        row = self.was(atom)[1].get(contest)
        carried = (row[-1] if row and row[-1] is not None else self.ballots(atom)) or 0
        return carried >= here.roster.office.small


def counted(unit: str, way: str) -> list[int]:
    """The parts of one way that were counted after the night and are in force."""
    return [part.count.part for part in room().added.parts(unit, way) if part.count]


@page.get("/recount")
def recounts() -> str:
    """Every unit that was ordered to be recounted, and what is still to do."""
    here = room()
    rows = []
    for unit in here.added.recounts.units():
        one = Unit(unit)
        open_ = [atom for atom in asked(one) if not here.added.recounts.of(atom)]
        rows.append((unit, one.name, here.added.recounts.ordered(unit), len(open_)))
    return render_template(
        "desk/recounts.html",
        rows=rows,
        by=BY,
        against=[(atom, contest, here.added.name(atom.unit)) for atom, contest in here.added.recounts.against()],
        places=[(place.id, place.name) for place in here.roster.places.values() if here.tray.in_totals(place.id)][:100],
    )


def asked(one: Unit) -> list[Atom]:
    """The ballots of this unit that its orders name and that it has."""
    ways = {way for order in room().added.recounts.ordered(one.id) for way in order.ways}
    return [Atom(one.id, way.id, part) for way, parts in one.ways if way.id in ways for part in parts]


@page.get("/recount/<unit>")
def recount(unit: str) -> str:
    return unit_page(Unit(unit), {}, {}, "")


def unit_page(one: Unit, values: Mapping[str, Any], mistakes: Mapping[str, str], form: str) -> str:
    """`form`: which of the two forms was refused: order or opened."""
    here = room()
    opening = here.added.recounts.opened(one.id)
    return render_template(
        "desk/recount.html",
        one=one,
        orders=here.added.recounts.ordered(one.id),
        by=BY,
        how=HOW,
        papers=list(PAPERS.items()),
        seal_states=SEAL_STATES,
        opening=opening,
        conditions=list(rules.conditions(opening, ballots_known(one), *gaps(one, opening))),
        rows=[(atom, one.way(atom.way), results(one, atom)) for atom in asked(one)],
        title={contest.id: contest.title for contest in one.contests},
        container=container(one),
        people=signing.candidates("P"),
        form=form,
        mistakes=mistakes,
        values=values or fresh(),
        blank=fresh(),
    )


def container(one: Unit) -> tuple[str, str]:
    """(container, seal) that the return names for its ballots; "" where it names none."""
    rows = one.returned[1].core.get("containers", ()) if one.returned else ()
    first = next((row for row in rows if row.get("seal")), None)
    return (str(first["id"]), str(first["seal"])) if first else ("", "")


def ballots_known(one: Unit) -> dict[str, int | None]:
    found = room().board.places.get(one.id)
    return {"book": found.book, "tape": found.tape, "canvass": found.ballots} if found else {}


def gaps(one: Unit, opening: Opening | None) -> tuple[int | None, int | None]:
    """(by how many the place was certified out of balance, by how many the ballots in the container are out of its poll book)."""
    book = ballots_known(one).get("book")
    now = opening.ballots[0] - book if opening and book is not None else None
    return frozen_gap(one.id), now


def frozen_gap(place: str) -> int | None:
    """The poll-book gap of a place as it was frozen with the newest certified edition; None where nothing is certified."""
    editions = room().editions
    newest = next((one for one in reversed(editions.posted) if one.status == "certified"), None)
    if newest is None:
        return None
    try:
        data = editions.data(newest.number, "reconciliation.csv")["reconciliation.csv"].decode()
    except (Changed, KeyError):
        return None
    row = next((row for row in csv.DictReader(io.StringIO(data)) if row["place"] == place), None)
    return int(row["gap_poll_book"]) if row and row["gap_poll_book"] else None


def results(one: Unit, atom: Atom) -> list[tuple[Any, ...]]:
    """(recount, its entry, [(title, lines before and after, or None where votes are not shown)]) of every recount of these ballots."""
    here, before = room(), one.was(atom)[1]
    known = {contest.id: contest for contest in one.contests}
    tips = {tip.id for tip in here.added.recounts.tips(atom)}
    return [
        (
            kept,
            here.day.entry(kept.number),
            kept.id in tips,
            [
                (
                    known[id].title,
                    rules.compared(before.get(id), row, known[id]) if one.may_show(atom, id) else None,
                )
                for id, row in kept.contests.items()
                if id in known
            ],
        )
        for kept in here.added.recounts.of(atom)
    ]


@page.post("/recount/<unit>/order")
def order(unit: str) -> ResponseReturnValue:
    """The order, as it came: of which contests and ways, by whom, under which number. Signed by two parties."""
    one, form, mistakes = Unit(unit), request.form, {}
    contests = [c.id for c in one.contests if c.id in form.getlist("contests")]
    ways = [way.id for way, _ in one.ways if way.id in form.getlist("ways")]
    if not contests:
        mistakes["contests"] = "Tick the contests that are recounted."
    if not ways:
        mistakes["ways"] = "Tick the ways of voting that are recounted."
    if form.get("by") not in BY:
        mistakes["by"] = "Choose who ordered the recount."
    if form.get("how") not in HOW:
        mistakes["how"] = "Choose how it is recounted."
    mistakes |= text_mistake(form, "order", 40, "Enter the number or the date of the order, such as 26-114.")
    if not mistakes:
        body = {"units": [unit], "ways": ways, "contests": contests, "by": form["by"]}
        body |= {"order": form["order"].strip(), "how": form["how"]}
        if answer := signed("recount-ordered", body, form, unit, mistakes):
            return answer
    return unit_page(one, form, mistakes, "order"), 422


@page.post("/recount/<unit>/opened")
def opened(unit: str) -> ResponseReturnValue:
    """The container: seal first, then the number of ballots, counted twice. Signed by two parties."""
    one, form, mistakes = Unit(unit), request.form, {}
    if not room().added.recounts.ordered(unit):
        mistakes[""] = "No recount of this unit is ordered. Enter the order first."
    mistakes |= text_mistake(form, "container", 24, "Enter the container, as it is labeled.")
    mistakes |= text_mistake(form, "seal", 24, "Enter the number on the seal, or: none.")
    if form.get("seal_right") not in ("yes", "no"):
        mistakes["seal_right"] = "Choose how the seal was found."
    counts = []
    for name, words in (("count_first", "first"), ("count_second", "second")):
        try:
            counts.append(number(form.get(name, "").strip()))
        except InvalidInput:
            mistakes[name] = f"Enter the {words} count of the ballots in the container, in digits."
    if not mistakes:
        body = {
            "unit": unit,
            "container": form["container"].strip(),
            "seal": form["seal"].strip(),
            "seal_right": form["seal_right"] == "yes",
            "number_in": [paper for paper in PAPERS if paper in form.getlist("number_in")],
            "ballots": {"counts": counts},
        }
        if answer := signed("recount-opened", body, form, unit, mistakes):
            return answer
    return unit_page(one, form, mistakes, "opened"), 422


def text_mistake(form: MultiDict[str, str], name: str, most: int, missing: str) -> dict[str, str]:
    text = form.get(name, "").strip()
    wrong = plain_words.mistake(text, most) if text else missing
    return {name: wrong} if wrong else {}


def signed(
    kind: str, body: dict[str, Any], form: MultiDict[str, str], unit: str, mistakes: dict[str, str]
) -> ResponseReturnValue | None:
    """The way on once somebody signed; None with the mistakes filled in."""
    outcome = signing.sign(Draft((claim(kind, body, None, form, {}),), "P", f"/recount/{unit}"), form)
    mistakes |= dict(outcome.mistakes)
    return signing.where_next(outcome, f"/recount/{unit}")
