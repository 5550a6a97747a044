"""One entry of the record as it is now, with its corrections applied.

A correction never erases. The newest body is in force; every body it replaced stays, struck through, with who
corrected it, when and why. A note that its holder took back no longer counts and stays legible in the list of
entries.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from webapp.record.entry import Entry, Signer

NO_WORDS: Mapping[str, str] = {}


@dataclass(frozen=True, slots=True)
class Superseded:
    """A body no longer in force, and who corrected it. Times in ms UTC."""

    body: Mapping[str, Any]
    texts: Mapping[str, str]
    signers: tuple[Signer, ...]
    said: int  # number of the entry that stated this body
    by: int  # number of the correction that struck it
    who: tuple[Signer, ...]  # who signed that correction
    when: int  # when it was kept
    why: str  # the reason in words; "" where the words are withheld


@dataclass(frozen=True, slots=True)
class Again:
    """A hand count made again by another pair: of which figure, what they counted, who signed, in which entry."""

    field: str
    thing: str  # "" where the figure is one of its field
    n: int
    number: int
    signers: tuple[Signer, ...]
    when: int


@dataclass(frozen=True, slots=True)
class CurrentEntry:
    """One entry as it is now. `time` is when it happened, `kept` when the laptop wrote it (ms UTC)."""

    number: int
    kind: str
    at: str  # tabulator, box, container ...; "" where the step is done once
    body: Mapping[str, Any]  # in force
    time: int
    kept: int
    signers: tuple[Signer, ...]  # of the body in force
    holder: str | None
    tablet: str
    not_so: bool
    short: tuple[Mapping[str, Any], ...]
    texts: Mapping[str, str]
    corrected_by: int | None = None
    taken_back: int | None = None
    struck: tuple[Superseded, ...] = ()
    later: tuple[tuple[Signer, int], ...] = ()  # countersignatures, each with its time
    again: tuple[Again, ...] = ()  # hand counts made again; the body in force holds them behind the first

    @property
    def key(self) -> str:
        """The key of the task it belongs to: the kind, and where it was done when it is done in several places."""
        return f"{self.kind}:{self.at}" if self.at else self.kind

    def word(self, name: str) -> str:
        """The free words of that name, or "" where nobody wrote any or they are withheld."""
        return self.texts.get(name, "")


def kept_from(entry: Entry, texts: Mapping[str, str]) -> CurrentEntry:
    """An entry of the record, before anything corrects it."""
    body = entry.body
    return CurrentEntry(
        entry.number,
        entry.kind,
        body.get("at") or "",
        body,
        entry.happened,
        entry.kept,
        entry.signers,
        entry.holder,
        entry.tablet,
        bool(body.get("not_so")),
        tuple(body.get("short") or ()),
        texts,
    )


def corrected(kept: CurrentEntry, entry: Entry, texts: Mapping[str, str]) -> CurrentEntry:
    """The same entry with a new body in force and the old one superseded. It keeps its number, kind, place and time."""
    body = entry.body["body"]
    wanted = body.get("words") or {}
    words = {name: text for name, text in {**kept.texts, **texts}.items() if name in wanted}
    said = kept.corrected_by or kept.number
    struck = Superseded(
        kept.body, kept.texts, kept.signers, said, entry.number, entry.signers, entry.kept, texts.get("reason", "")
    )
    return replace(
        kept,
        body=body,
        at=body.get("at") or kept.at,
        signers=entry.signers,
        not_so=bool(body.get("not_so")),
        short=tuple(body.get("short") or ()),
        texts=words,
        corrected_by=entry.number,
        struck=(*kept.struck, struck),
    )


def countersigned(kept: CurrentEntry, entry: Entry) -> CurrentEntry:
    """The same entry with signatures that came later, shown as later."""
    return replace(kept, later=(*kept.later, *((signer, entry.kept) for signer in entry.signers)))


def counted_again(kept: CurrentEntry, entry: Entry) -> CurrentEntry:
    """The same entry with one more count after those of a figure: the first one stays, and its signers with it."""
    body, value = entry.body, kept.body.get(entry.body["field"])
    thing, n = body.get("thing", ""), body["n"]
    told = {**(value or {}), thing: _behind((value or {}).get(thing), n)} if thing else _behind(value, n)
    mine = Again(body["field"], thing, n, entry.number, entry.signers, entry.kept)
    return replace(kept, body={**kept.body, body["field"]: told}, again=(*kept.again, mine))


def _behind(counts: Any, n: int) -> Any:
    """One more hand count: none yet, one number, or several in order."""
    return n if counts is None else [*(counts if isinstance(counts, list | tuple) else (counts,)), n]
