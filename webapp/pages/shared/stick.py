"""The stick: how far the copy of the record is, and another path for it, typed at the laptop itself by somebody who signs."""

from collections.abc import Mapping

from flask import Blueprint, abort, current_app, render_template, request
from flask.typing import ResponseReturnValue

from webapp.pages.shared import signing
from webapp.pages.shared.site import Site

page = Blueprint("stick", __name__)
LONGEST = 1000  # letters of a path


def room() -> Site:
    return current_app.extensions["room"]


@page.get("/stick")
def stick() -> str:
    return show({})


def show(mistakes: Mapping[str, str]) -> str:
    at_the_laptop()
    here = room()
    return render_template(
        "shared/stick.html",
        line=here.stick(),
        words=here.stick_words(),
        notice=here.stick_notice(),
        path=str(here.backup.task.stick) if here.backup else "",
        people=signing.candidates("1"),
        mistakes=mistakes,
        values=request.form,
    )


@page.post("/stick")
def choose() -> ResponseReturnValue:
    """Somebody with a PIN says where the copy goes from now on; the stick that is there already takes what it lacks."""
    at_the_laptop()
    form, chosen = request.form, room().choose_stick or abort(404)
    path = form.get("path", "").strip()
    mistakes = {} if 0 < len(path) <= LONGEST else {"path": "Enter the path of the stick, from the root on."}
    if not mistakes:
        signer, mistakes = signing.authenticate(form, "1")
        if signer and (refused := chosen(path)):
            mistakes = {"path": refused}
    return (show(mistakes), 422) if mistakes else show({})


def at_the_laptop() -> None:
    """A stick is in the laptop: tablets have no such page, and a server that was started without the means neither."""
    if current_app.config["DOOR"] != "laptop" or room().choose_stick is None:
        abort(404)
