"""Certifying: what is open, the narrative, the board in session, the edition that it certifies, each member's own signature, the sealed document."""

from collections.abc import Mapping
from typing import Any

from flask import Blueprint, current_app, g, render_template, request
from flask.typing import ResponseReturnValue
from werkzeug.datastructures import MultiDict

from webapp.canvass import certifying as rules
from webapp.canvass.certifying import BECAUSE, VOTES, NarrativeLine
from webapp.canvass.edition import STATUSES
from webapp.office.canvassing import certifying
from webapp.office.canvassing.editions import Changed
from webapp.pages.desk.site.office_site import OfficeSite
from webapp.pages.desk.totals.posting import entry_of, made_ready
from webapp.pages.shared import claim_form, signing
from webapp.pages.shared.awaiting import Draft
from webapp.pages.shared.claim_form import claim, fresh
from webapp.precinct.checklist.form_input import LONGEST
from webapp.precinct.place import plain_words
from webapp.precinct.place.place import Contest
from webapp.record.entry import Claim

page = Blueprint("certify", __name__)
TOLD = (
    "desk-finding",
    "finding-withdrawn",
    "recounted",
    "count-in",
    "place-without-return",
)  # entries that are lines of the narrative by default
DIGITS = 16  # of the digest, as every page of the document bears them


def room() -> OfficeSite:
    return current_app.extensions["room"]


def waiting() -> dict[str, int]:
    """Contest title -> ballots that an edition of now would not show, drawn up once a request. Raises Changed."""
    if "waits" not in g:
        found, _ = made_ready("unofficial-partial", "", False)
        one = found.edition
        g.waits = {c.title: n for c in one.contests if (n := one.figures[c.id].ballots_waiting)}
    return g.waits


def questions(waits: dict[str, int]) -> tuple[rules.OpenQuestion, ...]:
    """Returns what must be settled before certifying. waits: ballots that wait, by the contest's title."""
    here = room()
    with here.lock:
        sworn = [one for one in here.people.sworn]
        return certifying.questions(
            here.roster, here.tray, here.added, here.board.places, here.certifying, waits, sworn
        )


def narrative() -> tuple[NarrativeLine, ...]:
    """Returns the lines of the narrative as the document would have them now."""
    here = room()
    told = certifying.lines_of_changes(list(here.day.everything(TOLD)), here.roster, here.added, here.board.places)
    return certifying.lines(told, here.certifying, here.board.places)


@page.get("/certify")
def certify() -> str:
    return certify_page({}, {}, "")


def certify_page(values: Mapping[str, Any], mistakes: Mapping[str, str], form: str) -> str:
    """`form`: which of the page's forms was refused."""
    here, kept = room(), room().certifying
    try:
        waits, wrong = waiting(), ""
    except Changed as changed:
        waits, wrong = {}, str(changed)
    newest = here.editions.posted[-1] if here.editions.posted else None
    official = newest if newest and newest.status in rules.OFFICIAL else None
    members = certifying.members(here.roster)
    signed = {one.person: one for one in kept.signed.get(official.number, ())} if official else {}
    return render_template(
        "desk/certify.html",
        questions=(asked := questions(waits)),
        looked=claim_form.marks((one.name, one.facts) for one in asked),
        narrative=narrative(),
        meeting=kept.meeting,
        members=members,
        official=official,
        signed=signed,
        words=VOTES,
        sealed=kept.sealed.get(official.number) if official else None,
        locked=here.certified.locked_edition(),
        status=STATUSES[here.certified.next_official()],
        statuses=STATUSES,
        because=list(BECAUSE.items()),
        copies=here.roster.office.copies,
        out=[(id, here.added.place_name(id)) for id in out_of_totals(here)],
        wrong=wrong,
        form=form,
        people=signing.candidates("P"),
        mine=[one for one in signing.candidates("1") if one[0] in members],
        mistakes=mistakes,
        values=values or fresh(),
        blank=fresh(),
    )


def out_of_totals(here: OfficeSite) -> list[str]:
    listed = dict.fromkeys([*(one.id for one in here.roster.office.places), *here.roster.places])
    return [place for place in listed if not here.tray.in_totals(place) and place not in here.certifying.excused]


def words_of(form: MultiDict[str, str], name: str, missing: str, mistakes: dict[str, str]) -> str:
    """Returns the words typed in this input. A text that is missing (`missing` is the sentence) or not plain is noted in `mistakes`."""
    text = form.get(name, "").strip()
    wrong = plain_words.mistake(text, LONGEST) if text else missing
    if wrong:
        mistakes[name] = wrong
    return text


def signed(
    made: Claim,
    form: MultiDict[str, str],
    mistakes: dict[str, str],
    weight: str = "P",
    about: str = "",
    back: str = "/certify",
) -> ResponseReturnValue | None:
    """The way on once somebody signed; None with the mistakes filled in."""
    outcome = signing.sign(Draft((made,), weight, back, about), form)
    mistakes |= dict(outcome.mistakes)
    return signing.where_next(outcome, back)


@page.post("/certify/over")
def over() -> ResponseReturnValue:
    """Two parties certify in spite of one question, as it is now."""
    form, mistakes = request.form, {}
    try:
        known = {one.name: one for one in questions(waiting()) if not one.over}
    except Changed as wrong:
        return render_template("shared/told.html", heading="Nothing can be certified now", sentence=str(wrong)), 409
    one = known.get(form.get("question", ""))
    if one is None and not entry_of(form):
        mistakes["question"] = "Choose the question that is signed over."
    elif one and not claim_form.showed(form, one.name, one.facts):
        mistakes["question"] = claim_form.SINCE
    why = words_of(form, "why", "Enter why the board certifies in spite of it, in one sentence.", mistakes)
    if not mistakes:
        body = {"question": form["question"], "facts": list(one.facts) if one else []}
        if answer := signed(claim("signed-over", body, None, form, {"why": why}), form, mistakes):
            return answer
    return certify_page(form, mistakes, "over"), 422


@page.post("/certify/excused")
def excused() -> ResponseReturnValue:
    """A place that has no return, and why: signed by two parties."""
    form, mistakes, here = request.form, {}, room()
    if form.get("place") not in out_of_totals(here) and not entry_of(form):
        mistakes["place"] = "Choose the place that has no return."
    why = words_of(form, "why_out", "Enter why it has no return. It goes into the narrative.", mistakes)
    if not mistakes:
        made = claim("place-without-return", {"place": form["place"]}, None, form, {"why": why})
        if answer := signed(made, form, mistakes):
            return answer
    return certify_page(form, mistakes, "excused"), 422


# --- the narrative


@page.get("/certify/narrative")
def narrative_page() -> str:
    return show_narrative({}, {})


def show_narrative(values: Mapping[str, Any], mistakes: Mapping[str, str]) -> str:
    return render_template(
        "desk/certify_narrative.html",
        lines=narrative(),
        gaps=[q for q in questions({}) if q.name.startswith("gap/") and not q.over],
        people=signing.candidates("P"),
        mistakes=mistakes,
        values=values or fresh(),
    )


@page.post("/certify/narrative")
def keep_narrative() -> ResponseReturnValue:
    """Words for one line of the narrative, or that it is left out and why; a further line is about the board itself."""
    form, mistakes = request.form, {}
    about, out = form.get("about", ""), form.get("out") == "yes"
    known = [one.about for one in narrative()] + [q.name for q in questions({}) if q.name.startswith("gap/")]
    if about == "more":
        about = f"board/{form.get('entry_id', '')[:8]}"
    elif about not in known:
        mistakes["about"] = "Choose what these words are about."
    text = words_of(form, "text", "Enter the words as the document has them; for a line left out, why.", mistakes)
    if not mistakes:
        made = claim("narrative", {"about": about, "out": out}, None, form, {"text": text})
        if answer := signed(made, form, mistakes, back="/certify/narrative"):
            return answer
    return show_narrative(form, mistakes), 422


# --- small groups


@page.get("/certify/small")
def small() -> str:
    return show_small({}, {})


def small_rows() -> list[tuple[Contest, int, list[str]]]:
    """(contest, ballots, cells) of each contest in which something waits."""
    found, _ = made_ready("unofficial-partial", "", False)
    one = found.edition
    return [
        (contest, mine.ballots_waiting, [atom.cell for atom, _ in mine.waiting])
        for contest in one.contests
        if (mine := one.figures[contest.id]).ballots_waiting
    ]


def show_small(values: Mapping[str, Any], mistakes: Mapping[str, str]) -> str:
    try:
        rows = small_rows()
    except Changed as wrong:
        return render_template("shared/told.html", heading="Nothing can be certified now", sentence=str(wrong))
    return render_template(
        "desk/certify_small.html",
        rows=rows,
        looked=claim_form.marks((contest.id, n, cells) for contest, n, cells in rows),
        small=room().roster.office.small,
        people=signing.candidates("P"),
        mistakes=mistakes,
        values=values or fresh(),
    )


@page.post("/certify/small")
def keep_small() -> ResponseReturnValue:
    """Certifying leaves nobody out: two parties sign that ballots of few are shown. The office's record says which; the document does not."""
    form, mistakes = request.form, {}
    try:
        row = next((row for row in small_rows() if row[0].id == form.get("contest")), None)
    except Changed as wrong:
        return render_template("shared/told.html", heading="Nothing can be certified now", sentence=str(wrong)), 409
    if row is None and not entry_of(form):
        mistakes["contest"] = "Choose the contest."
    elif row and not claim_form.showed(form, row[0].id, row[1], row[2]):
        mistakes["contest"] = claim_form.SINCE
    why = words_of(
        form, "why", "Enter why nothing else can be done: no further count comes, no neighbor is left.", mistakes
    )
    if not mistakes:
        body = {"contest": form["contest"], "atoms": row[2] if row else [], "ballots": row[1] if row else 0}
        made = claim("small-shown", body, None, form, {"why": why})
        if answer := signed(made, form, mistakes, back="/certify/small"):
            return answer
    return show_small(form, mistakes), 422
