"""Contests that several offices count: what each reported, sums as they reported, their files; this office's own edition for the others."""

from collections.abc import Mapping

from flask import Blueprint, Response, abort, current_app, g, render_template, request
from flask.typing import ResponseReturnValue

from webapp.canvass.edition import STATUSES
from webapp.gate import keys
from webapp.merging import office_report, reporting, sums_over_offices, sums_written, taking_report
from webapp.merging.office_report import OfficeReport
from webapp.merging.refusals import BundleRefused
from webapp.merging.reported_offices import COMPARED
from webapp.merging.sums_over_offices import SharedSum
from webapp.office.canvassing.editions import Changed
from webapp.office.setup import other_offices
from webapp.pages.desk.intake import refused
from webapp.pages.desk.site.office_site import OfficeSite
from webapp.pages.shared import signing
from webapp.pages.shared.awaiting import Draft
from webapp.pages.shared.claim_form import claim, fresh
from webapp.record.check_words import check_words, compare

page = Blueprint("offices", __name__)
LIMITS = {"/offices": office_report.LARGEST + 65536}
LONGEST = 40  # letters of check words as they are typed


def room() -> OfficeSite:
    return current_app.extensions["room"]


@page.get("/offices")
def offices() -> ResponseReturnValue:
    return show({}, {})


def show(form: Mapping[str, str], mistakes: Mapping[str, str], said: str = "") -> str:
    """Who reported what, and each shared contest."""
    here = room()
    own = keys.office_key(here.folder).public_key().public_bytes_raw()
    found, wrong = sums()
    return render_template(
        "desk/offices.html",
        rows=[(one, sums_over_offices.why_not(one)) for one in here.reported.standings()],
        sums=found,
        together=sums_written.together,
        statuses=STATUSES,
        toml=other_offices.as_toml(here.roster.office.id, here.roster.office.name, own),
        words=check_words(other_offices.head_of(own)),
        posted=len(here.editions.posted),
        said=said,
        problem=wrong,
        mistakes=mistakes,
        people=signing.candidates("P"),
        values=form or fresh(),
    )


def sums() -> tuple[list[SharedSum], str]:
    """Every shared contest, and why this office's own edition is not in it: "" where it is, or where none is posted."""
    here = room()
    titles = {one.id: one.title for place in here.roster.places.values() for one in place.contests}
    own, wrong = None, ""
    try:
        own = own_report() if here.editions.posted else None
    except Changed as changed:
        wrong = str(changed)
    return sums_over_offices.sums(here.roster.office, own, here.reported, titles), wrong


def own_report() -> OfficeReport:
    """What this office's newest edition says of itself."""
    here = room()
    return reporting.facts(here.roster, here.editions)


@page.get("/offices/sums.csv")
def table() -> ResponseReturnValue:
    """The sums as a table."""
    found, wrong = sums()
    if wrong:
        return no_sums(wrong)
    answer = Response(sums_written.as_csv(found), mimetype="text/csv")
    answer.headers["Content-Disposition"] = 'attachment; filename="offices.csv"'
    return answer


@page.get("/offices/sums.html")
def public() -> ResponseReturnValue:
    """The sums as the page for the public."""
    found, wrong = sums()
    if wrong:
        return no_sums(wrong)
    here = room()
    answer = Response(sums_written.page(found, here.place.election, here.practice), mimetype="text/html")
    answer.headers["Content-Security-Policy"] = f"{sums_written.POLICY}; frame-ancestors 'none'"
    return answer


def no_sums(wrong: str) -> ResponseReturnValue:
    return render_template("shared/told.html", heading="No sums can be made now", sentence=wrong), 409


@page.get("/offices/ours/<int:number>")
def ours(number: int) -> ResponseReturnValue:
    """This office's edition as a file for other offices."""
    here = room()
    if not 1 <= number <= len(here.editions.posted):
        abort(404)
    try:
        data, report = reporting.made(here.folder, here.roster, here.editions, number)
    except (BundleRefused, Changed) as wrong:
        return render_template("shared/told.html", heading="No file can be made of it", sentence=str(wrong)), 409
    name = f"{report.office}-{report.number}.edition"
    return Response(
        data, mimetype="application/octet-stream", headers={"Content-Disposition": f'attachment; filename="{name}"'}
    )


@page.post("/offices")
def reported() -> ResponseReturnValue:
    """An edition of another office, checked whole before anything of it is kept."""
    sent = request.files.get("file")
    if sent is None or not sent.filename:
        return show({}, {"file": "Choose the file of another office’s edition."}), 422
    name = "".join(c for c in sent.filename if c.isprintable())[:100]
    said, wrong = taken_in(sent.stream.read(office_report.LARGEST + 1), name)
    return show({}, {"file": wrong} if wrong else {}, said), 422 if wrong else 200


def taken_in(data: bytes, name: str) -> tuple[str, str]:
    """(what came of it, ""), or ("", why it is refused)."""
    here = room()
    with here.lock:
        try:
            one = taking_report.prepared(data, name, here.roster, here.reported, here.now(), g.session.holder or "")
        except BundleRefused as wrong:
            refused.trace(data, name, str(wrong))
            return "", str(wrong)
        if one.claim:
            here.keep([one.claim])
        return one.says, ""


@page.post("/offices/compare")
def compared() -> ResponseReturnValue:
    """Two people of two parties heard the words of an office's key from that office, and sign."""
    here, form, mistakes = room(), request.form, {}
    other = next((one for one in here.roster.office.others if one.id == form.get("office")), None) or abort(404)
    words, typed = check_words(other_offices.head_of(other.key)), form.get("words", "").strip()[:LONGEST]
    if not typed:
        mistakes["words"] = f"Type the twelve symbols that {other.name} reads aloud."
    elif (likeness := compare(typed, words)) == "slip":
        mistakes["words"] = (
            "These symbols contradict their own last one: a slip in hearing or typing. Ask for all twelve again."
        )
    elif likeness == "other":
        mistakes["words"] = (
            f"{other.name} reads out another key than office.toml has. Nothing of it is added up. Ask both offices where the key in office.toml came from."
        )
    if not mistakes:
        body = {"office": other.id, "kid": other.kid, "symbols": words}
        outcome = signing.sign(Draft((claim(COMPARED, body, None, form, {}),), "P", "/offices"), form)
        mistakes = dict(outcome.mistakes)
        if on := signing.where_next(outcome, "/offices"):
            return on
    return show(form, mistakes), 422
