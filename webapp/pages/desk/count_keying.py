"""A count keyed from its signed tape or tally sheet: blind by two receivers of two parties, side by side where it differs, then signed by both.

Until the second set is in, nothing that leaves this server holds a figure of the first.
"""

from flask import Blueprint, abort, current_app, redirect, render_template, request

from webapp.canvass import counts as rules
from webapp.canvass.atoms import Atom
from webapp.canvass.envelopes import COUNTY
from webapp.office import count_form
from webapp.pages.desk.counts import unit_or_404, way_or_404
from webapp.pages.shared import signing
from webapp.pages.shared.awaiting import Draft
from webapp.pages.shared.papers import pdf
from webapp.pages.shared.steps import claim
from webapp.paper.count_forms import count_sheet_pdf
from webapp.precinct.checklist.form_input import LONGEST
from webapp.precinct.place import plain_words

page = Blueprint("count_keying", __name__)
SOURCES = (("tape", "The signed tape of a tabulator"), ("hand", "A signed tally sheet"))
MOST_PARTS = 99


def room():
    return current_app.extensions["room"]


class Counting:
    """What one page speaks of: an atom, its contests, and how often it was counted before (`turn`)."""

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

    @property
    def key(self) -> str:
        return f"count-in:{self.at}"

    @property
    def sets(self):
        return room().day.keyings.open(self.key)

    @property
    def first(self):
        """Who has keyed it once; None while nobody has."""
        by = room().day.keyings.by(self.key)
        return room().people.official(by[0]) if by else None

    @property
    def decided(self):
        return room().added.decided(self.atom.unit, self.atom.way)


@page.get("/counts/<unit>/<way>/<int:part>")
def count(unit: str, way: str, part: int):
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
def sheet(unit: str, way: str):
    """The count sheet on paper: envelopes and every contest, field for field as the screens."""
    here, found = room(), way_or_404(way)
    if unit_or_404(unit) == COUNTY:
        abort(404)
    reasons = [reason.name for reason in here.roster.office.reasons]
    drawn = count_sheet_pdf(
        here.name, here.added.name(unit), found.name, here.added.contests(unit), reasons, here.practice
    )
    return pdf(drawn, f"{unit}-{way}-count-sheet")


def next_page(one: Counting, values=None, mistakes=None):
    return both_page(one, values, mistakes) if len(one.sets) > 1 else key_page(one, values, mistakes)


def fresh() -> dict[str, str]:
    return {"entry_id": room().new_id().hex(), "salt": room().fresh_salt()}


def key_page(one: Counting, values=None, mistakes=None):
    first, mistakes = one.first, mistakes or {}
    values = values or fresh()
    return render_template(
        "desk/count_key.html",
        one=one,
        first=first,
        sections=count_form.sections(one.contests),
        people=signing.candidates("P", (first,)) if first else signing.candidates("1"),
        tall=bool(values.get("as_paper")) or any("tick that it does" in said for said in mistakes.values()),
        values=values,
        mistakes=mistakes,
    )


def both_page(one: Counting, values=None, mistakes=None):
    first, second = one.sets[-2:]
    pairs = count_form.compared(first.figures, second.figures, one.contests)
    differ = [pair for pair in pairs if pair.differs]
    values = values or fresh()
    lines = [] if differ else lines_of(one, agreed(one, {}))
    return render_template(
        "desk/count_both.html",
        one=one,
        pairs=pairs,
        differ=differ,
        by=(first.by, second.by),
        lines=lines,
        off=[line for line in lines if line.gap],
        sources=SOURCES,
        people=signing.candidates("P"),
        values=values,
        mistakes=mistakes or {},
    )


def agreed(one: Counting, form) -> count_form.Keyed:
    """What both keyed alike, and what was read off the paper where they differ."""
    first, second = one.sets[-2:]
    said = {}
    for pair in count_form.compared(first.figures, second.figures, one.contests):
        value = form.get(pair.name, "") if pair.differs else pair.first
        said[pair.name] = "" if value is None else str(value)
    return count_form.read(said, one.contests)


def lines_of(one: Counting, keyed: count_form.Keyed) -> list[rules.CountLine]:
    held = rules.Count(*one.atom[:3], "", "", keyed.ballots, keyed.contests)
    return room().added.lines(held, one.contests)


@page.post("/counts/<unit>/<way>/<int:part>/key")
def key(unit: str, way: str, part: int):
    """One person's set. The second never sees the first's; a mistake in one form says nothing of the other."""
    one, form = Counting(unit, way, part), request.form
    if len(one.sets) > 1:
        return redirect(f"{one.path}?again=yes", 303)
    keyed = count_form.read(form, one.contests)
    mistakes = dict(keyed.mistakes)
    held = rules.Count(*one.atom[:3], "", "", keyed.ballots, keyed.contests)
    if not mistakes and form.get("as_paper") != "yes":
        mistakes |= rules.impossible(held, one.contests)
    if not mistakes:
        figures = {"ballots": keyed.ballots, "contests": {id: list(row) for id, row in keyed.contests.items()}}
        made = claim("keying", {"of": "count-in", "at": one.at, "figures": figures}, None, form, {})
        mistakes = keyed_by(made, form, one.first)
    return (key_page(one, form, mistakes), 422) if mistakes else redirect(f"{one.path}?again=yes", 303)


def keyed_by(made, form, first) -> dict[str, str]:
    """Keep one person's set; sent again, it is the set that stands already. What to mend, by input name."""
    if room().ledger.find(made.id):
        return dict(signing.kept((made,), ()).mistakes)
    official, mistakes = signing.authenticate(form, "P" if first else "1", (first,) if first else ())
    return dict(signing.kept((made,), (signing.signer_of(official),)).mistakes) if official else dict(mistakes)


@page.post("/counts/<unit>/<way>/<int:part>")
def keep(unit: str, way: str, part: int):
    """The count, signed by two parties: what both keyed alike, the paper where they did not, a note for what does not add up."""
    one, form = Counting(unit, way, part), request.form
    if len(one.sets) < 2:
        return redirect(one.path, 303)
    keyed = agreed(one, form)
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
            f"{'. '.join(said(line) for line in off[:3])}. Enter what the paper says of it, or: no remark on the paper."
        )
    elif note and (wrong := plain_words.mistake(note, LONGEST)):
        mistakes["note"] = wrong
    if not mistakes:
        outcome = signing.sign(Draft((count_claim(one, keyed, form, note),), "P", one.path), form)
        mistakes = dict(outcome.mistakes)
        if outcome.waiting:
            return redirect(f"/sign/{outcome.waiting}", 303)
        if outcome.entries:
            return redirect(one.path, 303)
    return both_page(one, form, mistakes), 422


def said(line: rules.CountLine) -> str:
    """A line that does not add up, in words: both figures, how far apart, and which way."""
    more = f"{line.gap:,} more than" if line.gap > 0 else f"{-line.gap:,} fewer than"
    return f"{line.name[:1].upper()}{line.name[1:]}: {line.says}, {more} the second"


def count_claim(one: Counting, keyed: count_form.Keyed, form, note: str):
    body = {
        "unit": one.atom.unit,
        "way": one.atom.way,
        "part": one.atom.part,
        "from": form["from"],
        "at": form.get("at", "").strip(),
        "papers": [form["papers"].strip()],
        "ballots": keyed.ballots,
        "contests": {id: list(row) for id, row in keyed.contests.items()},
        "amends": [tip.id for tip in one.kept.tips] if one.kept else [],
    }
    return claim("count-in", body, None, form, {"note": note})
