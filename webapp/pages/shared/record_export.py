"""The record as one file for an archive, saved at the laptop itself by somebody who signs; that it was exported is an entry."""

import hashlib
from collections.abc import Mapping
from typing import Any

from flask import Blueprint, Response, abort, current_app, g, render_template, request
from flask.typing import ResponseReturnValue

from webapp.pages.shared import signing
from webapp.pages.shared.awaiting import Draft
from webapp.pages.shared.claim_form import claim, fresh
from webapp.record.refusals import RecordRefused
from webapp.stick.copier import OFFICE_FILE
from webapp.stick.export import pieces, whole_header
from webapp.version import VERSION

page = Blueprint("record_export", __name__)
HIDDEN = "Some entries are hidden until they are counted, or keyed a second time. Export the record when every entry can be read."
WORDS = (
    ("yes", "With the free words: remarks, reasons, names that were typed"),
    ("no", "Without them; the file can be checked all the same"),
)


def room() -> Any:  # what a shared page takes of it lies in the site of its folder
    return current_app.extensions["room"]


def whose() -> tuple[str, str, str, bytes]:
    """What the file says of itself: "place" or "office", its id, its mode, the SHA-256 of its file."""
    here = room()
    if here.role_of_room == "place":
        return "place", here.place.id, here.place.mode, here.place.digest
    digest = hashlib.sha256((here.folder / OFFICE_FILE).read_bytes()).digest()
    return "office", here.roster.office.id, "practice" if here.practice else "live", digest


def at_the_laptop() -> None:
    """A file is saved on the computer that asks for it: tablets have no such page."""
    if current_app.config["DOOR"] != "laptop":
        abort(404)


def hidden() -> bool:
    """Whether the file would show what no page shows now."""
    day = room().day
    return any(day.hidden(entry) for entry in day.entries)


@page.get("/record/export")
def export() -> str:
    at_the_laptop()
    if hidden():
        return render_template("shared/told.html", heading="The record is not exported yet", sentence=HIDDEN)
    return show(fresh(), {})


def show(values: Mapping[str, Any], mistakes: Mapping[str, str]) -> str:
    people = signing.candidates("1")
    return render_template("shared/record_export.html", values=values, mistakes=mistakes, people=people, words=WORDS)


@page.post("/record/export")
def save() -> ResponseReturnValue:
    """Sign that the record leaves, then give the file with that entry in it."""
    at_the_laptop()
    form, here = request.form, room()
    if hidden():
        return render_template("shared/told.html", heading="The record is not exported yet", sentence=HIDDEN), 409
    if form.get("words") not in dict(WORDS):
        return show(form, {"words": "Choose whether the free words are included."}), 422
    with_words = form["words"] == "yes"
    body = {"with_words": with_words, "after": here.ledger.length}
    outcome = signing.sign(Draft((claim("exported", body, g.now, form, {}),), "1", "/record/export", ""), form)
    if not outcome.entries:
        return show(form, outcome.mistakes), 422
    what, name, mode, digest = whose()
    header = whole_header(here.ledger.record_id, what, name, mode, digest, g.now, VERSION)
    try:
        data = b"".join(pieces(here.ledger.path, header, with_words))
    except RecordRefused as refused:
        return show(form, {"": str(refused)}), 422
    saved = f"{name}-record-{outcome.entries[0].number}.cborseq"
    return Response(
        data, mimetype="application/cbor-seq", headers={"Content-Disposition": f'attachment; filename="{saved}"'}
    )
