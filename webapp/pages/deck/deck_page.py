"""Deck: which ballots there are, style by style, which are ticked as marked and as checked; the marking sheet of each one tap away; the papers."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from flask import Blueprint, abort, current_app, g, redirect, render_template, request
from flask.typing import ResponseReturnValue

from webapp.deck.fault_words import describe
from webapp.deck.outcome import outcome
from webapp.deck.positions import DeckStyle
from webapp.deck.rows import Row
from webapp.deck.ticked_rows import WHATS
from webapp.pages.deck.deck_site import DeckSite
from webapp.pages.shared import signing
from webapp.pages.shared.claim_form import claim_id, fresh_ids
from webapp.pages.shared.papers import pdf
from webapp.paper.deck_certificate import certificate_pdf
from webapp.paper.deck_tallies import tallies_pdf
from webapp.paper.parts.deck_marking import KINDS, REFUSED, left_empty, lines_to_mark, marking_pdf
from webapp.record.entry import Claim

page = Blueprint("deck", __name__)


@dataclass(frozen=True, slots=True)
class StyleState:
    """A style of the deck and how far its ballots are."""

    id: str
    precincts: str
    rows: int
    marked: int
    checked: int


def room() -> DeckSite:
    return current_app.extensions["room"]


@page.get("/deck")
def deck() -> str:
    here, ticks = room(), room().ticks
    styles = []
    for style in here.deck.plan.styles:
        rows = [row.id for row in here.deck.rows_of(style.id)]
        styles.append(
            StyleState(
                style.id,
                ", ".join(style.precincts),
                len(rows),
                sum(row in ticks.marked for row in rows),
                sum(row in ticks.checked for row in rows),
            )
        )
    return render_template(
        "deck/deck.html",
        deck=here.deck,
        styles=styles,
        cards=[(row, REFUSED[row.why]) for row in here.deck.rows if row.is_refused],
        other=here.other_deck(),
    )


def style_of(name: str) -> DeckStyle:
    return next((style for style in room().deck.plan.styles if style.id == name), None) or abort(404)


@page.get("/deck/style/<name>")
def style(name: str) -> str:
    return show(style_of(name))


def show(one: DeckStyle, mistakes: Mapping[str, str] | None = None, chosen: Sequence[str] = ()) -> str:
    here = room()
    return render_template(
        "deck/style.html",
        style=one,
        rows=here.deck.rows_of(one.id),
        kinds=KINDS,
        ticks=here.ticks,
        mistakes=mistakes or {},
        chosen=chosen,
        values=request.form if mistakes else fresh_ids(()) | {"entry_id": here.new_id().hex()},
    )


@page.post("/deck/style/<name>")
def tick(name: str) -> ResponseReturnValue:
    """Records the chosen rows as ticked by the holder of the tablet; one entry."""
    here, one, form = room(), style_of(name), request.form
    known = [row.id for row in here.deck.rows_of(one.id)]
    rows, what = [row for row in known if row in form.getlist("row")], form.get("what", "")
    if what not in WHATS:
        abort(400, "Press one of the buttons of this page.")
    number = claim_id(form)
    if here.ledger.find(number):
        return redirect(f"/deck/style/{one.id}", 303)  # sent again: it stands already
    mistakes = {}
    if barred := signing.barred_holder():
        mistakes = {"holder": barred}
    elif refused := here.ticks.refusal(what, rows, g.session.holder):
        mistakes = {"": refused}
    if not mistakes:
        claim = Claim(number, "rows-ticked", {"what": what, "rows": rows}, g.now, g.session.tablet, 0)
        outcome = signing.append_claims((claim,), ())
        if outcome.entries:
            return redirect(f"/deck/style/{one.id}", 303)
        mistakes = dict(outcome.mistakes)
    return show(one, mistakes, rows), 422


@page.get("/deck/row/<name>")
def row(name: str) -> str:
    """The marking sheet of one ballot."""
    here = room()
    found: Row = next((row for row in here.deck.rows if row.id == name), None) or abort(404)
    if found.is_refused:
        return render_template("deck/card.html", row=found, says=REFUSED[found.why])
    one = style_of(found.style)
    ids = [other.id for other in here.deck.rows_of(one.id)]
    at = ids.index(name)
    return render_template(
        "deck/row.html",
        row=found,
        style=one,
        kind=KINDS[found.kind],
        lines=list(lines_to_mark(one, found)),
        empty=left_empty(one, found),
        ticks=here.ticks,
        before=ids[at - 1] if at else "",
        after=ids[at + 1] if at + 1 < len(ids) else "",
    )


@page.get("/deck/marking.pdf")
def marking() -> ResponseReturnValue:
    return pdf(marking_pdf(room().place, room().deck), f"{room().place.id}-marking")


@page.get("/deck/tallies.pdf")
def tallies() -> ResponseReturnValue:
    return pdf(tallies_pdf(room().place, room().deck), f"{room().place.id}-tallies")


@page.get("/deck/certificate.pdf")
def certificate() -> ResponseReturnValue:
    here = room()
    hidden = tuple(describe(here.deck.plan, one) for one in here.played.hidden)
    return pdf(
        certificate_pdf(here.place, here.deck, here.played.total, hidden, outcome(here.round, here.day.seals.on)),
        f"{here.place.id}-certificate-of-the-test",
    )
