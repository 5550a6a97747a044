"""The board in session: who is present and how each votes, the edition it certifies, each member's PIN, ink and seal; and how it is opened again."""

import json
from collections.abc import Mapping
from typing import Any

from flask import Blueprint, abort, current_app, g, redirect, render_template, request
from flask.typing import ResponseReturnValue

from webapp.canvass import certifying as rules
from webapp.canvass import document, edition
from webapp.canvass.certifying import BECAUSE, VOTES
from webapp.canvass.edition import STATUSES
from webapp.office.canvassing import canvass_file, certifying
from webapp.office.canvassing.editions import EDITION, Changed
from webapp.pages.desk.canvass.certify import DIGITS, certify_page, narrative, questions, signed, waiting, words_of
from webapp.pages.desk.shared.of_edition import edition_pdf, moved
from webapp.pages.desk.site.dated_words import day_time
from webapp.pages.desk.site.office_site import OfficeSite
from webapp.pages.desk.totals.posting import entry_of, made_ready, preview
from webapp.pages.shared import claim_form, signing
from webapp.pages.shared.claim_form import claim, fresh
from webapp.paper.certificate_pages import certificate_pdf
from webapp.precinct.checklist.field_parsers import InvalidInput, number
from webapp.precinct.checklist.form_input import LONGEST
from webapp.precinct.place import plain_words

page = Blueprint("certify_board", __name__)
CERTIFIED = "The canvass board certifies these figures."
MET_SINCE = (
    "A meeting was entered since this page was opened. Look at it; enter a further one only if the board met again."
)
TOLD_SINCE = "The narrative, the meeting or what was signed over changed since this page was opened. Look at it again, then sign."


def room() -> OfficeSite:
    return current_app.extensions["room"]


@page.post("/certify/met")
def met() -> ResponseReturnValue:
    """The board in open session: present, quorum, each member's vote, the statement of who voted against. Signed by one who was there."""
    here, form = room(), request.form
    mistakes: dict[str, str] = {}
    members = certifying.members(here.roster)
    try:
        quorum = number(form.get("quorum", "").strip())
    except InvalidInput:
        quorum = 0
    present = [person for person in members if person in form.getlist("present")]
    votes = {person: form[f"vote.{person}"] for person in members if form.get(f"vote.{person}")}
    dissent = {person: text for person in members if (text := form.get(f"dissent.{person}", "").strip())}
    meeting = rules.Meeting(g.now, tuple(present), quorum, votes, dissent)
    mistakes |= rules.meeting_mistakes(meeting, members)
    newest = here.certifying.meeting.number if here.certifying.meeting else 0
    if form.get("meeting") != str(newest) and not entry_of(form):
        mistakes[""] = MET_SINCE
    for person, text in dissent.items():
        if wrong := plain_words.mistake(text, LONGEST):
            mistakes[f"dissent.{person}"] = wrong
    if not mistakes:
        earlier = entry_of(form)
        known = here.day.entry(earlier) if earlier else None
        time = known.body["time"] if known else g.now
        body = {"time": time, "present": present, "quorum": quorum, "votes": [[p, votes[p]] for p in present]}
        made = claim("board-met", body, None, form, {f"dissent.{p}": text for p, text in dissent.items()})
        if answer := signed(made, form, mistakes, "1"):
            return answer
    return certify_page(form, mistakes, "met"), 422


# --- the edition


def canvass_json(new: edition.Edition, made: str, before: Mapping[str, Any]) -> dict[str, bytes]:
    """The board's own part of the edition."""
    here, kept = room(), room().certifying
    posted = []
    for one in here.editions.posted:
        at = json.loads(here.editions.data(one.number, EDITION)[EDITION])["made"]
        posted.append((one.number, one.status, at, one.digest.hex()))
    reopened = kept.reopened[-1] if kept.reopened and new.status != "certified" else None
    if kept.meeting is None:
        raise ValueError("an edition is certified after the board has met")
    data = canvass_file.written(
        new,
        before,
        here.roster,
        kept.meeting,
        day_time(kept.meeting.time),
        narrative(),
        questions(waiting()),
        posted,
        reopened,
        here.words_after(new.cut),
    )
    return {document.CANVASS: data}


def why_not() -> str:
    """What keeps the edition from being certified now; "" where nothing does."""
    here, kept = room(), room().certifying
    if (number := here.certified.locked_edition()) is not None:
        return f"Edition {number} is certified. A recount, a court or the law opens it again first."
    still = [one for one in questions(waiting()) if not one.over]
    if still:
        return f"{len(still):,} {'question is' if len(still) == 1 else 'questions are'} open: {still[0].says} Settle it, or sign over it."
    if kept.meeting is None or not kept.meeting.has_quorum:
        return "The board has not met. Enter who is present and how each member voted."
    before = [one for one in here.editions.posted if one.status in rules.OFFICIAL]
    if before and kept.meeting.number < before[-1].entry:
        return "The board has not met since it certified last. Enter its meeting first."
    if list(kept.meeting.votes.values()).count("for") * 2 <= len(kept.meeting.present):
        return "Not more than half of those present voted for it. What that means is a matter of local law: enter a further meeting, or ask your counsel."
    return ""


@page.get("/certify/edition")
def ready() -> str:
    return show_edition({}, {})


def show_edition(values: Mapping[str, Any], mistakes: Mapping[str, str]) -> str:
    here = room()
    try:
        if told := why_not():
            return render_template("shared/told.html", heading="The canvass cannot be certified yet", sentence=told)
        found, before = made_ready(here.certified.next_official(), "", False)
    except Changed as wrong:
        return render_template("shared/told.html", heading="Nothing can be certified now", sentence=str(wrong))
    return render_template(
        "desk/certify_edition.html",
        found=found,
        status=STATUSES[here.certified.next_official()],
        contests=preview(found),
        least=edition.whole_blocks(before, found.edition),
        narrative=[one for one in narrative() if not one.out],
        over=[one for one in questions(waiting()) if one.over],
        meeting=here.certifying.meeting,
        told=told_mark(),
        members=certifying.members(here.roster),
        words=VOTES,
        people=signing.candidates("P"),
        mistakes=mistakes,
        values=values or fresh(),
    )


def told_mark() -> str:
    """What stands for the words of the document: the narrative, what was signed over, the meeting."""
    meeting = room().certifying.meeting
    over = [(one.name, one.over.number) for one in questions(waiting()) if one.over]
    return claim_form.mark(narrative(), over, meeting.number if meeting else 0)


@page.post("/certify/edition")
def post() -> ResponseReturnValue:
    """The edition that the board certifies: files whole on the disk before the first signature, as for every edition."""
    here, form = room(), request.form
    mistakes: dict[str, str] = {}
    if known := next((one for one in here.editions.posted if entry_of(form) == one.entry), None):
        return redirect(f"/posting/{known.number}", 303)
    try:
        if told := why_not():
            return render_template(
                "shared/told.html", heading="The canvass cannot be certified yet", sentence=told
            ), 409
        because = words_of(form, "because", "Enter why this edition is made, in one sentence for the public.", mistakes)
        found, _ = made_ready(here.certified.next_official(), because, not mistakes, canvass_json)
    except Changed as wrong:
        return render_template("shared/told.html", heading="Nothing can be certified now", sentence=str(wrong)), 409
    mistakes |= moved(form, found)
    if form.get("told") != told_mark():
        mistakes.setdefault("", TOLD_SINCE)
    if not mistakes:
        here.editions.lay(found)
        made = claim("edition-posted", found.body(), g.now, form, {"because": because})
        if answer := signed(made, form, mistakes):
            return answer
    return show_edition(form, mistakes), 422


# --- each member, ink, seal


def of_another_edition(form: Mapping[str, str], newest: int | None) -> str:
    """The sentence where the page of this form showed another edition than the newest; "" where it is sent again."""
    if newest is None or form.get("edition") == str(newest) or entry_of(form):
        return ""
    return f"Edition {newest} was certified since this page was opened. Look at it, then sign."


@page.post("/certify/sign")
def sign() -> ResponseReturnValue:
    """One member's own signature, by PIN, for or against, on the newest certified edition. Nobody signs for somebody who is away."""
    here, form = room(), request.form
    mistakes: dict[str, str] = {}
    newest = here.editions.posted[-1] if here.editions.posted else None
    if newest is None or newest.status not in rules.OFFICIAL:
        abort(409)
    members, person, vote = certifying.members(here.roster), form.get("signer", ""), form.get("vote", "")
    if wrong := of_another_edition(form, newest.number):
        mistakes[""] = wrong
    if vote not in VOTES:
        mistakes["vote"] = "Choose for or against."
    if person and person not in members:
        mistakes["signer"] = "Only members of the board sign the canvass."
    statement = form.get("statement", "").strip()
    if vote == "against" and not statement:
        mistakes["statement"] = "Enter your statement, or: no statement."
    elif statement and (wrong := plain_words.mistake(statement, LONGEST)):
        mistakes["statement"] = wrong
    if not mistakes:
        body = {"edition": newest.number, "members": [[person, vote]]}
        made = claim("certified", body, None, form, {"dissent": statement})
        if answer := signed(made, form, mistakes, "each" if person else "1", person):
            return answer
    return certify_page(form, mistakes, "sign"), 422


@page.post("/certify/sealed")
def sealed() -> ResponseReturnValue:
    """Signed in ink and sealed: the first digits of the digest are read off the paper and typed once, so that the paper is of this edition."""
    here, form = room(), request.form
    mistakes: dict[str, str] = {}
    newest = here.editions.posted[-1] if here.editions.posted else None
    if newest is None or newest.status not in rules.OFFICIAL:
        abort(409)
    digits = "".join(form.get("digits", "").split()).lower()
    if digits != newest.digest.hex()[:DIGITS]:
        mistakes["digits"] = (
            f"These are not the first {DIGITS} digits of edition {newest.number}. Read them off the foot of the paper again; if they differ, it is another edition's paper."
        )
    if not mistakes:
        body = {"edition": newest.number, "digits": digits, "copies": list(here.roster.office.copies)}
        if answer := signed(claim("certificate-sealed", body, None, form, {}), form, mistakes):
            return answer
    return certify_page(form, mistakes, "sealed"), 422


@page.post("/certify/reopened")
def reopen() -> ResponseReturnValue:
    """A certified canvass is opened again by a recount, a court, the law or a tie: by which order, signed by two parties."""
    here, form = room(), request.form
    mistakes: dict[str, str] = {}
    number = here.certified.locked_edition()
    if number is None and not entry_of(form):
        mistakes[""] = "No certified edition is closed: nothing has to be opened again."
    elif wrong := of_another_edition(form, number):
        mistakes[""] = wrong
    if form.get("because_of") not in BECAUSE:
        mistakes["because_of"] = "Choose why it is opened again."
    text = form.get("order", "").strip()
    if wrong := plain_words.mistake(text, 40) if text else "Enter the number or the date of the order.":
        mistakes["order"] = wrong
    if not mistakes:
        edition_number = number or here.editions.posted[-1].number
        body = {"edition": edition_number, "because": form["because_of"], "order": text}
        if answer := signed(claim("reopened", body, None, form, {}), form, mistakes):
            return answer
    return certify_page(form, mistakes, "reopened"), 422


@page.get("/posting/<int:number>/certificate.pdf")
def certificate(number: int) -> ResponseReturnValue:
    """The canvass as a document, made of the edition's files alone."""
    return edition_pdf(number, certificate_pdf, "certificate")
