"""Contact: a tablet reports what it saw and what it holds; the laptop answers how far its record is, and whether it contradicts the tablet.

The body of both is JSON. A GET changes nothing. A post does not count as a touch of the holder's: a tablet left on
the table asks by itself.
"""

import base64
import re
from dataclasses import dataclass
from typing import Any

from flask import Blueprint, abort, current_app, g, jsonify, render_template, request
from flask.typing import ResponseReturnValue
from flask_wtf.csrf import generate_csrf

from webapp.precinct.day.day import Day
from webapp.precinct.day.restores import replaced
from webapp.record.fork import SeenHead
from webapp.version import VERSION

page = Blueprint("contact", __name__)
MOST_HELD = 100_000
MOST_LINES = 200  # entries of the tablet's own in one answer
LIMITS = {"/contact": 4096}


class UnclearReport(ValueError):
    """What a tablet sent is not what a tablet sends; one sentence."""


@dataclass(frozen=True, slots=True)
class Said:
    """saw: the newest state it was shown, None on a tablet that saw nothing yet; held: entries on it; clock: its own, ms UTC."""

    saw: SeenHead | None
    held: int
    clock: int


def read(sent: object) -> Said:
    """What a tablet says, from its JSON. Raises Unclear."""
    if not isinstance(sent, dict) or not _count(sent.get("held"), MOST_HELD) or not _count(sent.get("clock"), 2**53):
        raise UnclearReport(
            "A tablet says what it saw, how many entries it holds and what its clock shows. Open the page again."
        )
    saw = sent.get("saw")
    if saw is None:
        return Said(None, sent["held"], sent["clock"])
    if not (
        isinstance(saw, list)
        and len(saw) == 4
        and _hex(saw[0], 16)
        and _count(saw[1], 2**31)
        and saw[1]
        and _count(saw[2], 2**53)
        and _hex(saw[3], 32)
    ):
        raise UnclearReport(
            "What this tablet remembers is not a record, a run, a number and a head. Open the page again."
        )
    return Said(SeenHead(bytes.fromhex(saw[0]), saw[1], saw[2], bytes.fromhex(saw[3])), sent["held"], sent["clock"])


def _count(value: object, most: int) -> bool:
    return type(value) is int and 0 <= value <= most


def _hex(value: object, size: int) -> bool:
    return isinstance(value, str) and re.fullmatch(f"[0-9a-f]{{{2 * size}}}", value) is not None


def room() -> Any:  # what a shared page takes of it lies in the site of its folder
    return current_app.extensions["room"]


def answer(contradicts: str = "", lost: int | None = None) -> ResponseReturnValue:
    here = room()
    newest = here.ledger.newest
    return jsonify(
        token=generate_csrf(),
        run=newest.run,
        number=newest.number,
        head=newest.head.hex(),
        now=g.now,
        last_seq=here.ledger.last_seq(g.session.tablet),
        tablet=g.session.tablet,
        holder=g.session.holder,
        record=here.ledger.record_id.hex(),
        instead=here.instead_of,
        replaces=replaced(here.day).hex(),
        version=VERSION,
        practice=here.practice,
        place=here.name,
        contradicts=contradicts,
        lost=lost,
        handed_over=here.day.last("packet") is not None,
    )


@page.get("/contact")
def contact() -> ResponseReturnValue:
    """How far the record is, and the token with which this browser may send."""
    return answer()


@page.post("/contact")
def say() -> ResponseReturnValue:
    """A tablet reports; a contradiction is kept once and answered in a sentence."""
    here = room()
    try:
        said = read(request.get_json(silent=True))
    except UnclearReport as unclear:
        abort(400, str(unclear))
    closed = here.day.last("polls-closed")
    offset = None if here.clock.scripted else said.clock - g.now
    here.gate.contacts.say(g.session.tablet, said.held, here.ledger.length, offset, closed.number if closed else 0)
    held = here.memory.held_against(said.saw) if said.saw else None
    if held and held.contradicts:
        return answer(here.memory.remember_contradiction(g.session.tablet, said.saw, held.contradicts))
    return answer(lost=held.lost if held else None)


@page.get("/contact/mine")
def mine() -> ResponseReturnValue:
    """The entries this tablet recorded, as the bytes that are hashed, for the tablet to keep as well. What is
    hidden waits: `next` stays before it, and the tablet asks again from there."""
    here, text = room(), request.args.get("after", "0")
    after = int(text) if text.isascii() and text.isdigit() and len(text) < 16 else 0
    given, upto = [], None
    lines = here.ledger.lines_of(g.session.tablet, after, MOST_LINES)
    for number, data in lines:
        what = shown(here.day, number)
        if what == "waits" and upto is None:
            upto = number - 1
        elif what == "shown":
            salts = {name: salt.hex() for name, salt in here.ledger.salts(number).items()}
            texts = here.ledger.texts(number)
            given.append({"number": number, "entry": base64.b64encode(data).decode(), "texts": texts, "salts": salts})
    last = max([after, *(one["number"] for one in given)])
    return jsonify(
        record=here.ledger.record_id.hex(),
        tablet=g.session.tablet,
        entries=given,
        next=last if upto is None else upto,
        waits=upto is not None,
        more=len(lines) == MOST_LINES,
    )


def shown(day: Day, number: int) -> str:
    """ "shown", "waits" (a blind set whose second is not in, or what is hidden now) or "never" (a set that was keyed again)."""
    kept = day.entry(number)
    root = kept and day.entry(day.root(number))
    if root is None or day.hidden(root) or day.unseen(root):
        return "waits"
    if root.kind != "keying" or (root is kept and "figures" in kept.body):
        return "shown"
    key = f"{root.body['of']}:{root.body['at']}" if root.body.get("at") else root.body["of"]
    return "waits" if root is kept and key in day.keyings.waiting() else "never"


@page.get("/alarm")
def alarm() -> str:
    """What the laptop and a tablet tell differently, and what people do now. A tablet that is not admitted sees its own side only: a laptop whose
    folder was changed for another one's does not know it any more."""
    let_in = current_app.config["DOOR"] == "laptop" or g.get("let_in", False)
    return render_template("shared/alarm.html", alarms=room().memory.alarms() if let_in else (), let_in=let_in)
