"""Codes of held entries as they come in at the laptop: what is in, what is missing, why a set cannot be recorded."""

import hashlib
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from typing import Any

from flask import abort, current_app, g

from webapp.packet import keyboard_scanner
from webapp.packet.cose import PacketRefused
from webapp.packet.held_frames import HeldCollector, HeldRow, HeldSet
from webapp.pages.tablets.held_entry import HeldEntry, HeldReading, UnclearEntry, entries, read, time_words


@dataclass(slots=True)
class CodesDesk:
    """What one window has read so far. offset: the tablet's clock less the laptop's in ms, fixed when the last code was read."""

    codes: HeldCollector = field(default_factory=HeldCollector)
    keyboard: keyboard_scanner.Layout | None = None
    offset: int = 0


def room() -> Any:  # what a shared page takes of it lies in the site of its folder
    """Returns the site of this server."""
    return current_app.extensions["room"]


def desk() -> CodesDesk:
    """The codes read in this window. Answers 404 on the tablets' door: only the laptop reads codes."""
    if current_app.config["DOOR"] != "laptop":
        abort(404)
    return current_app.extensions.setdefault("held-codes", {}).setdefault(g.session.tablet, CodesDesk())


# --- what the codes hold


def whole(have: CodesDesk) -> tuple[HeldSet | None, tuple[HeldEntry, ...], str]:
    """(the set, its entries as a tablet would send them, why it is refused)."""
    if not have.codes.complete:
        return None, (), ""
    try:
        found = have.codes.whole()
        barred = why_not(found)
        return found, () if barred else entries([as_sent(found, row, at) for at, row in enumerate(found.rows)]), barred
    except (PacketRefused, UnclearEntry) as refused:
        return None, (), str(refused)


def why_not(found: HeldSet) -> str:
    """Why this code set cannot go into this record; "" if it can."""
    if found.record != room().ledger.record_id:
        return f"Tablet {found.tablet} holds these entries for another record than this one. Read them at the laptop that it was admitted at."
    if found.tablet not in {one.id for one in room().gate.sessions.tablets()}:
        return f"Tablet {found.tablet} was never admitted here. Read its codes at the laptop that it was admitted at."
    return ""


def as_sent(found: HeldSet, row: HeldRow, at: int) -> dict[str, Any]:
    """One entry in the form in which a tablet sends it, with the next line of that tablet."""
    return {
        "id": row.id.hex(),
        "salt": row.salt.hex(),
        "seq": room().ledger.last_seq(found.tablet) + 1 + at,
        "kind": row.kind,
        "at": row.at,
        "form": dict(row.form),
        "made": row.made,
        "holder": row.holder,
        "saw": [found.record.hex()],
    }


@contextmanager
def speaking_for(tablet: str) -> Iterator[None]:
    """A context in which entries are read and recorded as that tablet's."""
    own = g.session
    g.session = replace(own, tablet=tablet)
    try:
        yield
    finally:
        g.session = own


def readings(have: CodesDesk, found: HeldSet, held: Sequence[HeldEntry]) -> list[HeldReading]:
    """Returns the held entries of a complete set as they read on this laptop, in their order."""
    with speaking_for(found.tablet), room().lock:
        return [read(one, have.offset) for one in held]


def turn(told: Sequence[HeldReading]) -> tuple[HeldReading, ...]:
    """The entries that are signed next: in order, as far as they are one person's. Those recorded or refused are passed over."""
    open_ = [one for one in told if one.number is None and not one.says]
    who = next((one.held.holder for one in open_ if one.held.holder), None)
    stop = next((i for i, one in enumerate(open_) if one.held.holder not in (None, who)), len(open_))
    return tuple(open_[:stop])


def digest(now: Sequence[HeldReading]) -> str:
    """What a signature is for: the very entries and words on the screen."""
    return hashlib.sha256(
        "\n".join(f"{one.held.id.hex()} {one.words} {time_words(one)}" for one in now).encode()
    ).hexdigest()
