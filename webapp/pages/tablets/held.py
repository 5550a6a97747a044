"""Records what was held on a tablet: shown in the record's own words, signed by its holder, recorded one by one in order.

Nothing is sent by itself and nothing is dropped. What the record refuses goes back to the tablet with the sentence
why, for a person to do again or to put aside with a reason, which is an incident of its own.
"""

from dataclasses import replace
from typing import Any, cast

from flask import Blueprint, abort, current_app, g, jsonify, render_template, request
from flask.typing import ResponseReturnValue

from webapp.gate.gate import GateRefused
from webapp.pages.shared import drafts, signing
from webapp.pages.shared.claim_form import claim, stated
from webapp.pages.tablets.held_entry import HeldEntry, HeldReading, UnclearEntry, entries, entry, read, time_words
from webapp.precinct.day.hours import full_hour
from webapp.record.entry import Claim, Signer
from webapp.record.ledger import RecordRefused

page = Blueprint("held", __name__)
LIMITS = {"/held/look": 2**20, "/held/keep": 2**20, "/held/aside": 64 * 1024}
FAR_OFF = 60_000  # ms: a clock further off is said in a sentence


def room() -> Any:  # what a shared page takes of it lies in the site of its folder
    return current_app.extensions["room"]


@page.get("/held")
def held() -> str:
    """The list of this tablet; the tablet's own script fills it in."""
    return render_template("tablets/held.html", people=signing.candidates("1"))


@page.post("/held/look")
def look() -> ResponseReturnValue:
    """What the entries of this tablet say, in the record's words; nothing is recorded. `ask`: ids of entries done again, to know their numbers."""
    sent, offset = received()
    found = [read(one, offset) for one in held_in(sent)]
    known = {text: entry.number for text in asked(sent) if (entry := room().ledger.find(bytes.fromhex(text)))}
    return jsonify(
        last_seq=last_seq(),
        clock=clock_words(offset),
        now=g.now,
        known=known,
        entries={one.held.id.hex(): as_json(one) for one in found},
    )


@page.post("/held/keep")
def keep() -> ResponseReturnValue:
    """Keep these entries, in this order, signed by the one person who enters a PIN. Each gets its number, or the sentence why not."""
    sent, offset = received()
    found = held_in(sent)
    official, mistakes = signing.authenticate({name: str(sent.get(name, "")) for name in ("signer", "pin")}, "1")
    if official is not None and (
        other := next((one.holder for one in found if one.holder not in (None, official.id)), None)
    ):
        official, mistakes = (
            None,
            {"signer": f"{room().person_name(other)} holds one of these and signs for it; nobody signs for another."},
        )
    if official is None:
        return jsonify(mistakes=mistakes, last_seq=last_seq()), 422
    results, stopped = kept_in_order(found, offset, signing.signer_of(official))
    return jsonify(results=results, stopped=stopped, last_seq=last_seq())


def kept_in_order(found: tuple[HeldEntry, ...], offset: int, signer: Signer) -> tuple[dict[str, dict[str, Any]], str]:
    """(what became of each, by id; why it stopped). A disk that takes nothing more, or a line out of turn, stops it: what comes after stays held."""
    here, results, fallen = room(), {}, 0
    with here.lock:
        for one in found:
            reading = read(one, offset)
            fallen += bool(reading.says or reading.tap)  # these take no line of the tablet's
            try:
                results[one.id.hex()] = {**as_json(reading), **append_held(reading, one.seq - fallen, offset, signer)}
            except (RecordRefused, GateRefused) as refused:
                return results, str(refused)
    return results, ""


def append_held(reading: HeldReading, seq: int, offset: int, signer: Signer) -> dict[str, int]:
    """Into the record, or onto the hour's sheet; what is there already, or is refused, stays as it was."""
    here = room()
    if reading.says:
        return {}
    drafts.forget(reading.held.id.hex())  # its page was perhaps begun while the laptop still answered
    if reading.number is not None:
        return {}
    if reading.tap:
        message, outcome, less = reading.tap
        change = here.gate.tallies.untap if less else here.gate.tallies.tap
        change(message, outcome, full_hour(reading.moment), reading.held.id)
        return {"number": 0}
    own = cast(Claim, reading.claim)  # neither refused, nor there already, nor a tap
    done = here.keep([replace(own, seq=seq)], (signer,), holder=signer.person, made=reading.held.made, offset=offset)
    return {"number": done[-1].number}


@page.post("/held/aside")
def aside() -> ResponseReturnValue:
    """An entry that the record refused and nobody does again: put aside by a person, with the reason, as an incident."""
    sent, offset = received()
    reading, reason = read(one_in(sent), offset), str(sent.get("reason", "")).strip()
    official, mistakes = (
        signing.authenticate({name: str(sent.get(name, "")) for name in ("signer", "pin")}, "1")
        if reason
        else (None, {"reason": "Enter why it is put aside."})
    )
    if official is None:
        return jsonify(mistakes=mistakes), 422
    said = str(sent.get("says", ""))[:500]
    words = f"Held on tablet {g.session.tablet} and put aside: {reading.words} The record said: {said} Why it is put aside: {reason}"
    task = room().notes.task("incident", "")
    form = room().read_form(task, {"where": "other", "what": words, "told": ""})
    if form.mistakes:
        return jsonify(mistakes={"reason": " ".join(form.mistakes.values())}), 422
    own = claim(
        "incident",
        dict(form.body),
        stated(form),
        {"entry_id": str(sent.get("aside_id", "")), "salt": str(sent.get("aside_salt", ""))},
        form.words,
    )
    try:
        done = room().keep([own], (signing.signer_of(official),), holder=official.id)
    except (RecordRefused, GateRefused) as refused:
        return jsonify(mistakes={"": str(refused)}), 422
    drafts.forget(reading.held.id.hex())  # its page, perhaps begun while the laptop still answered, is over too
    return jsonify(number=done[-1].number, last_seq=last_seq())


# --- what is sent, and what is told


def received() -> tuple[dict[str, Any], int]:
    """The JSON of a tablet, and its clock less the laptop's in ms."""
    sent = request.get_json(silent=True)
    clock = sent.get("clock") if isinstance(sent, dict) else None
    if not isinstance(sent, dict) or type(clock) is not int or not 0 <= clock < 2**53:
        abort(400, "A tablet says what it holds and what its clock shows. Open the page again.")
    return sent, clock - g.now


def held_in(sent: dict[str, Any]) -> tuple[HeldEntry, ...]:
    try:
        return entries(sent.get("entries"))
    except UnclearEntry as unclear:
        abort(400, str(unclear))


def one_in(sent: dict[str, Any]) -> HeldEntry:
    try:
        return entry(sent.get("held"))
    except UnclearEntry as unclear:
        abort(400, str(unclear))


def asked(sent: dict[str, Any]) -> list[str]:
    """Ids, of 32 hexadecimal digits each."""
    given = sent.get("ask", [])
    return (
        [
            text
            for text in given[:1000]
            if isinstance(text, str) and len(text) == 32 and set(text) <= set("0123456789abcdef")
        ]
        if isinstance(given, list)
        else []
    )


def as_json(reading: HeldReading) -> dict[str, Any]:
    holder = reading.held.holder
    return {
        "words": reading.words,
        "time": time_words(reading),
        "says": reading.says,
        "number": reading.number,
        "holder": room().person_name(holder) if holder else "",
    }


def last_seq() -> int:
    return room().ledger.last_seq(g.session.tablet)


def clock_words(offset: int) -> str:
    """What is said of the tablet's clock; "" when it goes right."""
    if room().clock.scripted or abs(offset) <= FAR_OFF:
        return ""
    return f"The clock of this tablet is {room().memory.clock_words(offset)}. The times below are put right by that; the difference is kept beside each entry."
