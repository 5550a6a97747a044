"""What was counted again, keyed blind by two parties, compared with the figures before, and signed by both."""

from collections.abc import Mapping
from typing import Any

from flask import Blueprint, abort, current_app, redirect, render_template, request
from flask.typing import ResponseReturnValue
from werkzeug.datastructures import MultiDict

from webapp.canvass import counts, recounts
from webapp.canvass.atoms import Atom
from webapp.office.keying import count_form
from webapp.office.keying.count_form import Keyed
from webapp.pages.desk.canvass.recount import Unit, asked, frozen_gap
from webapp.pages.desk.shared.two_keyings import CountKeyings, rows_of
from webapp.pages.desk.site.office_site import OfficeSite
from webapp.pages.shared import claim_form, signing
from webapp.pages.shared.awaiting import Draft
from webapp.pages.shared.claim_form import claim, fresh
from webapp.pages.shared.papers import pdf
from webapp.paper.count_forms import recount_sheet_pdf
from webapp.precinct.checklist.field_parsers import InvalidInput, number
from webapp.precinct.checklist.form_input import LONGEST
from webapp.precinct.place import plain_words
from webapp.record.entry import Claim

page = Blueprint("recount_keying", __name__)
ASIDE = (("duplicated", "Ballots duplicated for the recount"), ("set_apart", "Ballots set apart for a decision"))


def room() -> OfficeSite:
    return current_app.extensions["room"]


class Recounting(CountKeyings):
    """What one page speaks of: an atom that was ordered, its contests, and how often it was recounted before (`turn`)."""

    kind = "recounted"
    named, who, ballots_words = "the recount", "person", "Ballots recounted"
    lead = (
        "from the signed tape or tally sheet of the recount",
        "Every contest that was ordered has its figures; a line that is not on the paper stays empty.",
    )

    def __init__(self, unit: str, way: str, part: int):
        here, self.unit = room(), Unit(unit)
        self.atom = Atom(unit, way, part)
        if self.atom not in asked(self.unit):
            abort(404)
        self.way, self.name = self.unit.way(way), self.unit.name
        ordered = {id for order in here.added.recounts.ordered(unit) if way in order.ways for id in order.contests}
        self.contests = [contest for contest in self.unit.contests if contest.id in ordered]
        self.tips = here.added.recounts.tips(self.atom)
        self.turn = len(here.added.recounts.of(self.atom))
        self.at = f"{unit}/{way}/{part}" + (f"/{self.turn}" if self.turn else "")
        self.path, self.back = f"/recount/{unit}/{way}/{part}", (f"/recount/{unit}", f"Recount of {self.name}")

    @property
    def opened(self) -> bool:
        return room().added.recounts.opened(self.atom.unit) is not None


@page.get("/recount/<unit>/<way>/<int:part>")
def keying(unit: str, way: str, part: int) -> ResponseReturnValue:
    one = Recounting(unit, way, part)
    return both_page(one) if len(one.sets) > 1 else one.key_page()


@page.get("/recount/<unit>/<way>/<int:part>/sheet.pdf")
def sheet(unit: str, way: str, part: int) -> ResponseReturnValue:
    """The recount sheet on paper, without a figure of before."""
    here, one = room(), Recounting(unit, way, part)
    orders = ", ".join(order.order for order in here.added.recounts.ordered(unit) if way in order.ways)
    drawn = recount_sheet_pdf(here.name, one.name, one.way.name, one.contests, f"Order {orders}", here.practice)
    return pdf(drawn, f"{unit}-{way}-recount-sheet")


def both_page(
    one: Recounting, values: Mapping[str, Any] | None = None, mistakes: Mapping[str, str] | None = None
) -> str:
    both, keyed, before = one.both(), one.agreed({}), one.unit.was(one.atom)[1]
    beside = [
        (c.title, recounts.compared(before.get(c.id), keyed.contests[c.id], c))
        for c in one.contests
        if c.id in keyed.contests and one.unit.may_show(one.atom, c.id)
    ]
    return render_template(
        "desk/recount_both.html",
        **both,
        beside=[] if both["differ"] else beside,
        was=one.unit.ballots(one.atom),
        keyed=keyed,
        aside=ASIDE,
        looked=claim_form.mark(one.unit.was(one.atom)),
        values=values or fresh(),
        mistakes=mistakes or {},
    )


@page.post("/recount/<unit>/<way>/<int:part>/key")
def key(unit: str, way: str, part: int) -> ResponseReturnValue:
    """One person's set; the second never sees the first's."""
    one, form = Recounting(unit, way, part), request.form
    if told := one.not_wanted(form):
        return one.key_page(form, {"": told}), 422
    if len(one.sets) > 1:
        return redirect(one.path, 303)
    keyed = count_form.read(form, one.contests)
    mistakes = dict(keyed.mistakes)
    if not one.opened:
        mistakes[""] = "The container was not opened yet. Enter its seal and its number of ballots first."
    if lacking := [c.title for c in one.contests if c.id not in keyed.contests]:
        mistakes.setdefault("ballots", f"{lacking[0]} was ordered to be recounted: enter its figures.")
    if not mistakes and form.get("as_paper") != "yes":
        mistakes |= counts.impossible(one.held(keyed), one.contests)
    if not mistakes:
        mistakes = one.sign_figures(keyed, form)
    return (one.key_page(form, mistakes), 422) if mistakes else redirect(one.path, 303)


@page.post("/recount/<unit>/<way>/<int:part>")
def keep(unit: str, way: str, part: int) -> ResponseReturnValue:
    """The recount, signed by two parties. Ballots that move by more than was certified need a note, and are never refused."""
    one, form = Recounting(unit, way, part), request.form
    if len(one.sets) < 2:
        return redirect(one.path, 303)
    keyed = one.agreed(form)
    mistakes = dict(keyed.mistakes)
    if form.get("turn") != str(one.turn):
        mistakes[""] = "These ballots were recounted again since this page was opened. Look at that, then sign."
    elif not claim_form.showed(form, one.unit.was(one.atom)):
        mistakes[""] = claim_form.SINCE
    aside = {}
    for name, words in ASIDE:
        if text := form.get(name, "").strip():
            try:
                aside[name] = number(text)
            except InvalidInput:
                mistakes[name] = f"{words}: enter the figure in digits, or leave it empty."
    note = form.get("note", "").strip()
    if note and (wrong := plain_words.mistake(note, LONGEST)):
        mistakes["note"] = wrong
    elif not note and (asks := moved_by(one, keyed.ballots)):
        mistakes["note"] = asks
    if not mistakes:
        outcome = signing.sign(Draft((recounted_claim(one, keyed, aside, form, note),), "P", f"/recount/{unit}"), form)
        mistakes = dict(outcome.mistakes)
        if on := signing.where_next(outcome, f"/recount/{unit}"):
            return on
    return both_page(one, form, mistakes), 422


def moved_by(one: Recounting, ballots: int) -> str:
    """The question where the ballots moved by more than the gap that was certified; "" where they did not."""
    was = one.unit.ballots(one.atom)
    frozen = abs(frozen_gap(one.atom.unit) or 0)
    if was is None or abs(ballots - was) <= frozen:
        return ""
    more = "more" if ballots > was else "fewer"
    return (
        f"{ballots:,} ballots recounted, {was:,} before: {abs(ballots - was):,} {more}, and {frozen:,} certified as a difference. "
        "Enter what explains it, or: nothing explains it."
    )


def recounted_claim(
    one: Recounting, keyed: Keyed, aside: dict[str, Any], form: MultiDict[str, str], note: str
) -> Claim:
    body = {
        "unit": one.atom.unit,
        "way": one.atom.way,
        "part": one.atom.part,
        "contests": rows_of(keyed),
        "ballots": keyed.ballots,
        "was": one.unit.was(one.atom)[0],
        "set_aside": aside,
        "amends": [tip.id for tip in one.tips],
    }
    return claim("recounted", body, None, form, {"note": note})
