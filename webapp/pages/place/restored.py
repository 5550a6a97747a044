"""What was restored: to which entry, what tablets and disks gave back, in words, and which numbers nobody has; signed by two of different parties."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from flask import Blueprint, abort, current_app, g, redirect, render_template, request
from flask.typing import ResponseReturnValue

from webapp.pages.place.site.place_site import PlaceSite
from webapp.pages.place.site.waiting_signatures import waiting
from webapp.pages.shared import signing
from webapp.pages.shared.awaiting import Draft
from webapp.pages.shared.claim_form import claim, fresh
from webapp.precinct.checklist import checklist
from webapp.precinct.checklist.recovery_entries import whence
from webapp.precinct.day.current_entry import kept_from
from webapp.precinct.day.restores import (
    MOST,
    NOT_FOLDED,
    PAIRED,
    RETURNED,
    SIGNED,
    STRUCK_OFF,
    Restore,
    in_words,
    ranges,
    replaced,
    restore,
    unheard,
)
from webapp.record.entry import Entry

page = Blueprint("restored", __name__)


@dataclass(frozen=True, slots=True)
class Returned:
    """One entry that came back, for people to read. said: in words, or why it is not shown now. counts: whether it will count once signed."""

    was: int
    number: int
    title: str
    said: str
    signers: str
    source: str
    signed: bool
    counts: bool


def room() -> PlaceSite:
    return current_app.extensions["room"]


def found() -> Restore:
    return restore(room().day) or abort(404)


GONE = (
    ("taken", "Laptop and stick were taken"),
    ("destroyed", "Laptop and stick are destroyed"),
    ("unreadable", "Nothing on laptop and stick can be read"),
)


@dataclass(frozen=True, slots=True)
class OtherRecord:
    """Another record that tablets remember: 16 bytes in hex, its run, the highest number they saw, their letters."""

    record: str
    run: int
    number: int
    tablets: tuple[str, ...]


def others() -> list[OtherRecord]:
    """What tablets remember of another record, where this one was opened instead of it and nobody has signed for that yet."""
    here = room()
    found: dict[str, list[Any]] = {}
    if not here.instead_of or replaced(here.day):
        return []
    for kept in here.day.of("contradicted"):
        if bytes(kept.body["record"]) != here.ledger.record_id:
            found.setdefault(bytes(kept.body["record"]).hex(), []).append(kept.body)
    return [
        OtherRecord(
            record,
            max(one["run"] for one in said),
            max(one["number"] for one in said),
            tuple(sorted({one["tablet"] for one in said})),
        )
        for record, said in found.items()
    ]


@page.post("/restored/record")
def sign_the_new_record() -> ResponseReturnValue:
    """The first of two signatures that this record replaces the one that tablets remember; from then on they may give back."""
    form, mistakes = request.form, {}
    other = next((one for one in others() if one.record == form.get("record")), None)
    if other is None:
        mistakes["record"] = "Choose the record that the tablets remember."
    if form.get("why") not in dict(GONE):
        mistakes["why"] = "Choose what became of the laptop and the stick."
    if mistakes or other is None:
        return show(mistakes), 422
    body = {"record": bytes.fromhex(other.record), "run": other.run, "number": other.number, "why": form["why"]}
    outcome = signing.sign(Draft((claim("new-record", body, g.now, form, {}),), "P", "/restored", ""), form)
    if outcome.waiting:
        return redirect(f"/sign/{outcome.waiting}", 303)
    return show(outcome.mistakes), 422


@page.get("/restored")
def restored() -> str:
    return show({})


def show(mistakes: Mapping[str, str]) -> str:
    here, now = room(), found()
    return render_template(
        "place/restored.html",
        restore=now,
        returned=[returned(was, number, now) for was, number in sorted(now.given.items())],
        lost=in_words(ranges(now.lost)),
        open=still_open(now),
        others=[
            (
                one.record,
                f"Record {one.record[:8].upper()}, run {one.run}, to entry {one.number}: tablet {', '.join(one.tablets)}",
            )
            for one in others()
        ],
        gone=GONE,
        card=[(number, words) for number, words in here.day.marks if number <= now.last],
        words=here.words_after(now.last) if now.last else "",
        waits=next((one for one in waiting(here, g.now) if SIGNED in one.keys), None),
        people=signing.candidates("P"),
        mistakes=mistakes,
        values=request.form or fresh(),
        when=here.now(),
    )


def returned(was: int, number: int, now: Restore) -> Returned:
    here = room()
    kept = here.day.returned[number]
    inner = Entry.unpack(kept.body["entry"])
    as_kept = kept_from(inner, kept.texts)
    said = (
        "Not shown until the blind figures are signed."
        if here.day.hidden(as_kept)
        else here.body_words(inner.kind, inner.body, kept.texts)
    )
    names = " and ".join(f"{here.person_name(one.person)}" for one in inner.signers)
    title = checklist.title(inner.kind, inner.body.get("at") or "", here.place)
    return Returned(
        was,
        number,
        title,
        said,
        names,
        whence(kept.body["from"]),
        number not in now.unsigned,
        inner.kind not in NOT_FOLDED and here.day.acts[inner.id] == number,
    )


def still_open(now: Restore) -> list[str]:
    """Tablets of the run before that were neither removed nor heard since."""
    kinds = (PAIRED, STRUCK_OFF, RETURNED)
    return unheard(
        ((k.number, k.kind, k.body["tablet"]) for kind in kinds for k in room().day.of(kind)), now.last, now.first
    )


@page.post("/restored")
def sign() -> ResponseReturnValue:
    """The first of two signatures under the list as it is; the second signs the very same."""
    form, now, mistakes = request.form, found(), {}
    text = form.get("seen", "").strip()
    if text and not (text.isascii() and text.isdigit() and len(text) < 10):
        mistakes["seen"] = "Enter the highest entry number that anybody saw, in digits, or leave it empty."
    seen = max(now.seen, int(text)) if text and not mistakes else now.seen
    if not now.last and seen > MOST:
        mistakes["seen"] = "No record of a day has so many entries. Enter the highest number from before."
    elif now.last and seen >= now.first:
        mistakes["seen"] = (
            f"Entry {now.first} and those after it are of this laptop. Enter the highest number from before."
        )
    if mistakes:
        return show(mistakes), 422
    lost = [number for number in range(now.last + 1, seen + 1) if number not in now.given]
    body = {
        "run": now.run,
        "last": now.last,
        "seen": seen,
        "given_back": sorted(now.given.values()),
        "back": sorted(now.given),
        "lost": ranges(lost),
        "open": still_open(now),
    }
    outcome = signing.sign(Draft((claim("returned-read", body, g.now, form, {}),), "P", "/restored", ""), form)
    if outcome.waiting:
        return redirect(f"/sign/{outcome.waiting}", 303)
    return show(outcome.mistakes), 422
