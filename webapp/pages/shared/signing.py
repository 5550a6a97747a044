"""How a person signs: name, PIN, Sign. One signature is kept at once; the first of several waits at the gate for the others.

Nobody is preselected and nobody is signed for: each signature is that person's own PIN, for the very figures on the screen.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from flask import current_app, g, redirect, request
from werkzeug.wrappers import Response as BaseResponse

from webapp.gate.gate import GateRefused, WrongPin
from webapp.pages.shared import drafts
from webapp.pages.shared.awaiting import Draft
from webapp.precinct.checklist.form_input import LONGEST
from webapp.precinct.day import seats
from webapp.precinct.place import plain_words
from webapp.precinct.place.place import Official
from webapp.record.entry import Claim, Entry, Signer
from webapp.record.ledger import RecordRefused

MOST_WORDS = 4 * LONGEST  # letters of one text with what the product itself writes beside what was typed
Bars = Callable[[Official], str | None]


@dataclass(frozen=True, slots=True)
class Outcome:
    """The result of signing: recorded entries, or a draft that waits, or what to correct (`{input name: sentence}`). twice: they were there already."""

    entries: tuple[Entry, ...] = ()
    twice: bool = False
    waiting: str = ""
    mistakes: dict[str, str] = field(default_factory=dict)


def room() -> Any:  # what a shared page takes of it lies in the site of its folder
    return current_app.extensions["room"]


def signer_of(official: Official, how: str = "pin") -> Signer:
    """Returns an official as the signer of an entry. how: "pin", "desk" or "ink"."""
    return Signer(official.id, official.role, official.party, how)


def candidates(weight: str, signed: Sequence[Official] = ()) -> list[tuple[str, str]]:
    """Who may take the next seat: (id, name with party and role), the holder of this tablet first, then in the order of the roll."""
    here = room()
    people = here.people
    free = [o for o in people.working() if seats.refusal(weight, signed, o, people, here.rules) is None]
    free.sort(key=lambda o: o.id != g.session.holder)  # whoever holds the tablet stands first; nobody is chosen
    return [(o.id, f"{o.name}, {here.party_name(o.party)}, {o.role}") for o in free]


def bars_of(draft: Draft, signed: Sequence[Official] = (), more: Bars | None = None) -> Bars:
    """What bars an official from these claims: the room's own reasons, then the seats, then what `more` there is."""
    here = room()
    return lambda who: (
        here.barred(draft.claims, who)
        or seats.refusal(draft.weight, signed, who, here.people, here.rules, draft.about)
        or (more(who) if more else None)
    )


def authenticate(
    form: Mapping[str, str], weight: str, signed: Sequence[Official] = (), about: str = "", bars: Bars | None = None
) -> tuple[Official | None, dict[str, str]]:
    """(the person who signs by this form, {}), or (None, what to correct by input name). A wrong PIN is recorded as an entry, without the PIN.

    bars: gives the sentence that bars an official, if the seats of a fresh signature are not all there is to check.
    """
    here = room()
    person = form.get("signer", "")
    if not person:
        return None, {"signer": "Choose who signs."}
    official = here.people.official(person)
    if official is None:
        return None, {"signer": "This name is not on the roll. Choose one of the names shown."}
    barred = bars(official) if bars else seats.refusal(weight, signed, official, here.people, here.rules, about)
    if barred:
        return None, {"signer": barred}
    if not form.get("pin"):
        return None, {"pin": f"Enter the PIN of {official.name}."}
    wrong = checked(person, form["pin"])
    return (None, {"pin": wrong}) if wrong else (official, {})


def checked(person: str, pin: str) -> str:
    """Check a PIN. "" when it matches, else the sentence; each wrong try is recorded."""
    here = room()
    try:
        here.gate.check_pin(person, pin, g.session.tablet, g.now)
    except WrongPin as wrong:
        return str(wrong) + failed(person)
    except GateRefused as refused:
        return str(refused)
    return ""


def failed(person: str) -> str:
    """Record that a PIN did not match, without the PIN. "", or the record's own refusal after a space."""
    try:
        room().laptop_says("pin-failed", {"person": person, "tablet": g.session.tablet})
    except RecordRefused as refused:
        return f" {refused}"
    return ""


def sign(draft: Draft, form: Mapping[str, str], page: str = "", bars: Bars | None = None) -> Outcome:
    """The first signature of these claims (or the holder's tick), and what then becomes of the page as it was typed. `page`: where it is opened
    again if the signature lapses; without one, where it was sent to. `bars`: what else bars an official from it."""
    outcome = _signed(draft, form, bars)
    if outcome.entries:
        drafts.signed(form)
    elif outcome.waiting:
        kinds = [claim.kind for claim in draft.claims if claim.kind != "check-words"]
        coarse = any(room().ledger.rough(claim.kind, claim.body) for claim in draft.claims)
        drafts.waits(kinds, coarse, page or request.path, outcome.waiting, form.get("signer", ""))
    return outcome


def where_next(outcome: Outcome, done: str | Callable[[tuple[Entry, ...]], str]) -> BaseResponse | None:
    """Where Sign leads: to the page of the second signer, or to `done` once it is recorded; None where something must be corrected.

    done: an address, or a function that makes one of the entries. One that names what was kept (`kept=`) gets `twice=yes` where nothing was added.
    """
    if outcome.waiting:
        return redirect(f"/sign/{outcome.waiting}", 303)
    if not outcome.entries:
        return None
    address = done if isinstance(done, str) else done(outcome.entries)
    return redirect(address + ("&twice=yes" if outcome.twice and "?kept=" in address else ""), 303)


def second_keyer(first: Official | None, weight: str) -> Bars | None:
    """What bars an official from keying a paper blind after `first`: each keying is one signature, and `weight` says how the two people differ.
    None while nobody has keyed it."""
    here = room()
    return (lambda who: seats.refusal(weight, (first,), who, here.people, here.rules)) if first else None


def _signed(draft: Draft, form: Mapping[str, str], bars: Bars | None) -> Outcome:
    """Signs once: claims that are recorded already need no signature; steps that others recorded meanwhile take none."""
    here = room()
    mine = [claim for claim in draft.claims if claim.tablet != "L"]
    new = [claim for claim in mine if here.ledger.find(claim.id) is None]
    if not new:
        known = tuple(here.ledger.find(claim.id) for claim in mine)
        there = Outcome(entries=known) if all(map(is_same_claim, mine, known)) else append_claims(mine, ())
        return replace(there, twice=True)
    if settled := here.settled(new, here.now()):
        return Outcome(mistakes={"": settled})
    if unfit := unreadable(new):
        return Outcome(mistakes=unfit)
    if draft.weight == "T":
        return ticked(draft)
    official, mistakes = authenticate(form, draft.weight, bars=bars_of(draft, more=bars))
    if official is None:
        return Outcome(mistakes=mistakes)
    if seats.complete(draft.weight, (official,), here.rules, here.people.working()):
        return append_claims(draft.claims, (signer_of(official),))
    if waits := waiting_already(draft, official):
        return Outcome(waiting=waits)
    coarse = any(here.ledger.rough(claim.kind, claim.body) for claim in draft.claims)
    try:
        return Outcome(
            waiting=here.gate.pending.keep(draft.pack(), draft.digest, draft.weight, official.id, g.now, coarse)
        )
    except GateRefused as refused:
        return Outcome(mistakes={"": str(refused)})


def unreadable(claims: Sequence[Claim]) -> dict[str, str]:
    """What to correct in the words of these claims, by their names, from any page: characters that hide or turn others, too many characters."""
    return {
        name: wrong
        for claim in claims
        for name, text in claim.words.items()
        if (wrong := plain_words.mistake(text.text, MOST_WORDS))
    }


def is_same_claim(claim: Claim, known: Entry) -> bool:
    """Whether this is the claim of an entry that was recorded short-signed: the empty seat, and who was notified, came with the second form."""
    body = {name: value for name, value in known.body.items() if name != "short"}
    words = {name: digest for name, digest in body.get("words", {}).items() if name != "told"}
    body = {name: value for name, value in body.items() if name != "words"} | ({"words": words} if words else {})
    return "short" in known.body and (claim.kind, claim.full_body, claim.happened, claim.tablet) == (
        known.kind,
        body,
        known.happened,
        known.tablet,
    )


def waiting_already(draft: Draft, official: Official) -> str:
    """The id of the same draft, signed first by the same person, which waits: the answer was lost, or Sign was pressed again. "" where none does."""
    for waits in room().gate.pending.waiting(g.now):
        other = Draft.unpack(waits.claims)
        if (
            waits.people == (official.id,)
            and (other.weight, other.about) == (draft.weight, draft.about)
            and [replace(claim, happened=0) for claim in other.claims if claim.tablet != "L"]
            == [replace(claim, happened=0) for claim in draft.claims if claim.tablet != "L"]
        ):
            return waits.id
    return ""


def ticked(draft: Draft) -> Outcome:
    """Take a tick by the tablet's holder. Arrivals alone need no holder: nobody can have a PIN yet."""
    arriving = all(claim.kind == "arrivals" for claim in draft.claims) and g.session.holder is None
    barred = "" if arriving else barred_holder()
    return Outcome(mistakes={"holder": barred}) if barred else append_claims(draft.claims, ())


def barred_holder() -> str:
    """Why nothing can be ticked on this tablet now; "" when its holder may."""
    if g.session.holder is None:
        return "Nobody holds this tablet. Take it with your PIN first, then tick."
    return room().people.why_not(g.session.holder) or ""


def append_claims(claims: Sequence[Claim], signers: Sequence[Signer]) -> Outcome:
    """Append these claims durably; a refusal of record or gate becomes a mistake on the page."""
    try:
        return Outcome(entries=room().keep(claims, signers, holder=g.session.holder))
    except (RecordRefused, GateRefused) as refused:
        return Outcome(mistakes={"": str(refused)})
