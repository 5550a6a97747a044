"""Pairing: the laptop shows a code, a tablet comes with it, somebody at the laptop admits it; later it is removed.

`/tablets` is answered on the laptop's own door only, `/pair` on the tablets' door only. Admitting and removing are
signed entries; a tablet that may still hold entries is removed by two parties, since what it holds will then not be
in the packet.
"""

from collections.abc import Mapping
from typing import Any

from flask import Blueprint, abort, current_app, g, jsonify, redirect, render_template, request
from flask.typing import ResponseReturnValue

from webapp.gate.gate import GateRefused
from webapp.gate.tablets import Paired
from webapp.pages.shared import request_guard, signing
from webapp.pages.shared.awaiting import Draft
from webapp.pages.shared.claim_form import claim, fresh

page = Blueprint("pairing", __name__)
LIMITS = {"/pair": 4096, "/tablets": 16384}
WHYS = (
    ("lost", "It is lost, or its battery died"),
    ("broken", "It is broken"),
    ("other-hands", "It was in other hands"),
    ("put-away", "It is not needed any more"),
)

LEVELS = {
    "full": "Full: this tablet goes on when the laptop is out of reach, and holds what is noted until it answers.",
    "online": "Online only: this tablet works within reach of the laptop and holds nothing.",
}


def room() -> Any:  # what a shared page takes of it lies in the site of its folder
    return current_app.extensions["room"]


def only(door: str) -> None:
    if current_app.config["DOOR"] != door:
        abort(404)


# --- at the laptop


@page.get("/tablets")
def tablets() -> ResponseReturnValue:
    """The list of tablets; a person who comes here on a tablet, having signed second, goes on to that tablet's page."""
    return show({}) if current_app.config["DOOR"] == "laptop" else redirect("/tablet", 303)


def thing() -> str:
    """What is paired and admitted here: "desk" at the office, "tablet" at a place."""
    return "desk" if room().role_of_room == "office" else "tablet"


def show(mistakes: Mapping[str, str], code: str = "", about: str = "") -> str:
    """Every tablet, at the office every desk, with its level and what may be done; a code when one was just asked for.

    about: the form that the mistakes are in, "admit-B" or "strike-B".
    """
    here = room()
    owed = dict(here.tablets_owed())
    rows = [(one, owed.get(one.id, ""), here.gate.contacts.of(one.id)) for one in here.gate.tablets.all()]
    people = {one.id: signing.candidates("P" if one.id in owed else "1") for one, _, _ in rows if not one.revoked}
    return render_template(
        "tablets/tablets.html",
        thing=thing(),
        rows=rows,
        people=people,
        whys=WHYS,
        levels=LEVELS,
        code=code,
        seconds=here.gate.tablets.seconds_left(),
        guessed=guessed(here.gate.tablets.wrong_codes()),
        mistakes=mistakes,
        about=about,
        values=request.form if mistakes else fresh(),
    )


def guessed(wrong: Mapping[str, int]) -> str:
    """What is said of wrong codes that came since the start; "" when none did."""
    if not wrong:
        return ""
    most, times = next(iter(wrong.items()))
    where = (
        f"all from {most}"
        if len(wrong) == 1
        else f"from {len(wrong)} addresses, {times} of them from {most or 'others'}"
    )
    return (
        f"{sum(wrong.values())} wrong code{'s' if sum(wrong.values()) > 1 else ''} came in, {where}. If that is not the {thing()} you are pairing, somebody else is guessing: "
        f"your {thing()} has tries of its own, and a right code alone lets nobody in."
    )


@page.post("/tablets/code")
def code() -> str:
    """A fresh code on the screen of the laptop. Anybody at the laptop may ask for one; it admits nobody."""
    only("laptop")
    return show({}, room().gate.tablets.invite())


@page.post("/tablets/<tablet>/admit")
def admit(tablet: str) -> ResponseReturnValue:
    only("laptop")
    one = room().gate.tablets.get(tablet) or abort(404)
    if one.revoked or one.admitted:
        abort(409, f"{thing().capitalize()} {tablet} {'was removed' if one.revoked else 'is admitted already'}.")
    return append_own(f"admit-{tablet}", "paired", {"tablet": tablet, "level": one.level}, "1")


@page.post("/tablets/<tablet>/strike")
def strike(tablet: str) -> ResponseReturnValue:
    """Removes a tablet for the night: by one person, or by two parties while it may hold entries."""
    only("laptop")
    one = room().gate.tablets.get(tablet) or abort(404)
    if one.revoked:
        abort(409, f"{thing().capitalize()} {tablet} was removed already.")
    if request.form.get("why") not in dict(WHYS):
        return show({"why": f"Select why {thing()} {tablet} is removed."}, about=f"strike-{tablet}"), 422
    held = room().gate.contacts.of(tablet)
    body = {"tablet": tablet, "why": request.form["why"], "held": held.held if held else None}
    return append_own(f"strike-{tablet}", "revoked", body, "P" if tablet in dict(room().tablets_owed()) else "1")


def append_own(form: str, kind: str, body: dict[str, Any], weight: str) -> ResponseReturnValue:
    outcome = signing.sign(Draft((claim(kind, body, None, request.form, {}),), weight, "/tablets"), request.form)
    if outcome.waiting:
        return redirect(f"/sign/{outcome.waiting}", 303)
    if outcome.entries:
        return redirect(room().after_entries("/tablets", outcome.entries), 303)
    return show(outcome.mistakes, about=form), 422


# --- at the tablet


@page.get("/pair")
def pair() -> ResponseReturnValue:
    """The code's form; once it was right, the letter of this tablet, until it is admitted."""
    only("tablets")
    one = asking()
    if one and one.admitted:
        return redirect("/tablet", 303)
    return show_pair(one, {})


def show_pair(one: Paired | None, mistakes: Mapping[str, str]) -> str:
    return render_template(
        "desk/pair_desk.html" if room().role_of_room == "office" else "tablets/pair.html",
        one=one,
        ended=bool(g.handle) and not g.session.tablet,
        levels=LEVELS,
        mistakes=mistakes,
        values={},
    )


def asking() -> Paired | None:
    return room().gate.tablets.get(g.session.tablet) if g.session.tablet else None


@page.post("/pair")
def ask() -> ResponseReturnValue:
    only("tablets")
    if asking():
        return redirect("/pair", 303)
    try:
        _, handle = room().gate.tablets.ask(
            request.form.get("code", ""),
            request.form.get("level", ""),
            g.now,
            room().tablets_in_record(),
            request.remote_addr or "",
        )
    except GateRefused as refused:
        return show_pair(None, {"code": str(refused)}), 422
    return request_guard.with_handle(redirect("/pair", 303), handle)


@page.post("/tablet/level")
def level() -> ResponseReturnValue:
    """What the tablet's own test finds, whenever it finds another level: an entry of the laptop's."""
    only("tablets")
    found = request.form.get("level", "")
    if room().gate.tablets.set_level(g.session.tablet, found):
        room().laptop_says("paired", {"tablet": g.session.tablet, "level": found})
    return jsonify(level=found) if request.accept_mimetypes.best == "application/json" else redirect("/tablet", 303)
