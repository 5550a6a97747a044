"""What the office's entries of the days after the night say in a line: envelopes, counts, pools, editions.

Votes of a count are in no list: a count can be of a few ballots. Who signs it sees them on the page where it is signed.
"""

from collections.abc import Mapping
from typing import Any

from webapp.precinct.checklist import certifying_entries
from webapp.precinct.place.place import Place
from webapp.record.entry import Entry

TITLES = {
    "envelopes-decided": "Envelopes decided",
    "count-in": "Ballots counted after the night",
    "place-keyed": "A place keyed from its paper",
    "late-call": "A late place was called",
    "packet-refused": "A packet or file was refused",
    "pool": "Places whose ballots were counted together",
    "wait-waived": "No neighbor waits for a place",
    "voters-credited": "Voters credited",
    "edition-posted": "Edition posted",
    "finding-withdrawn": "A finding of the desk was withdrawn",
    "merged": "A desk apart was merged",
    "brought": "Brought from a desk apart, to be read",
    "bundled": "A bundle was made for the office",
    "history-settled": "Which history of a desk apart is its own",
    "office-reported": "An edition of another office was taken in",
    "office-compared": "The key of another office was compared by telephone",
}
WHYS = {"no-packet": "no packet came", "refused": "its packet was refused", "doubted": "its packet is doubted"}
ABOUT = {"packet": "its packet", "goods": "its goods", "memory": "its memory devices", "answer": "an answer"}
OPENED = {"place": "those who made the return", "desk": "the office", "board": "the canvass board in session"}
SOURCES = {"tape": "from the signed tape", "hand": "from a tally sheet"}


def describe(kind: str, body: Mapping[str, Any], place: Place, texts: Mapping[str, str]) -> str:
    """The words that follow the title of such an entry; "" for any other kind."""
    tell = _SAYS.get(kind)
    return tell(body, place, texts) if tell else certifying_entries.describe(kind, body, place, texts)


def of_a_correction(body: Mapping[str, Any]) -> str:
    """What a finding of a corrected return says besides its figures: who opened it, how many ballots were added; "" for one that says neither."""
    if "opened" not in body:
        return ""
    n = body.get("ballots_added") or 0
    ballots = (
        f"{abs(n):,} {'ballot' if abs(n) == 1 else 'ballots'} {'more' if n > 0 else 'fewer'}"
        if n
        else "The same ballots"
    )
    return f" {ballots}, opened by {OPENED.get(body['opened'], body['opened'])}."


def _envelopes(body: Mapping[str, Any], place: Place, texts: Mapping[str, str]) -> str:
    reasons = ", ".join(f"{reason} {n:,}" for reason, n in (body.get("rejected") or {}).items() if n)
    issued = f"{body['issued']:,} issued, " if body.get("issued") is not None else ""
    partly = f", {body['partly']:,} in part" if body.get("partly") else ""
    rejected = sum((body.get("rejected") or {}).values())
    until = f", to be cured by {body['cure_until']}" if body.get("cure_until") else ""
    note = f". {texts['note']}" if texts.get("note") else ""
    return (
        f"{_unit(body, place)}, {body['way']}: {issued}{body['received']:,} received, {body['accepted']:,} accepted{partly}, "
        f"{rejected:,} rejected{f' ({reasons})' if reasons else ''}, {body['open']:,} open{until}{note}"
    )


def _count(body: Mapping[str, Any], place: Place, texts: Mapping[str, str]) -> str:
    part = f", part {body['part']}" if body["part"] > 1 else ""
    at = f" at {body['at']}" if body.get("at") else ""
    papers = f" ({', '.join(body['papers'])})" if body.get("papers") else ""
    contests = len(body["contests"])
    again = " It takes the place of the count before." if body.get("amends") else ""
    note = f" {texts['note']}" if texts.get("note") else ""
    return f"{_unit(body, place)}, {body['way']}{part}, {SOURCES.get(body['from'], body['from'])}{at}{papers}: {body['ballots']:,} ballots, figures of {contests} {'contest' if contests == 1 else 'contests'}.{again}{note}"


def _call(body: Mapping[str, Any], place: Place, texts: Mapping[str, str]) -> str:
    """What a call was about, how it was made, who was reached. The time that was promised is on the list of late places."""
    who = "nobody was reached" if body["who"] == "nobody" else f"{body['who']} was reached"
    answer = f". {texts['answer']}" if texts.get("answer") else ""
    where = place.name if place.id == body["place"] else body["place"]
    return f"{where}, about {ABOUT.get(body['what'], body['what'])}, by {body['by']}: {who}{answer}"


def _refused(body: Mapping[str, Any], place: Place, texts: Mapping[str, str]) -> str:
    name = f"{texts['name']}: " if texts.get("name") else ""
    kept = "kept aside" if body["kept"] else "too large to keep"
    digest = bytes(body["digest"]).hex()[:16]
    return f"{name}{texts.get('says') or 'Words withheld'} {body['size']:,} bytes, {kept}, digest {digest}"


def _keyed(body: Mapping[str, Any], place: Place, texts: Mapping[str, str]) -> str:
    """Papers by their state, gaps with the remark of the paper; no figure of it, as of any place."""
    papers = ", ".join(f"{row['paper']} {row['state']}" for row in body["papers"])
    again = " It takes the place of what was keyed before." if body.get("amends") else ""
    notes = "".join(
        f" {name.partition('.')[2]}: {text}" for name, text in texts.items() if name.startswith("note.") and text
    )
    why = WHYS.get(body["why"], body["why"])
    gone = len(body.get("empty") or ())
    lines = f"{gone} {'line is' if gone == 1 else 'lines are'} not on the paper"
    where = place.name if place.id == body["place"] else body["place"]
    return f"{where}, as {why}. Papers: {papers}. {lines}.{again}{notes}"


def _pool(body: Mapping[str, Any], place: Place, texts: Mapping[str, str]) -> str:
    return f"{body['id']}: {', '.join(body['places'])}. {texts.get('why') or 'Words withheld'}"


def _waived(body: Mapping[str, Any], place: Place, texts: Mapping[str, str]) -> str:
    return f"{place.name if place.id == body['place'] else body['place']}. {texts.get('why') or 'Words withheld'}"


def _credited(body: Mapping[str, Any], place: Place, texts: Mapping[str, str]) -> str:
    figures = ", ".join(f"{where} {n:,}" for where, n in body["credited"].items())
    return figures + (f". {texts['note']}" if texts.get("note") else "")


def _edition(body: Mapping[str, Any], place: Place, texts: Mapping[str, str]) -> str:
    waits = f", {body['waiting']:,} contest ballots wait" if body.get("waiting") else ""
    return (
        f"number {body['number']}, {body['status']}, to entry {body['cut']}, {body['in']} of {body['of']} places{waits}, "
        f"digest {bytes(body['digest']).hex()[:16]}. {texts.get('because') or 'Words withheld'}"
    )


def _withdrawn(body: Mapping[str, Any], place: Place, texts: Mapping[str, str]) -> str:
    """Each finding that counts no longer, with its figures and its own entry."""
    where = place.name if place.id == body["place"] else body["place"]
    told = [
        f"entry {row['entry']}, {row['label']}, the packet says {'no figure' if row['was'] is None else format(row['was'], ',')}, found {row['is']:,}"
        for row in body["findings"]
    ]
    return f"{where}: {'; '.join(told)}. Withdrawn: {texts.get('why') or 'words withheld'}"


def _merged(body: Mapping[str, Any], place: Place, texts: Mapping[str, str]) -> str:
    n = len(body["packets"])
    packets = f"{n:,} {'packet' if n == 1 else 'packets'}"
    return f"desk {body['desk']}, its entries {body['from']} to {body['to']}, {packets}, bundle {bytes(body['bundle']).hex()[:16]}"


def _brought(body: Mapping[str, Any], place: Place, texts: Mapping[str, str]) -> str:
    """What a desk kept about itself moves nothing here: its kind and its number there, and its free words."""
    inner = Entry.unpack(bytes(body["entry"]))
    words = "".join(f" {text}" for text in texts.values() if text)
    return (
        f"desk {body['desk']}, its entry {inner.number}, {inner.kind.replace('-', ' ')}{f'.{words}' if words else ''}"
    )


def _bundled(body: Mapping[str, Any], place: Place, texts: Mapping[str, str]) -> str:
    return f"entries 1 to {body['to']}"


def _history(body: Mapping[str, Any], place: Place, texts: Mapping[str, str]) -> str:
    which = "the one that was merged" if body["merged"] else "the one that was refused"
    digests = ", ".join(bytes(one).hex()[:16] for one in body["refused"])
    return f"desk {body['desk']}: {which}. Refused: {digests}. {texts.get('why') or 'Words withheld'}"


def _reported(body: Mapping[str, Any], place: Place, texts: Mapping[str, str]) -> str:
    """Whose figures, which ones and by which key. The figures themselves are under Contests of several offices."""
    key = bytes(body["kid"]).hex()
    return f"office {body['office']}, its edition {body['number']}, {body['status']}, key {key}, {len(body['report']):,} bytes"


def _compared(body: Mapping[str, Any], place: Place, texts: Mapping[str, str]) -> str:
    return (
        f"office {body['office']} read aloud {body['symbols']}, as office.toml has it, key {bytes(body['kid']).hex()}"
    )


def _unit(body: Mapping[str, Any], place: Place) -> str:
    return place.name if place.id == body["unit"] else f"{body['unit']}"


_SAYS = {
    "envelopes-decided": _envelopes,
    "count-in": _count,
    "place-keyed": _keyed,
    "late-call": _call,
    "packet-refused": _refused,
    "pool": _pool,
    "wait-waived": _waived,
    "voters-credited": _credited,
    "edition-posted": _edition,
    "finding-withdrawn": _withdrawn,
    "merged": _merged,
    "brought": _brought,
    "bundled": _bundled,
    "history-settled": _history,
    "office-reported": _reported,
    "office-compared": _compared,
}
