"""A corrected return: who opens it and why, every figure that is written differently, what that changes, and two signatures. The return itself stays."""

import re
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from flask import Blueprint, abort, current_app, redirect, render_template, request
from flask.typing import ResponseReturnValue
from werkzeug.datastructures import MultiDict

from webapp.canvass.corrected_return import OPENED, CorrectedFigure
from webapp.office.canvassing import corrected_returns
from webapp.office.canvassing.editions import Changed
from webapp.office.checking import split_returns
from webapp.office.questions.findings import GROUPS, FigureAddress, spots
from webapp.office.received.received_packets import PacketFigures
from webapp.pages.desk.shared import votes_held
from webapp.pages.desk.shared.named_place import known
from webapp.pages.desk.site.office_site import OfficeSite
from webapp.pages.shared import signing
from webapp.pages.shared.awaiting import Draft
from webapp.pages.shared.claim_form import claim, fresh
from webapp.precinct.checklist.field_parsers import InvalidInput, number
from webapp.precinct.checklist.form_input import LONGEST
from webapp.precinct.place import plain_words

page = Blueprint("corrected", __name__)
ADDED = re.compile(r"[-+]?[0-9]{1,6}")


def room() -> OfficeSite:
    return current_app.extensions["room"]


class Return:
    """The return of one place as the page speaks of it: as sent, as it counts now, and the figures that may be corrected here."""

    def __init__(self, place: str):
        here = room()
        self.file = known(place)
        sent, counts = here.tray.sent(place), here.tray.counts(place)
        if sent is None or counts is None:
            abort(404)
        self.sent: PacketFigures = sent
        self.now: PacketFigures = counts[1]
        self.stamp = here.tray.stamp(place)
        self.earlier = here.tray.findings.get(place, [])
        self.alone = frozenset() if votes_held.until(here, here.now()) else here.tray.over_all.alone(place)
        self.recounted = here.tray.recounts.get(place, {})
        self.spots = [spot for spot in spots(self.now.core, self.now.place) if self.open(spot)]

    def open(self, spot: FigureAddress) -> bool:
        """Whether the figure may be seen here: votes only of contests whose votes this place is shown with alone, and that were not recounted."""
        kind, *parts = spot.id.split("/")
        again = kind in ("votes", "apart") and set(self.recounted).intersection(parts)
        return not again and split_returns.may_be_seen(spot.id, self.now.core, self.alone, room().roster.office.small)

    def groups(self) -> list[tuple[str, list[FigureAddress]]]:
        """Returns (group, its figures) of the return; groups without a figure are left out."""
        found = [(name, [spot for spot in self.spots if spot.group == name]) for name in GROUPS]
        return [(name, rows) for name, rows in found if rows]


@page.get("/corrected/<place>")
def corrected(place: str) -> str:
    """Every figure of the return; what is left empty stays as it is."""
    return form_page(Return(place), fresh(), {})


def form_page(one: Return, values: Mapping[str, Any], mistakes: Mapping[str, str]) -> str:
    return render_template(
        "desk/corrected.html",
        one=one,
        groups=one.groups(),
        opened=list(OPENED.items()),
        typed={spot.group for spot in one.spots if values.get(f"is.{spot.id}")},
        mistakes=mistakes,
        values=values,
    )


@page.post("/corrected/<place>")
def look_or_sign(place: str) -> ResponseReturnValue:
    """First what the correction changes, then the signatures under it; "again" leads back to the figures, with all that was typed."""
    one, form = Return(place), request.form
    if form.get("do") == "again":
        return form_page(one, form, {})
    if all_kept(one, form):
        return redirect(f"/place/{place}#findings", 303)
    figures, mistakes = read(one, form)
    if form.get("stamp", one.stamp) != one.stamp:
        mistakes[""] = (
            "What counts for this place changed since this page was opened. Look at the figures again, then sign."
        )
    if mistakes:
        return form_page(one, form, mistakes), 422
    try:
        moved = moves(one, figures, int(form["ballots_added"]))
    except Changed as wrong:
        return render_template("shared/told.html", heading="Nothing can be corrected now", sentence=str(wrong)), 409
    if form.get("do") != "sign":
        return look_page(one, figures, moved, form, {})
    if moved.out_of_step and form.get("as_paper") != "yes":
        mistakes["as_paper"] = "Look at the paper again. If it says so, tick that it does."
    if not mistakes:
        outcome = signing.sign(Draft(claims(one, figures, form), "P", f"/place/{place}#findings"), form)
        mistakes = dict(outcome.mistakes)
        if on := signing.where_next(outcome, f"/place/{place}#findings"):
            return on
    return look_page(one, figures, moved, form, mistakes), 422


def moves(one: Return, figures: list[CorrectedFigure], added: int) -> corrected_returns.WhatMoves:
    here = room()
    with here.lock:
        new = corrected_returns.corrected(one.sent, one.earlier, figures, one.recounted)
        before, sums = here.editions.figures(), here.tables.sums()
        return corrected_returns.moves(one.now, new, added, sums, here.roster, here.tray, here.added, before)


def look_page(one: Return, figures: Any, moved: Any, values: Mapping[str, Any], mistakes: Mapping[str, str]) -> str:
    edition = room().editions.posted[-1].number if room().editions.posted else 0
    return render_template(
        "desk/corrected_look.html",
        one=one,
        figures=figures,
        moved=moved,
        edition=edition,
        opened=OPENED,
        people=signing.candidates("P"),
        typed=[(name, value) for name, value in values.items() if name.startswith("is.") and value.strip()],
        mistakes=mistakes,
        values=values,
    )


def read(one: Return, form: MultiDict[str, str]) -> tuple[list[CorrectedFigure], dict[str, str]]:
    """The figures that are written differently, and what to correct, by input name."""
    mistakes: dict[str, str] = {}
    found = []
    for spot in one.spots:
        text = form.get(f"is.{spot.id}", "").strip()
        if not text:
            continue
        try:
            n = number(text)
        except InvalidInput:
            mistakes[f"is.{spot.id}"] = f"{spot.words}: enter the figure in digits."
            continue
        if n != spot.value:
            found.append(CorrectedFigure(spot.id, spot.words, spot.value, n))
    if not found and not mistakes:
        mistakes[""] = "No figure is written differently. Enter what is right beside the figures that are wrong."
    if form.get("opened") not in OPENED:
        mistakes["opened"] = "Choose who opens this correction."
    if not ADDED.fullmatch(form.get("ballots_added", "").strip()):
        mistakes["ballots_added"] = (
            "Enter how many ballots were added: 0 if they are the same, -2 if there are two fewer."
        )
    why = form.get("what", "").strip()
    if not why:
        mistakes["what"] = "Enter what was wrong, how it was found, and by whom it was seen. No names of voters."
    elif wrong := plain_words.mistake(why, LONGEST):
        mistakes["what"] = wrong
    return found, mistakes


def all_kept(one: Return, form: MultiDict[str, str]) -> bool:
    """Whether this very form made its entries already: the answer was lost, and it is sent again."""
    try:
        base = bytes.fromhex(form.get("entry_id", ""))
    except ValueError:
        return False
    ids = [corrected_returns.entry_id(base, spot.id) for spot in one.spots if form.get(f"is.{spot.id}", "").strip()]
    return form.get("do") == "sign" and any(room().ledger.find(id) for id in ids)


def claims(one: Return, figures: list[CorrectedFigure], form: MultiDict[str, str]) -> tuple[Any, ...]:
    """An entry for each figure, signed in one act; each says what the packet has there and who opened the correction."""
    sent = {spot.id: spot.value for spot in spots(one.sent.core, one.sent.place)}
    base, made = claim("desk-finding", {}, None, form, {}), []
    for figure in figures:
        body = {
            "place": one.file.id,
            "figure": figure.figure,
            "label": figure.words,
            "was": sent.get(figure.figure),
            "is": figure.is_,
            "ballots_added": int(form["ballots_added"]),
            "board": form["opened"] == "board",
            "opened": form["opened"],
            "act": base.id,
        }
        one_claim = claim("desk-finding", body, None, form, {"what": form["what"].strip()})
        made.append(replace(one_claim, id=corrected_returns.entry_id(base.id, figure.figure)))
    return tuple(made)
