"""Compares one tape with the place file of the edition before: whether the memory was made before the change. The file is read and not kept."""

from collections.abc import Mapping

from flask import Blueprint, abort, current_app, render_template, request
from flask.typing import ResponseReturnValue

from webapp.deck import comparison, diagnosis, fault_words
from webapp.deck.oval_faults import fault
from webapp.deck.pattern import NoDeck
from webapp.deck.plan import plan
from webapp.deck.positions import DeckPlan
from webapp.gate.signed_place_file import LIMIT
from webapp.packet import cose
from webapp.pages.deck.deck_site import DeckSite
from webapp.precinct.place import place_file

page = Blueprint("edition", __name__)


class NotOfThisPlace(Exception):
    """A file that cannot be compared with: one sentence."""


def room() -> DeckSite:
    return current_app.extensions["room"]


@page.get("/compared/<at>/edition")
def edition(at: str) -> str:
    return show(at)


def show(at: str, said: tuple[str, str] | tuple[()] = (), mistakes: Mapping[str, str] | None = None) -> str:
    here = room()
    if at not in here.deck.plan.tabulators:
        abort(404)
    if here.round.tape(at) is None:
        abort(409, f"The tape of {at} is not typed in this round. Type it first.")
    return render_template("deck/edition.html", at=at, said=said, mistakes=mistakes or {})


@page.post("/compared/<at>/edition")
def hold_against(at: str) -> ResponseReturnValue:
    """What the typed tape is by the ovals of the edition before."""
    here = room()
    tape = here.round.tape(at)
    sent = request.files.get("file")
    if tape is None or at not in here.deck.plan.tabulators:
        return show(at)
    try:
        if not sent or not sent.filename:
            raise NotOfThisPlace("Choose the place file of the edition before.")
        before = edition_in(sent.stream.read(LIMIT + 1), here)
    except NotOfThisPlace as wrong:
        return show(at, mistakes={"file": str(wrong)}), 422
    found = comparison.compare(here.deck, tape, before)
    effect = diagnosis.edition_effect(here.deck, found, before)
    off = sum(effect.get(cell, 0) != found.effect.get(cell, 0) for cell in found.compared)
    return show(at, in_words(here, before.edition, found.equal, off, len(found.compared)))


def in_words(here: DeckSite, edition: str, equal: bool, off: int, cells: int) -> tuple[str, str]:
    """(heading, what follows): `off` figures are other than a memory of that edition would give."""
    if off:
        return (
            f"This is not the tape of edition {edition}",
            f"{off} of its {cells} figures are not those that edition would give.",
        )
    if equal:
        return (
            f"Edition {edition} would give the same tape",
            "Its ovals are in the same places. No figure tells the two apart, only the card X-001.",
        )
    look = fault_words.where_to_look(here.deck.plan, fault("edition"))
    return f"This is the tape of edition {edition}", f"The memory was made before the change. {look}"


def edition_in(data: bytes, here: DeckSite) -> DeckPlan:
    """The plan of a place file of this place, signed or plain. Raises `NotOfThisPlace`."""
    if len(data) > LIMIT:
        raise NotOfThisPlace("This file is too large for a place file. Choose the place file of the edition before.")
    try:
        if data.startswith(b"\xd2"):
            data = cose.taken_apart(data).payload
        place = place_file.read(data)
    except (cose.PacketRefused, place_file.Mistakes):
        raise NotOfThisPlace(
            "This is not a place file that can be read. Choose place.cose, or the TOML file, of the edition before."
        ) from None
    if place.id != here.place.id:
        raise NotOfThisPlace(f"This place file is of {place.id}, and the test is of {here.place.id}.")
    if place.digest == here.place.digest:
        raise NotOfThisPlace("This is the place file of this test itself. Choose the one of the edition before.")
    try:
        return plan(place)
    except NoDeck as wrong:
        raise NotOfThisPlace(str(wrong)) from None
