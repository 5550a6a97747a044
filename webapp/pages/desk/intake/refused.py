"""Packets and files that intake refused: each an entry with the desk, the digest and the sentence; the bytes are kept aside."""

import secrets
import uuid

from flask import Blueprint, current_app, g, render_template

from webapp.pages.desk.shared.paging import page_of
from webapp.pages.desk.site.office_site import OfficeSite
from webapp.record.entry import Claim, Text

page = Blueprint("refused", __name__)
A_PAGE = 50
LONGEST = 400  # letters of a sentence or of a file's name that are kept


def room() -> OfficeSite:
    return current_app.extensions["room"]


@page.get("/refused")
def refused() -> str:
    """Every one, the newest first, fifty a page."""
    rows = list(reversed(room().day.of("packet-refused")))
    last = max(len(rows) - 1, 0) // A_PAGE
    number = page_of(last)
    shown = [(kept, room().refused.holds(bytes(kept.body["digest"]))) for kept in rows[number * A_PAGE :][:A_PAGE]]
    return render_template("desk/refused.html", rows=shown, count=len(rows), number=number, last=last)


def trace(data: bytes, name: str, says: str, desk: str = "") -> None:
    """Keep the bytes aside and say so in the record, once for the same bytes and the same sentence. `desk`: the desk apart of which this
    is another history, "" for anything else."""
    here = room()
    with here.lock:
        digest, kept = here.refused.keep(data)
        said = says[:LONGEST]
        if any(bytes(k.body["digest"]) == digest and k.word("says") == said for k in here.day.of("packet-refused")):
            return
        body = {"digest": digest, "size": len(data), "kept": kept, **({"desk": desk} if desk else {})}
        words = {"says": Text(secrets.token_bytes(16), said)}
        if plain := "".join(c for c in name if c.isprintable())[:LONGEST]:
            words["name"] = Text(secrets.token_bytes(16), plain)
        claim = Claim(uuid.uuid4().bytes, "packet-refused", body, here.now(), g.session.tablet, 0, words)
        here.keep([claim], holder=g.session.holder)
