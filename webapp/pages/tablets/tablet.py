"""This tablet: who holds it, and whether its screen is light or dark."""

from collections.abc import Mapping

from flask import Blueprint, current_app, g, redirect, render_template, request
from flask.typing import ResponseReturnValue

from webapp.pages.shared import request_guard, signing
from webapp.pages.tablets.pairing import LEVELS

page = Blueprint("tablet", __name__)


def back() -> str:
    """Where to go on: a path of this server only."""
    wanted = request.values.get("back", "")
    return (
        wanted
        if wanted.startswith("/") and not wanted.startswith("//") and "\\" not in wanted
        else current_app.extensions["room"].start
    )


@page.get("/tablet")
def tablet() -> str:
    return show({})


def show(mistakes: Mapping[str, str]) -> str:
    here = current_app.extensions["room"]
    holder = here.people.official(g.session.holder) if g.session.holder else None
    return render_template(
        "tablets/tablet.html",
        holder=holder,
        people=signing.candidates("1"),
        mistakes=mistakes,
        values=request.form,
        back=back(),
        paired=here.gate.tablets.get(g.session.tablet),
        levels=LEVELS,
    )


@page.post("/tablet/take")
def take() -> ResponseReturnValue:
    """A person takes this tablet with their PIN: what is ticked on it from now on carries their name."""
    official, mistakes = signing.authenticate(request.form, "1")
    if official is None:
        return show(mistakes), 422
    g.fresh = False
    return request_guard.with_handle(
        redirect(back(), 303), current_app.extensions["room"].gate.sessions.take(g.session.tablet, official.id, g.now)
    )


@page.post("/tablet/leave")
def leave() -> ResponseReturnValue:
    current_app.extensions["room"].gate.sessions.leave(g.session.tablet)
    return redirect("/tablet", 303)


@page.post("/tablet/light")
def light() -> ResponseReturnValue:
    """Day, night, or as the tablet itself is set."""
    answer = redirect("/tablet", 303)
    answer.set_cookie(
        f"{request_guard.cookie_name()}-light",
        request.form.get("light", ""),
        samesite="Strict",
        httponly=True,
        secure=request.is_secure,
        max_age=7 * 86400,
    )
    return answer
