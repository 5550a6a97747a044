"""A count keyed from its signed tape or tally sheet: blind by two receivers of two parties, side by side where it differs, then signed by both.

Until the second set is in, nothing that leaves this server holds a figure of the first.
"""

from collections.abc import Mapping
from typing import Any

from flask import Blueprint, abort, current_app, redirect, render_template, request
from flask.typing import ResponseReturnValue
from werkzeug.datastructures import MultiDict

from webapp.canvass import counts as rules
from webapp.canvass.atoms import Atom
from webapp.canvass.envelopes import COUNTY
from webapp.office.keying import count_form
from webapp.office.keying.count_form import Keyed
from webapp.pages.desk.canvass.counts import unit_or_404, way_or_404
from webapp.pages.desk.shared.two_keyings import CountKeyings, rows_of
from webapp.pages.desk.site.office_site import OfficeSite
from webapp.pages.shared import signing
from webapp.pages.shared.awaiting import Draft
from webapp.pages.shared.claim_form import claim, fresh
from webapp.pages.shared.papers import pdf
from webapp.paper.count_forms import count_sheet_pdf
from webapp.precinct.checklist.form_input import LONGEST
from webapp.precinct.place import plain_words
from webapp.record.entry import Claim

page = Blueprint("count_keying", __name__)
SOURCES = (("tape", "The signed tape of a tabulator"), ("hand", "A signed tally sheet"))
MOST_PARTS = 99


def room() -> OfficeSite:
    return current_app.extensions["room"]


class Counting(CountKeyings):
    """What one page speaks of: an atom, its contests, and how often it was counted before (`turn`)."""

    kind = "count-in"
    named, who, ballots_words = "the count", "receiver", "Ballots counted"
    lead = (
        "from the signed tape or tally sheet",
        "Leave a contest empty that is not on these ballots, and a line empty that is not on the paper.",
    )

    def __init__(self, unit: str, way: str, part: int):
        added = room().added
        if unit_or_404(unit) == COUNTY or not 1 <= part <= MOST_PARTS:
            abort(404)
        self.way, self.atom = way_or_404(way), Atom(unit, way, part)
        self.name, self.contests = added.name(unit), added.contests(unit)
        self.kept = added.counts.get(self.atom)
        self.turn = len(added.entries_of(self.atom))
        self.at = f"{unit}/{way}/{part}" + (f"/{self.turn}" if self.turn else "")
        self.path = f"/counts/{unit}/{way}/{part}"
        self.back = f"/counts/{unit}", self.name

    @property
    def decided(self) -> Any:
        return room().added.decided(self.atom.unit, self.atom.way)


@page.get("/counts/<unit>/<way>/<int:part>")
def count(unit: str, way: str, part: int) -> ResponseReturnValue:
    """The count as it was kept; else the keying that is next."""
    one = Counting(unit, way, part)
    if one.kept is None or request.args.get("again") == "yes" or room().day.keyings.by(one.key):
        return next_page(one)
    return render_template(
        "desk/count_kept.html",
        one=one,
        tips=[
            (tip, room().day.entry(tip.number) if tip.number else None, room().added.lines(tip, one.contests))
            for tip in one.kept.tips
        ],
    )


@page.get("/counts/<unit>/<way>/sheet.pdf")
def sheet(unit: str, way: str) -> ResponseReturnValue:
    """The count sheet on paper: envelopes and every contest, field for field as the screens."""
    here, found = room(), way_or_404(way)
    if unit_or_404(unit) == COUNTY:
        abort(404)
    reasons = [reason.name for reason in here.roster.office.reasons]
    drawn = count_sheet_pdf(
        here.name, here.added.name(unit), found.name, here.added.contests(unit), reasons, here.practice
    )
    return pdf(drawn, f"{unit}-{way}-count-sheet")


def next_page(one: Counting) -> str:
    return both_page(one) if len(one.sets) > 1 else one.key_page()


def both_page(one: Counting, values: Mapping[str, Any] | None = None, mistakes: Mapping[str, str] | None = None) -> str:
    both = one.both()
    lines = [] if both["differ"] else lines_of(one, one.agreed({}))
    return render_template(
        "desk/count_both.html",
        **both,
        lines=lines,
        off=[line for line in lines if line.gap],
        sources=SOURCES,
        values=values or fresh(),
        mistakes=mistakes or {},
    )


def lines_of(one: Counting, keyed: Keyed) -> list[rules.CountLine]:
    return room().added.lines(one.held(keyed), one.contests)


@page.post("/counts/<unit>/<way>/<int:part>/key")
def key(unit: str, way: str, part: int) -> ResponseReturnValue:
    """One person's set. The second never sees the first's; a mistake in one form says nothing of the other."""
    one, form = Counting(unit, way, part), request.form
    if told := one.not_wanted(form):
        return one.key_page(form, {"": told}), 422
    if len(one.sets) > 1:
        return redirect(f"{one.path}?again=yes", 303)
    keyed = count_form.read(form, one.contests)
    mistakes = dict(keyed.mistakes)
    if not mistakes and form.get("as_paper") != "yes":
        mistakes |= rules.impossible(one.held(keyed), one.contests)
    if not mistakes:
        mistakes = one.sign_figures(keyed, form)
    return (one.key_page(form, mistakes), 422) if mistakes else redirect(f"{one.path}?again=yes", 303)


@page.post("/counts/<unit>/<way>/<int:part>")
def keep(unit: str, way: str, part: int) -> ResponseReturnValue:
    """The count, signed by two parties: what both keyed alike, the paper where they did not, a note for what does not add up."""
    one, form = Counting(unit, way, part), request.form
    if len(one.sets) < 2:
        return redirect(one.path, 303)
    keyed = one.agreed(form)
    mistakes = dict(keyed.mistakes)
    if form.get("turn") != str(one.turn):
        mistakes[""] = (
            "Another count of these ballots was kept since this page was opened. Look at it, then count again."
        )
    if form.get("from") not in dict(SOURCES):
        mistakes["from"] = "Choose the paper that these figures are from."
    for name, words, most in (("papers", "the paper, such as: tape of A1, 12:40", 120), ("at", "the tabulator", 24)):
        text = form.get(name, "").strip()
        if name == "papers" and not text:
            mistakes[name] = f"Enter {words}."
        elif text and (wrong := plain_words.mistake(text, most)):
            mistakes[name] = wrong
    note = form.get("note", "").strip()
    off = [] if keyed.mistakes else [line for line in lines_of(one, keyed) if line.gap]
    if off and not note:
        mistakes["note"] = (
            f"{'. '.join(line_in_words(line) for line in off[:3])}. Enter what the paper says of it, or: no remark on the paper."
        )
    elif note and (wrong := plain_words.mistake(note, LONGEST)):
        mistakes["note"] = wrong
    if not mistakes:
        outcome = signing.sign(Draft((count_claim(one, keyed, form, note),), "P", one.path), form)
        mistakes = dict(outcome.mistakes)
        if on := signing.where_next(outcome, one.path):
            return on
    return both_page(one, form, mistakes), 422


def line_in_words(line: rules.CountLine) -> str:
    """A line that does not add up, in words: both figures, how far apart, and which way."""
    more = f"{line.gap:,} more than" if line.gap > 0 else f"{-line.gap:,} fewer than"
    return f"{line.name[:1].upper()}{line.name[1:]}: {line.says}, {more} the second"


def count_claim(one: Counting, keyed: Keyed, form: MultiDict[str, str], note: str) -> Claim:
    body = {
        "unit": one.atom.unit,
        "way": one.atom.way,
        "part": one.atom.part,
        "from": form["from"],
        "at": form.get("at", "").strip(),
        "papers": [form["papers"].strip()],
        "ballots": keyed.ballots,
        "contests": rows_of(keyed),
        "amends": [tip.id for tip in one.kept.tips] if one.kept else [],
    }
    return claim("count-in", body, None, form, {"note": note})
