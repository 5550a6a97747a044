"""Entries that came from a desk apart: each is whole inside an entry of the office's record, and is read here as its own kind.

The entry inside keeps its kind, body, times and signers. It takes the number of the entry that brought it, so that
every page, every cut of an edition and every link has one numbering; a reference to another entry of that desk (`of`)
is changed to the number which that one has here.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Any

from webapp.office.canvassing import added_ballots
from webapp.office.questions import withdrawn
from webapp.precinct.place.default_steps import defaults
from webapp.precinct.place.place_kinds import KINDS
from webapp.record.chain import first_head, leaf, next_head
from webapp.record.entry import Entry

MERGED, BROUGHT, BUNDLED = "merged", "brought", "bundled"
GOODS = frozenset(
    step.id for kind, told in KINDS.items() for step in defaults(kind) if step.list in told.desk and not step.note
)
"""Steps of the desk about a place's goods, from the carriers to the receipt."""
FIGURES = frozenset(
    {
        "packet-received",
        "desk-finding",
        withdrawn.KIND,
        "place-counts",
        "packet-set-aside",
        "place-keyed",
        "answered",
        "late-call",
    }
    | added_ballots.KINDS
)
CHANGES = frozenset({"correction", "taken-back", "countersigned"})
READ_AS_THEIR_OWN = GOODS | FIGURES
"""What a desk apart may say with effect here. All else it kept is brought along to be read: its people, PINs, starts, first keyings."""


@dataclass(slots=True)
class DeskChain:
    """What the office has of one desk's record: its id (16 bytes), run, last number, and the head after each entry."""

    record: bytes
    run: int
    last: int
    heads: dict[int, bytes]

    @property
    def head(self) -> bytes:
        return self.heads[self.last]


@dataclass(frozen=True, slots=True)
class CameFrom:
    """Where a brought entry was kept: the desk, and its number in that desk's record."""

    desk: str
    number: int


class Brought:
    """Reads the office's record in order. `from_desk`: number here -> where it came from; `chains`: desk -> what the office has of its record."""

    def __init__(self) -> None:
        self.from_desk: dict[int, CameFrom] = {}
        self.chains: dict[str, DeskChain] = {}
        self._numbers: dict[tuple[bytes, int], int] = {}  # (record, number there) -> number here
        self._read: set[int] = set()  # numbers here that are read as what lies inside

    def read(self, entry: Entry) -> Entry:
        """The entry as it is; of one that brought another, the one inside, under the number of the one that brought it."""
        if entry.kind == MERGED:
            self._begin(entry)
        if entry.kind != BROUGHT:
            return entry
        data, desk = bytes(entry.body["entry"]), entry.body["desk"]
        inner = Entry.unpack(data)
        self.from_desk[entry.number] = CameFrom(desk, inner.number)
        self._numbers[inner.record_id, inner.number] = entry.number
        self._link(desk, inner, data)
        of = inner.body.get("of")
        if inner.kind in CHANGES:
            here = self._numbers.get((inner.record_id, of)) if isinstance(of, int) else None
            if here not in self._read:
                return entry
            inner = replace(inner, body={**inner.body, "of": here})
        elif inner.kind not in READ_AS_THEIR_OWN:
            return entry
        else:
            inner = replace(inner, body=self._turned(inner))
        self._read.add(entry.number)
        return replace(inner, number=entry.number, run=entry.run, record_id=entry.record_id)

    def _turned(self, inner: Entry) -> dict[str, Any]:
        """Its body with the numbers of that desk's entries as they are here."""
        body = inner.body
        if inner.kind == "answered" and str(body["question"]).startswith("desk/"):
            return {**body, "facts": [self._here(inner, fact) for fact in body["facts"]]}
        if inner.kind == withdrawn.KIND:
            return {**body, "findings": [{**row, "entry": self._here(inner, row["entry"])} for row in body["findings"]]}
        return body

    def _here(self, inner: Entry, number: Any) -> Any:
        return self._numbers.get((inner.record_id, number), number) if isinstance(number, int) else number

    def desk_of(self, number: int) -> str:
        """The desk that kept the entry which has this number here; "" for the office's own."""
        found = self.from_desk.get(number)
        return found.desk if found else ""

    def _begin(self, entry: Entry) -> None:
        record = bytes(entry.body["record"])
        if entry.body["desk"] not in self.chains or self.chains[entry.body["desk"]].record != record:
            self.chains[entry.body["desk"]] = DeskChain(record, 1, 0, {0: first_head(record)})

    def _link(self, desk: str, inner: Entry, data: bytes) -> None:
        chain = self.chains.get(desk)
        if chain is not None:
            chain.heads[inner.number] = next_head(chain.head, inner.number, leaf(data))
            chain.last, chain.run = inner.number, inner.run


def by_desk(entries: Iterable[Entry]) -> tuple[list[Entry], dict[str, list[Entry]]]:
    """The office's own entries, and those of each desk apart as that desk kept them: under its own numbers and times."""
    own, desks = list[Entry](), dict[str, list[Entry]]()
    for entry in entries:
        if entry.kind == BROUGHT:
            desks.setdefault(entry.body["desk"], []).append(Entry.unpack(bytes(entry.body["entry"])))
        else:
            own.append(entry)
    return own, desks


def unwrapped(entries: Iterable[Entry]) -> Iterator[Entry]:
    """The entries of an office's record, each brought one as what it is."""
    reader = Brought()
    for entry in entries:
        yield reader.read(entry)
