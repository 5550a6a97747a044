"""Entries that no checklist asks for, in one line each: what the laptop records of itself, PINs and vouching, what takes back or countersigns.

A new kind of entry without a form: its title in `TITLES`, and the words that follow it in `said`.
"""

from collections.abc import Mapping
from typing import Any

from webapp.precinct.checklist import canvass_entries, certifying_entries, deck_words, recovery_entries
from webapp.precinct.place.default_steps import steps
from webapp.precinct.place.place import Place

TITLES = {
    "record-opened": "Record opened",
    **deck_words.ENTRIES,
    "started": "Program started",
    "stopped": "Program stopped",
    "version": "Another version of the program",
    "pin-failed": "Wrong PIN",
    "paired": "Tablet admitted",
    "revoked": "Tablet sent away",
    "clock-moved": "The laptop's clock moved",
    "verify-failed": "A check of the record failed",
    "check-words": "Check words",
    "keying": "Keyed once, blind",
    "taken-back": "Taken back",
    "correction": "Correction",
    "pin-set": "PIN set",
    "vouched": "Vouched",
    "contradicted": "A tablet remembers another history",
    "packet-made": "Summary packet made",
    "countersigned": "Countersigned later",
    "counted-again": "Counted again by another pair",
    "looked": "Looked into a reading",
    "desk-finding": "The desk found a different figure",
    "packet-received": "Packet taken in",
    "place-counts": "Which packet counts",
    "answered": "A question answered at the desk",
    "packet-set-aside": "A packet set aside or brought back",
    **recovery_entries.TITLES,
    **canvass_entries.TITLES,
    **certifying_entries.TITLES,
    "drafts-put-away": "Pages begun and never signed were put away",
}
WHY_STRUCK = {
    "lost": "lost, or its battery died",
    "broken": "broken",
    "other-hands": "it was in other hands",
    "put-away": "not needed any more",
}
WHY_VOUCHED = {"walk-in": "is to work here", "lost-pin": "has lost the PIN", "reset": "may try again on the tablets"}


def _step_title(step: str, place: Place) -> str:
    """What the checklist calls this step, without saying where."""
    found = next((one for one in steps(place) if one.id == step), None)
    return (found.says or found.title).replace("{at}", f"a {found.per}") if found else step


def describe(kind: str, body: Mapping[str, Any], place: Place, day: Any, texts: Mapping[str, str]) -> str:
    """What such an entry says behind its title; "" where the title says it all."""
    people = getattr(day, "people", None)

    def name(person: str) -> str:
        found = people.official(person) if people else place.official(person)
        return found.name if found else texts.get("name", person)

    if kind == "vouched":
        party = place.party(body.get("party") or "")
        of = f", {party.name}" if party else ""
        return f"{name(body['person'])}{of}, {body['role']}, {WHY_VOUCHED.get(body['why'], body['why'])}"
    if kind == "desk-finding":
        was = "no figure" if body.get("was") is None else f"{body['was']:,}"
        more = canvass_entries.of_a_correction(body)
        return f"{body['label']}: the packet says {was}, found {body['is']:,}.{more} {texts.get('what') or 'Words withheld'}"
    if kind == "looked":
        return f"entry {body['of']}. Found: {texts.get('found') or 'words withheld'}"
    if kind in ("pin-set", "pin-failed"):
        return _of_a_pin(kind, name(body["person"]), body)
    if kind == "check-words":
        return f"{body['words']} after entry {body['number']}"
    if kind in ("taken-back", "countersigned"):
        return f"entry {body['of']}"
    if kind in ("contradicted", "paired", "revoked"):
        return _of_a_tablet(kind, body)
    if kind == "clock-moved":
        return f"{'forward' if body['by'] > 0 else 'back'} by {_stretch(abs(body['by']) // 1000)}"
    if kind == "packet-received":
        return f"{place.name}, number {body['number']}, digest {bytes(body['digest']).hex()[:16]}"
    if kind == "answered":
        return f"{place.name}, {_answered(body, texts)}"
    if kind == "place-counts":
        tape = ". It is not proven: its tape was compared in full" if body.get("tape") else ""
        over = f", over {len(body['against'])} other" if body.get("against") else ""
        digest = bytes(body["digest"]).hex()[:16]
        return f"{place.name}: {_packet(body)}, digest {digest}{over}{tape}. {texts.get('why') or 'Words withheld'}"
    if kind == "packet-set-aside":
        done = "is set aside" if body["aside"] else "is brought back"
        digest = bytes(body["digest"]).hex()[:16]
        return f"{place.name}: {_packet(body)}, digest {digest}, {done}. {texts.get('why') or 'Words withheld'}"
    if kind == "drafts-put-away":
        return ", ".join(TITLES.get(step) or _step_title(step, place) for step in body["steps"])
    if kind == "packet-made":
        return f"number {body['number']}, digest {bytes(body['digest']).hex()[:16]}"
    if kind in deck_words.ENTRIES:
        return deck_words.entry(kind, body)
    return canvass_entries.describe(kind, body, place, texts) or recovery_entries.describe(kind, body)


def _answered(body: Mapping[str, Any], texts: Mapping[str, str]) -> str:
    """What was asked, in the words of then, and the answer; the question's own name only where its words are withheld."""
    outcome = "explained" if body["outcome"] == "explained" else "nothing explains it"
    asked = texts.get("asked") or f"The question {body['question']}."
    return f"{outcome}. {asked} Answer: {texts.get('answer') or 'words withheld'}"


def _of_a_tablet(kind: str, body: Mapping[str, Any]) -> str:
    """What became of a tablet: it contradicts the record, was admitted, or was removed."""
    if kind == "contradicted":
        if "entry" in body:
            return f"{recovery_entries.whence(body['tablet'])} gives back another entry {body['number']} of run {body['run']}"
        return f"tablet {body['tablet']} saw entry {body['number']} in run {body['run']}, head {bytes(body['head']).hex()[:8]}"
    if kind == "paired":
        return f"tablet {body['tablet']}, {'it may hold entries' if body['level'] == 'full' else 'online only'}"
    held = body.get("held")
    return f"tablet {body['tablet']}, {WHY_STRUCK.get(body['why'], body['why'])}; " + (
        "it never said what it holds"
        if held is None
        else "it said it held nothing"
        if not held
        else f"it said it held {held}"
    )


def _stretch(seconds: int) -> str:
    if seconds < 120:
        return f"{seconds} seconds"
    return f"{seconds // 60} minutes" if seconds < 7200 else f"{seconds // 3600} hours"


def _packet(body: Mapping[str, Any]) -> str:
    """The packet that an entry decides on; or the place as it was keyed from paper."""
    return "as keyed from paper" if body.get("paper") else f"number {body.get('number', '?')}"


def _of_a_pin(kind: str, person: str, body: Mapping[str, Any]) -> str:
    """Whose PIN was set; whose was tried in vain, and where: that accuses nobody."""
    tried = kind == "pin-failed" and "tablet" in body
    return f"typed for {person} on tablet {body['tablet']}; nobody knows by whom" if tried else person
