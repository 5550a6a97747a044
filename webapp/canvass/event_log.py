"""The event log of the night and the days after as NIST SP 1500-101 version 1.0 in JSON, and the page that says what each code means.

A signer is a role and a party, never a name. An event's Sequence runs over the whole file by time and is not the
number of an entry: holes among numbers would show where notes about single ballots were. Ballots are given as counts
of the day.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

LOG, DOCUMENTATION = "log-1500-101.json", "log-documentation-1500-101.json"
CLASSES = {
    "polls": "Opening and closing of the polls",
    "checklist": "Steps of the checklists",
    "seal": "Seals, bins and containers",
    "tape": "Tapes",
    "count": "Counts and readings",
    "incident": "What happened out of the ordinary",
    "packet": "Packets",
    "access": "People, PINs and tablets",
    "clock": "Clocks",
    "software": "The program and its record",
    "desk": "The office's desk",
    "edition": "Postings",
    "recovery": "Backup and restore",
}
_BY_WORD = (
    (
        "edition",
        ("edition-posted", "wait-waived", "small-shown", "certified", "certificate-sealed", "reopened", "board-met"),
    ),
    ("packet", ("packet", "place-counts", "place-keyed")),
    ("tape", ("tape", "zero")),
    ("seal", ("seal", "container", "bin", "box", "sealing")),
    (
        "count",
        (
            "count",
            "hourly",
            "reading",
            "unused",
            "set-aside",
            "book",
            "balance",
            "remark",
            "keying",
            "envelopes",
            "pool",
            "voters",
            "ballot",
        ),
    ),
    ("recovery", ("restored", "stick", "given-back", "returned", "exported")),
    ("clock", ("clock",)),
    ("software", ("record-opened", "started", "stopped", "version", "verify", "check-words", "contradicted", "drafts")),
    ("access", ("pin", "vouched", "paired", "revoked", "arrivals", "oath", "relief", "roles", "tablet")),
    ("incident", ("incident", "power", "jam", "evacuation", "tabulator-out", "tabulator-in")),
    ("polls", ("polls", "opened", "closed", "line-end")),
    (
        "desk",
        (
            "answered",
            "narrative",
            "signed-over",
            "place-without",
            "finding",
            "receipt",
            "carriers",
            "memory",
            "goods",
            "late",
            "merged",
            "brought",
            "bundled",
            "office-",
            "history",
        ),
    ),
)
FAILED = frozenset({"pin-failed", "verify-failed", "contradicted"})


@dataclass(frozen=True, slots=True)
class LoggedEvent:
    """One event. `time` as date and time with zone, whole seconds; `at` the same in ms UTC, for the order; `by`: (role, party) of who signed.

    `id` is the kind of entry; `noun` what the kind is called; `says` the same with where it was; `outcome` success, failure or na.
    """

    at: int
    time: str
    id: str
    noun: str
    says: str
    by: tuple[tuple[str, str], ...] = ()
    outcome: str = "success"


@dataclass(frozen=True, slots=True)
class LoggedDevice:
    """A place or the office: `kind` is the word for a device of no type that the standard names."""

    id: str
    kind: str
    events: Sequence[LoggedEvent]


def class_of(id: str) -> str:
    """The class of a kind of entry."""
    return next((name for name, words in _BY_WORD if any(word in id for word in words)), "checklist")


def log(devices: Sequence[LoggedDevice], election: str, made: str, version: str) -> dict[str, Any]:
    """The whole log. `election`: an id; `made`: date and time with zone, whole seconds."""
    order = sorted((event.at, d, e) for d, device in enumerate(devices) for e, event in enumerate(device.events))
    sequence = {(d, e): str(n) for n, (_, d, e) in enumerate(order, 1)}
    return {
        "@type": "EventLogging.ElectionEventLog",
        "GeneratedTime": made,
        "ElectionId": election,
        "Details": "Events of places are those of the packets that count. Notes about one ballot are given as counts of the day.",
        "Device": [
            {
                "@type": "EventLogging.Device",
                "Id": device.id,
                "Type": "other",
                "OtherType": device.kind,
                "Model": "Tape & Seal",
                "Version": version,
                "Event": [
                    _event(device.events[e], sequence[d, e])
                    for e in sorted(range(len(device.events)), key=lambda e: int(sequence[d, e]))
                ],
            }
            for d, device in enumerate(devices)
            if device.events
        ],
    }


def _event(one: LoggedEvent, sequence: str) -> dict[str, Any]:
    return {
        "@type": "EventLogging.Event",
        "Id": one.id,
        "Sequence": sequence,
        "TimeStamp": one.time,
        "Type": class_of(one.id),
        "Disposition": one.outcome,
        "Severity": "warning" if one.outcome == "failure" else "info",
        "UserId": "+".join(f"{role}/{party}" for role, party in one.by),
        "Description": one.says,
    }


def documentation(devices: Iterable[LoggedDevice], maker: str, date: str, version: str) -> dict[str, Any]:
    """What every Id and Type in the log means. `date`: YYYY-MM-DD."""
    nouns: dict[str, str] = {}
    for device in devices:
        for event in device.events:
            nouns.setdefault(event.id, event.noun)
    classes = dict.fromkeys(map(class_of, nouns))
    return {
        "@type": "EventLogging.ElectionEventLogDocumentation",
        "DeviceManufacturer": maker,
        "DeviceModel": "Tape & Seal",
        "DeviceVersion": version,
        "GeneratedDate": date,
        "EventIdDescription": [
            {"@type": "EventLogging.EventIdDescription", "Id": id, "Description": noun} for id, noun in nouns.items()
        ],
        "EventTypeDescription": [
            {"@type": "EventLogging.EventTypeDescription", "Type": name, "Description": CLASSES[name]}
            for name in classes
        ],
    }
