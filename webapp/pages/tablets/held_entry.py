"""Entries that were held on a tablet, on their way into the record: what a tablet sends, and the claim it becomes here.

A held entry is a form as somebody filled it in. It becomes a claim as the same form does on the laptop; only its
moment is its own: the tablet's clock when it was filled in, less that clock's lead over the laptop's. Ballots carry
the quarter hour from the start.
"""

import re
import uuid
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from flask import current_app, g

from webapp.pages.shared import filters
from webapp.pages.shared.claim_form import claim
from webapp.precinct.checklist import checklist, offline_rules
from webapp.precinct.checklist.checklist import Step, Task
from webapp.precinct.checklist.prerequisites import EARLY
from webapp.record.entry import Claim

MOST = 500  # entries of one answer
MOST_NAMES = 200  # controls of one form
LONGEST = 4000  # letters of one control
KEYS = {"id": str, "salt": str, "seq": int, "kind": str, "at": str, "form": dict, "made": int}


class UnclearEntry(ValueError):
    """What was sent is not what a tablet holds; one sentence."""


@dataclass(frozen=True, slots=True)
class HeldEntry:
    """One entry as a tablet holds it. made: ms UTC by the tablet's clock (ballots: a quarter hour's start by the laptop's). record: that it was held for, or ""."""

    id: bytes
    salt: str
    seq: int
    kind: str
    at: str
    form: Mapping[str, str]
    made: int
    holder: str | None
    record: str


@dataclass(frozen=True, slots=True)
class HeldReading:
    """What a held entry comes to. says: why the record refuses it; "" when it would be kept. number: the entry it already is. tap: one of the hour's sheet."""

    held: HeldEntry
    words: str
    moment: int
    says: str = ""
    claim: Claim | None = None
    number: int | None = None
    tap: tuple[str, str, bool] | None = None


def room() -> Any:  # what a shared page takes of it lies in the site of its folder
    return current_app.extensions["room"]


def entries(sent: object) -> tuple[HeldEntry, ...]:
    """The entries of a tablet, from its JSON. Raises Unclear."""
    if not isinstance(sent, list) or len(sent) > MOST:
        raise UnclearEntry(f"A tablet sends a list of at most {MOST} entries. Open the page again.")
    found = tuple(map(entry, sent))
    if len({one.id for one in found}) != len(found) or any(b.seq != a.seq + 1 for a, b in zip(found, found[1:])):
        raise UnclearEntry("The entries of a tablet come one after the other, each once. Open the page again.")
    return found


def entry(sent: object) -> HeldEntry:
    """One held entry. Raises Unclear."""
    if not isinstance(sent, dict) or any(type(sent.get(key)) is not kind for key, kind in KEYS.items()):
        raise UnclearEntry("This is not an entry as a tablet holds it. Open the page again.")
    holder, saw, form = sent.get("holder"), sent.get("saw"), sent["form"]
    texts = [sent["kind"], sent["at"], holder or "", *form, *form.values()]
    if (
        not all(isinstance(text, str) and len(text) <= LONGEST and whole(text) for text in texts)
        or len(form) > MOST_NAMES
    ):
        raise UnclearEntry("A form that is held has short names and plain texts. Open the page again.")
    if (
        not re.fullmatch("[0-9a-f]{12}4[0-9a-f]{19}", sent["id"])
        or not re.fullmatch("[0-9a-f]{32}", sent["salt"])
        or not 0 < sent["seq"] < 2**53
        or not 0 <= sent["made"] < 2**53
    ):
        raise UnclearEntry("A held entry lacks its own number. Open the page again.")
    record = saw[0] if isinstance(saw, list) and saw and isinstance(saw[0], str) else ""
    return HeldEntry(
        uuid.UUID(hex=sent["id"]).bytes,
        sent["salt"],
        sent["seq"],
        sent["kind"],
        sent["at"],
        form,
        sent["made"],
        holder or None,
        record,
    )


def whole(text: str) -> bool:
    """Whether a text holds no half characters."""
    return not any("\ud800" <= letter <= "\udfff" for letter in text)


def read(held: HeldEntry, offset: int) -> HeldReading:
    """What this entry comes to now. offset: the tablet's clock less the laptop's, ms."""
    here = room()
    step = checklist.step_of(held.kind, here.place)
    if (
        step is None
        or offline_rules.needs_laptop(step)
        or (held.at not in here.notes.ats(step) and held.kind != "hourly")
    ):
        return HeldReading(held, held.kind, g.now, "This is nothing that a tablet holds at this place.")
    known = here.ledger.find(held.id)
    moment = (
        known.happened
        if known and offline_rules.coarse(step) > 1
        else known.made - known.offset
        if known
        else when(held, step, offset)
    )
    task = task_of(held, step, moment)
    said = here.read_form(task, held.form, "", moment)
    told = here.body_words(held.kind, said.body, said.words)
    if held.record and held.record != here.ledger.record_id.hex():
        return HeldReading(held, told, moment, "It was held for another record than this one.")
    if said.mistakes:
        return HeldReading(held, told, moment, " ".join(said.mistakes.values()))
    if step.form == "tally":
        tap = said.body["message"], said.body["outcome"], bool(held.form.get("less"))
        return HeldReading(held, told, moment, tap=tap, number=0 if here.gate.tallies.tapped(held.id) else None)
    made = claim(
        held.kind,
        dict(said.body),
        known.happened if known and said.happened == moment else said.happened,
        {"entry_id": held.id.hex(), "salt": held.salt},
        said.words,
    )
    if known is None:
        return HeldReading(held, told, moment, here.settled([made], g.now) or why_not(task, step), made)
    made = replace(made, tablet=known.tablet, seq=known.seq)
    same = made.digest(step.ballot) == known.claim_digest
    return HeldReading(
        held,
        told,
        moment,
        "" if same else f"Already entry {known.number}, with other figures. To change it, correct {known.number}.",
        made,
        known.number,
    )


def when(held: HeldEntry, step: Step, offset: int) -> int:
    """When the form was filled in by the laptop's clock, ms UTC; never later than now. A ballot's quarter hour and a tally's hour as they are."""
    coarse = offline_rules.coarse(step)
    if coarse == 1:
        return min(held.made - offset, g.now)
    return min(held.made - held.made % coarse, g.now - g.now % coarse)


def task_of(held: HeldEntry, step: Step, moment: int) -> Task:
    """The task this form was for; a reading that names no hour is for the one that was open at its moment."""
    at = held.at
    if held.kind == "hourly" and checklist.moment(room().place, at) is None:
        soon = moment + EARLY
        at = filters.clock(soon - soon % offline_rules.HOUR, room().zone)
    return room().task_of(step, at)


def why_not(task: Task, step: Step) -> str:
    """Why this step cannot be kept now; a note always can."""
    if step.note:
        return ""
    found = room().task(task.key, g.now)
    return checklist.why_not(found) if found else f"No “{task.title}” is asked here."


def time_words(reading: HeldReading) -> str:
    """When, as the list shows it: the minute, a ballot's quarter hour, a tally's hour."""
    here = room()
    step = checklist.step_of(reading.held.kind, here.place)
    coarse = offline_rules.coarse(step) if step else 1
    begin = reading.moment - reading.moment % coarse
    ends = (begin, begin + coarse) if coarse > 1 else (begin,)
    return " to ".join(filters.clock(ms, here.zone, here.hours_on_clock) for ms in ends)
