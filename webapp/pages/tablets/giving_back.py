"""A tablet gives back what a spare laptop went on without: its own kept entries of the run before, byte for byte, and the highest number it saw.

The body is JSON: {"tablet": its letter then, "run", "seen": the newest state it was shown, "entries": as `/contact/mine` gave them}. Sent once, and
again where the answer was lost; the same entry is taken once.
"""

import base64
import binascii
import re
from typing import Any

from flask import Blueprint, abort, current_app, g, jsonify, request
from flask.typing import ResponseReturnValue

from webapp.precinct.day.restores import replaced
from webapp.record.entry import Text
from webapp.stick.returns import Item, append_returned

page = Blueprint("giving_back", __name__)
MOST = 2000  # entries of one tablet
LIMITS = {"/contact/back": 4 * 1024 * 1024}
UNCLEAR = "This is not what a tablet keeps of a record. Open the page again."


def room() -> Any:  # what a shared page takes of it lies in the site of its folder
    return current_app.extensions["room"]


@page.post("/contact/back")
def back() -> ResponseReturnValue:
    """Takes the entries into the record; each one that is refused is named with the reason, the rest is in."""
    here, sent = room(), request.get_json(silent=True) or {}
    items = read(sent)
    letter, seen = sent["tablet"] or g.session.tablet, sent["seen"]
    with here.lock:
        before = here.ledger.length
        runs, before_it = here.ledger.runs(), replaced(here.day)
        if not runs and not before_it:
            abort(409, "This record was never restored: nothing of it can be missing.")
        with here.asking_the_disk() as ledger:
            result = append_returned(ledger, items, letter, here.now())
        here.catch_up(before)
        told = {
            "tablet": letter,
            "now": g.session.tablet,
            "run": runs[-1].run - 1 if runs else sent["run"],
            "seen": seen,
            "given": len(set(result.taken)),
        }
        if of_a_new_record := not runs and sent.get("record") == before_it.hex():
            told["record"] = before_it
        if (of_a_new_record or (runs and sent["run"] == runs[-1].run - 1)) and not any(
            dict(k.body) == told for k in here.day.of("tablet-returned")
        ):
            here.laptop_says("tablet-returned", told)
    return jsonify(taken=sorted(set(result.taken)), refused=result.refused)


def read(sent: object) -> list[Item]:
    """The entries with their words. Answers 400 where this is not what a tablet sends."""
    if not isinstance(sent, dict) or not isinstance(sent.get("entries"), list) or len(sent["entries"]) > MOST:
        abort(400, UNCLEAR)
    if not re.fullmatch(r"[A-Z][0-9]{0,3}|", sent["tablet"] if isinstance(sent.get("tablet"), str) else "?") or not all(
        type(sent.get(name)) is int and 0 <= sent[name] < 2**53 for name in ("seen", "run")
    ):
        abort(400, UNCLEAR)
    try:
        return [_item(one) for one in sent["entries"]]
    except (KeyError, TypeError, ValueError, AttributeError, binascii.Error):
        abort(400, UNCLEAR)


def _item(one: dict[str, Any]) -> Item:
    """An entry whose salts a tablet does not have comes back without its words."""
    salts, texts = one.get("salts", {}), one.get("texts", {})
    words = {name: Text(bytes.fromhex(salts[name]), text) for name, text in texts.items() if name in salts}
    if not all(isinstance(text.text, str) and len(text.salt) == 16 for text in words.values()):
        raise ValueError("a text without its salt")
    return base64.b64decode(one["entry"], validate=True), words
