"""The second signature, and the others: the statement as the first one signed it, the open seats, and what to do when a seat stays empty."""

import re
from collections.abc import Mapping, Sequence
from typing import Any

from flask import Blueprint, abort, current_app, g, make_response, redirect, render_template, request
from flask.typing import ResponseReturnValue

from webapp.gate.gate import GateRefused
from webapp.gate.pending_signatures import Pending
from webapp.packet import contents
from webapp.packet.envelope import open_packet, parts_of
from webapp.pages.shared import filters
from webapp.pages.shared import signing as hands
from webapp.pages.shared.awaiting import Draft, texts_of
from webapp.pages.shared.claim_form import LOST
from webapp.precinct.balance.balance import Balance, balance
from webapp.precinct.checklist import checklist
from webapp.precinct.checklist.correction_changes import changes
from webapp.precinct.checklist.form_input import LONGEST
from webapp.precinct.day import seats as signing
from webapp.precinct.day import short_signed
from webapp.precinct.day.current_entry import CurrentEntry
from webapp.precinct.place import plain_words
from webapp.precinct.place.place import Official
from webapp.record.entry import Entry

page = Blueprint("sign", __name__)
WHYS = (
    ("absent", "Nobody for this seat is here"),
    ("declined", "They decline to sign"),
    ("pin-lost", "Their PIN is lost"),
    ("none-here", "Nobody here may take this seat: no other party has an official at work"),
)


def room() -> Any:  # what a shared page takes of it lies in the site of its folder
    return current_app.extensions["room"]


def waiting(name: str) -> tuple[Pending, Draft, tuple[Official, ...]]:
    """The draft that waits under this name, and who has signed it."""
    try:
        found = room().gate.pending.get(name, g.now)
    except GateRefused as gone:
        if left := room().gate.drafts.of_signature(name):
            abort(make_response(render_template("shared/draft.html", draft=left), 410))
        abort(410, str(gone))
    people = room().people
    return found, Draft.unpack(found.claims), tuple(people.official(person) for person, _ in found.signers)


@page.get("/sign/<name>")
def sign(name: str) -> str:
    return show(name)


@page.post("/sign/<name>")
def add(name: str) -> ResponseReturnValue:
    """One more signature for the very same figures; the last one keeps them."""
    found, draft, signed = waiting(name)
    if request.form.get("shown") != found.digest.hex():
        return show(
            name,
            {"signer": "The figures on the other tablet are not these. Open the step again and read them together."},
        ), 409
    official, mistakes = hands.authenticate(request.form, draft.weight, signed, bars=hands.bars_of(draft, signed))
    if official is None:
        return show(name, mistakes), 422
    signed = (*signed, official)
    if not signing.complete(draft.weight, signed, room().rules, room().people.working()):
        room().gate.pending.add(name, official.id, found.digest, g.now)
        return redirect(f"/sign/{name}", 303)
    return finish(name, draft, signed)


@page.post("/sign/<name>/back")
def take_back(name: str) -> ResponseReturnValue:
    """The first signature is taken back: nothing is in the record, and the page opens as it was filled in."""
    _, draft, _ = waiting(name)
    room().gate.pending.withdraw(name)
    left = room().gate.drafts.of_signature(name)
    if left:
        room().gate.drafts.move(left.id, g.session.tablet)
    return redirect(left.path if left else draft.back, 303)


@page.post("/sign/<name>/short")
def short(name: str) -> ResponseReturnValue:
    """A seat that cannot be filled never stops the work: one of those who signed signs again, now with the reason."""
    found, draft, signed = waiting(name)
    form, before = request.form.to_dict(), told_before()
    if form.get("as_before") and before:
        form |= {"why": before["why"], "told": before["told"], "told_at": clock(before["told_at"])}
    mistakes = {
        field: sentence
        for field, sentence in (
            ("why", "Select why the seat is empty."),
            ("told", "Enter who at the office was told: the role is enough."),
            ("told_at", f"Enter when the office was told, {room().like}."),
        )
        if not form.get(field, "").strip()
    }
    if form.get("told", "").strip() and (unfit := plain_words.mistake(form["told"].strip(), LONGEST)):
        mistakes["told"] = unfit
    told_at, twice = room().moment(form.get("told_at", "")), room().half_missing(form.get("told_at", ""))
    if "told_at" not in mistakes and (told_at is None or twice):
        mistakes["told_at"] = twice or f"Enter when the office was told in hours and minutes, {room().like}."
    official = None
    if not mistakes:
        official, mistakes = hands.authenticate(form, "1")
    if not mistakes and official and official.id not in [o.id for o in signed]:
        mistakes = {"signer": f"{official.name} has not signed above. If the seat is theirs, sign there instead."}
    if mistakes:
        return show(
            name,
            {
                f"short-{field}" if field in ("signer", "pin") else field: sentence
                for field, sentence in mistakes.items()
            },
        ), 422
    here = room()
    able = short_signed.able(draft.weight, signed, here.people, here.rules)
    seats = [
        {"seat": seat.name, "why": form["why"], "told_at": told_at, **({"able": able} if able else {})}
        for seat in signing.unfilled(draft.weight, signed, here.rules, here.people.working())
    ]
    if wrong := short_signed.mistakes(draft.weight, signed, seats, here.people, here.rules, g.now):
        return show(name, {"why": " ".join(wrong)}), 422
    if not re.fullmatch("[0-9a-f]{32}", form.get("salt", "")):
        abort(400, LOST)
    claims = here.shortened(draft.claims, seats, form["told"].strip(), form["salt"])
    return finish(name, Draft(claims, draft.weight, draft.back, draft.about), signed)


def told_before() -> dict[str, Any] | None:
    """{why, told, told_at (ms UTC)} of the last seat that stayed empty; None where none did. The office need not be called again for it in the same hour."""
    kept = next(
        (k for k in reversed(room().day.entries) if k.short and k.taken_back is None and k.texts.get("told")), None
    )
    if kept is None:
        return None
    last = kept.short[-1]
    return {"why": last["why"], "told": kept.texts["told"], "told_at": last["told_at"]}


def clock(ms: int) -> str:
    return filters.clock(ms, room().zone, room().hours_on_clock)


def finish(name: str, draft: Draft, signed: Sequence[Official]) -> ResponseReturnValue:
    outcome = hands.append_claims(draft.claims, [hands.signer_of(o) for o in signed])
    if outcome.mistakes:
        return show(name, outcome.mistakes), 409
    room().gate.pending.done(name)
    onward = room().after_entries(draft.back, outcome.entries)
    return told_beside(outcome.entries, signed, onward) or redirect(onward, 303)


def told_beside(entries: Sequence[Entry], signed: Sequence[Official], onward: str) -> ResponseReturnValue | None:
    """The page for a second signer whose signature came a moment after another's: the entry names the other. None where this signer is in it."""
    for entry in entries:
        inside = {signer.person for signer in entry.signers}
        left = next((official for official in signed if entry.signers and official.id not in inside), None)
        if left is not None:
            names = " and ".join(room().person_name(signer.person) for signer in entry.signers)
            sentence = f"Entry {entry.number} was kept a moment before, signed by {names}. The signature of {left.name} is not in it, and none is missing."
            return render_template("shared/told.html", heading="Somebody else signed first", sentence=sentence), 409
    return None


def show(name: str, mistakes: Mapping[str, str] | None = None) -> str:
    """The statement, who signed, who may sign next."""
    found, draft, signed = waiting(name)
    said = [
        room().told(claim.kind, claim.body, texts_of(claim)) for claim in draft.claims if claim.kind != "check-words"
    ]
    taken = signing.filled(draft.weight, signed, room().rules, room().people.working())
    seats = [(seat, taken.get(seat.name)) for seat in signing.seats(draft.weight, room().people.working())]
    times = dict(found.signers)
    able = hands.candidates(draft.weight, signed)
    return render_template(
        "shared/sign.html",
        name=name,
        draft=draft,
        said=said,
        corrects=corrects(draft),
        packet=packet_of(draft),
        figures=room().figures_to_sign(draft.claims),
        lacks=room().kept_meanwhile(draft.claims),
        seats=seats,
        times=times,
        coarse=found.coarse,
        digest=found.digest.hex(),
        whys=[why for why in WHYS if why[0] != ("none-here" if able else "absent")],
        before=told_before(),
        open=[seat for seat, who in seats if who is None],
        people=able,
        signed=[(o.id, f"{o.name}, {room().party_name(o.party)}, {o.role}") for o in signed],
        mistakes=mistakes or {},
        values=request.form,
    )


def corrects(draft: Draft) -> tuple[CurrentEntry, list[Any], str] | None:
    """What a correction changes, with its reason; None where nothing is corrected: (entry, changes, reason)."""
    here = room()
    claim = next((claim for claim in draft.claims if claim.kind == "correction"), None)
    found = here.day.entry(claim.body["of"]) if claim else None
    step = checklist.step_of(found.kind, here.place_of(found.body)) if found else None
    if claim is None or found is None or step is None:
        return None
    place, texts = here.place_of(found.body), texts_of(claim)
    filled = checklist.fill(step, place, found.at)
    new = claim.body["body"], {name: text for name, text in texts.items() if name != "reason"}
    told = {name: text for name, text in found.texts.items() if name in (found.body.get("words") or {})}
    return found, changes(filled, found.at, place, here.day, (found.body, told), new), texts.get("reason", "")


def packet_of(draft: Draft) -> Balance | None:
    """The balance of the packet whose digest waits for a signature, out of its own bytes; None where none does."""
    here = room()
    digest = next((bytes(claim.body["digest"]) for claim in draft.claims if claim.kind == "packet-made"), None)
    data = digest and here.attachment(digest)
    if not data:
        return None
    opened = open_packet(parts_of(data), {}, here.place.mode)
    return balance(contents.figures(opened.core, here.place))
