"""Held entries by way of codes: a tablet that stays out of reach shows what it holds, and the laptop reads it off the screen.

The codes carry what the tablet would have sent, and go the same way: shown in the record's words, signed by the
holder's own PIN, recorded in order under the same ids. When the tablet is back in reach and sends them itself, it
gets the same numbers.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from flask import Blueprint, g, redirect, render_template, request
from flask.typing import ResponseReturnValue

from webapp.office.reading import code_reading
from webapp.office.reading.code_reading import FileRefused
from webapp.packet import codes as drawn
from webapp.packet import held_frames, keyboard_scanner
from webapp.packet.cose import PacketRefused
from webapp.packet.held_frames import HeldCollector, HeldSet
from webapp.pages.shared import signing
from webapp.pages.tablets.codes_desk import CodesDesk, desk, digest, readings, room, speaking_for, turn, whole
from webapp.pages.tablets.held import kept_in_order
from webapp.pages.tablets.held_entry import HeldReading, time_words

page = Blueprint("held_codes", __name__)
ONE_FILE = 24 * 1024 * 1024
LIMITS = {
    "/held/codes/file": ONE_FILE + 65536,
    "/held/codes/text": 512 * 1024,
    "/held/codes/keyboard": 4096,
    "/held/codes/keep": 16384,
}


# --- the pages


@page.get("/held/codes")
def codes() -> str:
    return show({})


def heading(
    have: CodesDesk, found: HeldSet | None, refused: str, told: Sequence[HeldReading], mine: Sequence[HeldReading]
) -> str:
    """What this page is at, in one line."""
    if refused:
        return "These codes are refused"
    if mine and found:
        return f"Read, then keep, what tablet {found.tablet} holds"
    if told and found:
        settle = sum(bool(one.says) for one in told)
        return (
            f"The record refuses {settle} of what tablet {found.tablet} held: settle {'it' if settle == 1 else 'them'} on that tablet"
            if settle
            else f"What tablet {found.tablet} held is in the record"
        )
    return (
        f"{len(have.codes.frames)} of {have.codes.count} codes read"
        if have.codes.count
        else "Read the codes of a tablet"
    )


def show(mistakes: Mapping[str, str], said: str = "") -> str:
    """Codes in and wanted; once all are in, the entries in the record's words, and who signs next."""
    have = desk()
    found, held, refused = whole(have)
    told = readings(have, found, held) if found and held else []
    mine = turn(told)
    holder = next((one.held.holder for one in mine if one.held.holder), "")
    people = [choice for choice in signing.candidates("1") if holder in ("", choice[0])] if mine else []
    return render_template(
        "tablets/held_codes.html",
        heading=heading(have, found, refused, told, mine),
        have=have.codes,
        found=found,
        told=told,
        times={one.held.id: time_words(one) for one in told},
        mine=mine,
        holder=holder,
        people=people,
        refused=refused,
        mistakes=mistakes,
        values=request.form,
        said=said,
        shown=digest(mine),
        keyboard=have.keyboard,
        desk_limit=ONE_FILE // 1024**2,
        calibration=drawn.as_svg(keyboard_scanner.CALIBRATION, "Calibration code"),
    )


def add_codes(texts: Sequence[str]) -> tuple[str, str]:
    """Put codes in: (what came of it, the first sentence that refuses one)."""
    have, new, again, wrong = desk(), 0, 0, ""
    before = have.codes.complete
    for text in texts:
        what = have.codes.add(text)
        new, again = new + (what == "new"), again + (what == "again")
        if what not in ("new", "again"):
            wrong = wrong or what
    if have.codes.complete and not before:
        have.offset = offset(have)
    return ", ".join(
        words for words in (f"{new} new" if new else "", f"{again} read before" if again else "") if words
    ), wrong


def offset(have: CodesDesk) -> int:
    """The tablet's clock less the laptop's: as measured at its last contact, else by the clock in its codes."""
    try:
        found = have.codes.whole()
    except PacketRefused:
        return 0
    last = room().gate.contacts.of(found.tablet)
    return found.clock - g.now if last is None or last.offset is None else last.offset


@page.post("/held/codes/text")
def text() -> ResponseReturnValue:
    """What a hand scanner typed."""
    have, typed = desk(), request.form.get("codes", "")
    lines = held_frames.codes_in(have.keyboard.mended(typed) if have.keyboard else typed)
    if not lines:
        return show({"codes": "Read a code into the box, or paste its text."}), 422
    said, wrong = add_codes(lines)
    return (show({"codes": wrong}, said), 422) if wrong else redirect("/held/codes", 303)


@page.post("/held/codes/keyboard")
def keyboard() -> ResponseReturnValue:
    """What the scanner typed for the calibration code: from here on its codes are corrected by it, in this window."""
    have, typed = desk(), request.form.get("typed", "").strip("\r\n")
    if not typed:
        return show({"typed": "Read the calibration code into the box."}), 422
    try:
        have.keyboard = keyboard_scanner.layout(typed)
    except PacketRefused as refused:
        return show({"typed": str(refused)}), 422
    return redirect("/held/codes", 303)


@page.post("/held/codes/file")
def file() -> ResponseReturnValue:
    """Photographs of the tablet's screen."""
    desk()
    sent = [one for one in request.files.getlist("files") if one and one.filename]
    if not sent:
        return show({"files": "Choose a photograph of the tablet's screen."}), 422
    wrong, said = [], []
    for one, seen in zip(
        sent,
        code_reading.read_all([(one.filename or "", one.stream.read()) for one in sent], held_frames.PREFIX),
        strict=True,
    ):
        if isinstance(seen, FileRefused):
            wrong.append(str(seen))
            continue
        words, refused = add_codes(seen.texts)
        said.append(f"{one.filename}: {words or 'no code of held entries in it'}")
        if refused or not seen.texts:
            wrong.append(
                refused
                or f"{one.filename} shows no code of held entries. Photograph the tablet's screen nearer, flat and sharp."
            )
    return (show({"files": " ".join(wrong)}, "; ".join(said)), 422) if wrong else redirect("/held/codes", 303)


@page.post("/held/codes/clear")
def clear() -> ResponseReturnValue:
    """Begin with another tablet; the scanner stays as it is set."""
    desk().codes = HeldCollector()
    return redirect("/held/codes", 303)


@page.post("/held/codes/keep")
def keep() -> ResponseReturnValue:
    """Keep the entries of this turn, signed by the one person who holds them."""
    have = desk()
    found, held, refused = whole(have)
    mine = turn(readings(have, found, held)) if found and held else ()
    if found is None or not mine:
        return show({"": refused or "Nothing waits here for a signature."}), 409
    if request.form.get("shown") != digest(mine):
        return show({"": "The list has changed. Read it again, then sign."}), 409
    official, mistakes = signing.authenticate(request.form, "1")
    other = next((one.held.holder for one in mine if one.held.holder), None)
    if official is not None and other not in (None, official.id):
        official, mistakes = (
            None,
            {"signer": f"{room().person_name(other)} held the tablet then and signs for it; nobody signs for another."},
        )
    if official is None:
        return show(mistakes), 422
    with speaking_for(found.tablet), room().lock:
        first = room().ledger.last_seq(found.tablet) + 1
        _, stopped = kept_in_order(
            tuple(replace(one.held, seq=first + at) for at, one in enumerate(mine)),
            have.offset,
            signing.signer_of(official),
        )
    if stopped:
        return show({"": f"{stopped} What has no number yet stays on the tablet."}), 503
    heard(found, sum(one.number is None for one in readings(have, found, held)))
    return redirect("/held/codes", 303)


def heard(found: HeldSet, left: int) -> None:
    """So many of these are still on the tablet. When the codes were drawn after the polls closed, that is the tablet's own word; its clock is trusted
    only as far as it was measured at a contact."""
    here = room()
    closed, last = here.day.last("polls-closed"), here.gate.contacts.of(found.tablet)
    if closed and last and last.offset is not None and found.clock - last.offset > closed.kept:
        here.gate.contacts.say(found.tablet, left, here.ledger.length, last.offset, closed.number)
