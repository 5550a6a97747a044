"""A place keyed from its paper: blind by two receivers of two parties, what differs side by side against the paper, then signed by both.

Until the second set is in, nothing that leaves this server holds a figure of the first.
"""

from collections.abc import Mapping
from typing import Any

from flask import Blueprint, current_app, redirect, render_template, request
from flask.typing import ResponseReturnValue
from werkzeug.datastructures import MultiDict

from webapp.office.keying import from_paper as papers_of
from webapp.office.keying import paper_asks, paper_core, paper_leaf
from webapp.office.keying.paper_leaf import KeyedLeaf
from webapp.office.questions import who_carried
from webapp.packet import contents
from webapp.pages.desk.shared.named_place import known
from webapp.pages.desk.shared.two_keyings import TwoKeyings
from webapp.pages.desk.site.office_site import OfficeSite
from webapp.pages.shared import signing
from webapp.pages.shared.awaiting import Draft
from webapp.pages.shared.claim_form import claim, fresh
from webapp.precinct.balance.balance import Balance, Unreadable, balance
from webapp.precinct.checklist.field_parsers import InvalidInput, number
from webapp.precinct.checklist.form_input import LONGEST
from webapp.precinct.place import plain_words
from webapp.record.entry import Claim

page = Blueprint("from_paper", __name__)


def room() -> OfficeSite:
    return current_app.extensions["room"]


class Keying(TwoKeyings):
    """What one page speaks of: a place, and how often it was keyed before (`turn`)."""

    kind = "place-keyed"

    def __init__(self, place: str):
        self.place = known(place)
        self.kept = room().tray.papers.get(place, ())
        self.turn = len(self.kept)
        self.at = place + (f"/{self.turn}" if self.turn else "")
        self.path = f"/place/{place}/paper"

    @property
    def amends(self) -> list[bytes]:
        """Ids of the keyed papers that a new one replaces: those that none replaces yet."""
        gone = {old for one in self.kept for old in one.amends}
        return [one.id for one in self.kept if one.id not in gone]


@page.get("/place/<place>/paper")
def paper(place: str) -> ResponseReturnValue:
    """The place as it was keyed; else the keying that is next."""
    one = Keying(place)
    if not one.kept or request.args.get("again") == "yes" or one.first:
        return next_page(one)
    outcome = room().tray.outcome(place)
    rows = [(kept, room().day.entry(kept.number), outcome.states.get(kept.digest, "")) for kept in reversed(one.kept)]
    return render_template("desk/paper_kept.html", one=one, rows=rows, words=dict(papers_of.papers(one.place)))


def next_page(one: Keying, values: Mapping[str, Any] | None = None, mistakes: Mapping[str, str] | None = None) -> str:
    return both_page(one, values, mistakes) if len(one.sets) > 1 else key_page(one, values, mistakes)


def key_page(one: Keying, values: Mapping[str, Any] | None = None, mistakes: Mapping[str, str] | None = None) -> str:
    first, mistakes, values = one.first, mistakes or {}, values or fresh()
    return render_template(
        "desk/paper_key.html",
        one=one,
        first=first,
        sections=paper_leaf.sections(one.place),
        people=may_key(one),
        asked=any("tick that it" in said for said in mistakes.values()) or bool(values.get("as_paper")),
        packets=len(room().tray.packets.get(one.place.id, ())),
        values=values,
        mistakes=mistakes,
    )


def may_key(one: Keying) -> list[tuple[str, str]]:
    """Who may key now: for the second keying receivers of another party; never who carried these goods."""
    return [(id, words) for id, words in one.candidates() if not carried(one, id)]


def carried(one: Keying, person: str) -> bool:
    """Whether this receiver brought the goods of the place: by the same name on the roll of the place."""
    kept, me = room().desks[one.place.id].last("carriers-in"), room().people.official(person)
    if kept is None or me is None:
        return False
    return who_carried.brought_by(one.place, kept.body, kept.word("not_on_roll") or "", me.name)


@page.post("/place/<place>/paper/key")
def key(place: str) -> ResponseReturnValue:
    """One person's set. The second never sees the first's; a mistake in one form says nothing of the other."""
    one, form = Keying(place), request.form
    if told := one.not_wanted(form):
        return key_page(one, form, {"": told}), 422
    if len(one.sets) > 1:
        return redirect(f"{one.path}?again=yes", 303)
    leaf = paper_leaf.read(form, one.place)
    mistakes = dict(leaf.mistakes)
    if not mistakes and form.get("as_paper") != "yes":
        mistakes |= paper_asks.asks(leaf.values, one.place)
    if not mistakes and carried(one, form.get("signer", "")):
        mistakes["signer"] = "The person who carried the goods does not key them. Choose another receiver."
    if not mistakes:
        mistakes = one.sign(leaf.values, form, place=place)
    return (key_page(one, form, mistakes), 422) if mistakes else redirect(f"{one.path}?again=yes", 303)


# --- both sets are in


def both_page(one: Keying, values: Mapping[str, Any] | None = None, mistakes: Mapping[str, str] | None = None) -> str:
    first, second = one.sets[-2:]
    pairs = paper_leaf.compared(first.figures, second.figures, one.place)
    differ, values = [pair for pair in pairs if pair.differs], values or fresh()
    leaf = agreed(one, values)
    drawn = drawn_of(one, leaf) if not leaf.mistakes and (not differ or mistakes is not None) else None
    return render_template(
        "desk/paper_both.html",
        one=one,
        pairs=pairs,
        differ=differ,
        by=(first.by, second.by),
        drawn=drawn,
        gaps=list(papers_of.to_note(drawn)) if drawn else [],
        papers=papers_of.papers(one.place),
        states=papers_of.STATES,
        whys=papers_of.WHYS,
        ink=[(f"{role}/{party}", words) for role, party, words in ink_of(one)],
        empty=len(paper_leaf.empty(leaf.values, one.place)),
        people=[(id, words) for id, words in signing.candidates("P") if not carried(one, id)],
        values=values,
        mistakes=mistakes or {},
    )


def ink_of(one: Keying) -> list[tuple[str, str, str]]:
    """Who may have signed a paper at that place: (role, party, words), once each."""
    pairs = dict.fromkeys((official.role, official.party) for official in one.place.officials)
    parties = {party.id: party.name for party in one.place.parties}
    return [(role, party, f"{role}, {parties.get(party, party)}") for role, party in pairs]


def agreed(one: Keying, form: Mapping[str, str]) -> KeyedLeaf:
    """What both keyed alike, and what was read off the paper where they differ."""
    first, second = one.sets[-2:]
    pairs = paper_leaf.compared(first.figures, second.figures, one.place)
    alike = {pair.control.name: pair.first for pair in pairs if not pair.differs and pair.first is not None}
    third = paper_leaf.read(
        {pair.control.name: form.get(pair.control.name, "") for pair in pairs if pair.differs}, one.place
    )
    mistakes = {name: said for name, said in third.mistakes.items() if not said.startswith("No results tape")}
    return KeyedLeaf({**alike, **third.values}, mistakes)


def drawn_of(one: Keying, leaf: KeyedLeaf) -> Balance | None:
    """The balance of these figures; None where they cannot be a night's."""
    core = paper_core.whole(paper_core.core_of(leaf.values, one.place), one.place, 0)
    try:
        return balance(contents.figures(core, one.place))
    except (Unreadable, ValueError, LookupError, TypeError):
        return None


@page.post("/place/<place>/paper")
def keep(place: str) -> ResponseReturnValue:
    """The place, signed by two parties: what both keyed alike, the paper where they did not, the papers there were, a note for each gap."""
    one, form = Keying(place), request.form
    if len(one.sets) < 2:
        return redirect(one.path, 303)
    leaf = agreed(one, form)
    mistakes = dict(leaf.mistakes)
    if form.get("turn") != str(one.turn):
        mistakes[""] = "This place was keyed again since this page was opened. Look at that first."
    mistakes |= third_look(one, leaf, form) if not mistakes else {}
    if form.get("why") not in dict(papers_of.WHYS):
        mistakes["why"] = "Choose why this place is keyed from paper."
    rows, wrong = read_papers(one, form)
    notes, more = ({}, {}) if leaf.mistakes else read_notes(one, leaf, form)
    mistakes |= wrong | more
    if not mistakes and carried(one, form.get("signer", "")):
        mistakes["signer"] = "The person who carried the goods does not sign for their paper. Choose another receiver."
    if not mistakes:
        outcome = signing.sign(Draft((place_claim(one, leaf, form, rows, notes),), "P", one.path), form)
        mistakes = dict(outcome.mistakes)
        if on := signing.where_next(outcome, one.path):
            return on
    return both_page(one, form, mistakes), 422


def third_look(one: Keying, leaf: KeyedLeaf, form: MultiDict[str, str]) -> dict[str, str]:
    """Lines that differ and were left empty need a word that the paper does not show them; figures that cannot be are asked about again."""
    first, second = one.sets[-2:]
    left = [
        pair.control
        for pair in paper_leaf.compared(first.figures, second.figures, one.place)
        if pair.differs and pair.control.name not in leaf.values and form.get(f"none.{pair.control.name}") != "yes"
    ]
    said = {
        c.name: f"{c.section}, {c.label}: enter what the paper says, or tick that it does not say it." for c in left
    }
    if not said and drawn_of(one, leaf) is None:
        return {"": "These figures cannot be drawn up as a night's. Look at the counters and tapes on the paper again."}
    return said


def read_papers(one: Keying, form: MultiDict[str, str]) -> tuple[list[dict[str, Any]], dict[str, str]]:
    """(the rows of the papers, what to correct). Nothing is filled in beforehand."""
    rows, mistakes, known_ink = [], {}, {f"{role}/{party}": [role, party] for role, party, _ in ink_of(one)}
    for id, words in papers_of.papers(one.place):
        state, text = form.get(f"state.{id}", ""), form.get(f"prints.{id}", "").strip()
        if state not in dict(papers_of.STATES):
            mistakes[f"state.{id}"] = f"{words}: choose whether it is here, and whole."
        ink = [known_ink[name] for name in form.getlist(f"ink.{id}") if name in known_ink]
        row: dict[str, Any] = {
            "paper": id,
            "state": state,
            "prints": None,
            "ink": ink if state != papers_of.MISSING else [],
        }
        if text:
            try:
                row["prints"] = number(text)
            except InvalidInput:
                mistakes[f"prints.{id}"] = f"{words}: enter how many prints there are in digits, or leave it empty."
        rows.append(row)
    return rows, mistakes


def read_notes(one: Keying, leaf: KeyedLeaf, form: MultiDict[str, str]) -> tuple[dict[str, str], dict[str, str]]:
    """(words by name, what to correct): the remark of the paper on each gap, or a tick that it has none."""
    drawn, notes, mistakes = drawn_of(one, leaf), {}, {}
    for line, says in papers_of.to_note(drawn) if drawn else ():
        name = f"{papers_of.NOTE}{line}"
        text = form.get(name, "").strip()
        if not text and form.get(f"silent.{line}") != "yes":
            mistakes[name] = f"{says} Enter the remark on the paper, word for word, or tick that it has none."
        elif text and (wrong := plain_words.mistake(text, LONGEST)):
            mistakes[name] = wrong
        if text:
            notes[name] = text
    return notes, mistakes


def place_claim(
    one: Keying, leaf: KeyedLeaf, form: MultiDict[str, str], rows: list[dict[str, Any]], notes: dict[str, str]
) -> Claim:
    body = {
        "place": one.place.id,
        "place_digest": one.place.digest,
        "why": form["why"],
        "amends": one.amends,
        "papers": rows,
        "core": paper_core.core_of(leaf.values, one.place),
        "empty": paper_leaf.empty(leaf.values, one.place),
    }
    return claim("place-keyed", body, None, form, notes)
