"""What one entry of a record says, and the bytes that are stored for good.

A tablet states a claim: this happened, here, then. The laptop adds who signed it and its own clock, and keeps both as
an entry:

    [1, record_id, run, number, id, kind, body, made, happened, kept, offset, tablet, seq, holder, [[person, role,
party, how] ...]]

in deterministic CBOR. Times are whole milliseconds UTC. Free text never enters an entry: its salted digest does, and
the text is stored apart, so that an export may withhold the text and still verify.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from hashlib import sha256
from typing import Any

from webapp.record import cbor
from webapp.record.cbor import Malformed

FORMAT = 1
RESTORED = "restored"
"""The kind that continues a record on another laptop: with it the next run begins."""
GIVEN_BACK = "given-back"
"""The kind that brings back an entry of an earlier run, whole, under its body's `entry`."""
QUARTER = 15 * 60 * 1000
HOWS = frozenset({"pin", "desk", "ink"})
"""How a person signed: own PIN here, at the office's desk, or in ink on paper that was keyed later."""


def quarter_hour(ms: int) -> int:
    """The start of the quarter hour that this moment (ms UTC) is in."""
    return ms - ms % QUARTER


@dataclass(frozen=True, slots=True)
class Signer:
    """One signature: who, in what role, of which party, and how ("pin", "desk" or "ink")."""

    person: str
    role: str
    party: str
    how: str


@dataclass(frozen=True, slots=True)
class Text:
    """Free words with the 16-byte salt that the tablet made for them."""

    salt: bytes
    text: str

    @property
    def digest(self) -> bytes:
        """SHA-256 of the salt and the text in UTF-8: what the entry holds in the text's place."""
        try:
            return sha256(self.salt + self.text.encode()).digest()
        except UnicodeEncodeError as wrong:
            raise Malformed("a text holds half a character (a lone surrogate); write it again") from wrong


@dataclass(frozen=True, slots=True)
class Claim:
    """What a tablet states, before anybody signs. A retry with this id and this digest is the same claim.

    id: 16 bytes, a UUIDv4 made on the tablet. happened: ms UTC, as the person states it. seq: from 1 for each tablet,
    0 for the laptop's own lines. words: free texts by name.
    """

    id: bytes
    kind: str
    body: dict[str, Any]
    happened: int
    tablet: str
    seq: int
    words: Mapping[str, Text] = field(default_factory=dict)

    @property
    def full_body(self) -> dict[str, Any]:
        """The body as it is stored: each free text by its digest under "words". Raises Malformed where the body has such a key already."""
        if not self.words:
            return self.body
        if "words" in self.body:
            raise Malformed("a body names its words itself and is given words besides; give them once")
        return {**self.body, "words": {name: text.digest for name, text in self.words.items()}}

    def digest(self, coarse: bool = False) -> bytes:
        """SHA-256 over kind, full body, happened (the start of its quarter hour when coarse), tablet and seq."""
        return claim_digest(
            self.kind, self.full_body, quarter_hour(self.happened) if coarse else self.happened, self.tablet, self.seq
        )


def claim_digest(kind: str, body: dict[str, Any], happened: int, tablet: str, seq: int) -> bytes:
    """The 32 bytes that a repeated claim is known by."""
    return sha256(cbor.encode([kind, body, happened, tablet, seq])).digest()


@dataclass(frozen=True, slots=True)
class Act:
    """A claim on its way into the record: who signed it, the tablet's clock at sending (ms UTC), that clock less the laptop's (ms), and who held the tablet."""

    claim: Claim
    signers: tuple[Signer, ...] = ()
    made: int = 0
    offset: int = 0
    holder: str | None = None


@dataclass(frozen=True, slots=True)
class Entry:
    """One kept line. number: from 1 without holes. run: from 1, one more after each restore. made, happened, kept: ms UTC."""

    record_id: bytes
    run: int
    number: int
    id: bytes
    kind: str
    body: dict[str, Any]
    made: int
    happened: int
    kept: int
    offset: int
    tablet: str
    seq: int
    holder: str | None
    signers: tuple[Signer, ...]

    def pack(self) -> bytes:
        """The bytes to store. A stored entry is never packed again: its stored bytes are hashed."""
        return cbor.encode([
            FORMAT, self.record_id, self.run, self.number, self.id, self.kind, self.body, self.made, self.happened, self.kept,
            self.offset, self.tablet, self.seq, self.holder, [[s.person, s.role, s.party, s.how] for s in self.signers],
        ])  # fmt: skip

    @classmethod
    def unpack(cls, data: bytes) -> "Entry":
        """The entry in these stored bytes. Raises Malformed where they are not exactly one entry of format 1."""
        line = cbor.decode(data)
        if type(line) is not list or tuple(map(type, line)) not in _SHAPES or line[0] != FORMAT:
            raise Malformed(_misshapen(line))
        signers = line.pop()
        for signer in signers:
            if type(signer) is not list or tuple(map(type, signer)) != (str, str, str, str):
                raise Malformed("each of an entry's signers is person, role, party and how, all texts")
        entry = cls(*(*line[1:], tuple([Signer(*signer) for signer in signers])))
        _in_range(entry)
        return entry

    @property
    def in_quarters(self) -> bool:
        """Whether none of its times is finer than the quarter hour."""
        return not (self.made % QUARTER or self.happened % QUARTER or self.kept % QUARTER or self.offset)

    @property
    def claim_digest(self) -> bytes:
        """What a retry of this entry's claim is known by: the same as its Claim's digest."""
        return claim_digest(self.kind, self.body, self.happened, self.tablet, self.seq)


_ITEMS = {
    "format": int, "record_id": bytes, "run": int, "number": int, "id": bytes, "kind": str, "body": dict, "made": int, "happened": int,
    "kept": int, "offset": int, "tablet": str, "seq": int, "holder": str, "signers": list,
}  # fmt: skip
_SHAPE = tuple(_ITEMS.values())
_SHAPES = frozenset({_SHAPE, (*_SHAPE[:13], type(None), list)})  # nobody holds the laptop itself


def _misshapen(line: object) -> str:
    """What keeps a decoded value from being an entry."""
    if type(line) is not list or len(line) != len(_ITEMS):
        return f"not an entry: {len(_ITEMS)} items are wanted"
    for (name, kind), item in zip(_ITEMS.items(), line):
        if type(item) is not kind and not (name == "holder" and item is None):
            return f"the entry's {name} is a {type(item).__name__}, not a {kind.__name__}"
    return f"an entry of format {line[0]}; this program reads format {FORMAT}"


def _in_range(entry: Entry) -> None:
    """Raises Malformed where a field has the right type and an impossible value."""
    if len(entry.record_id) != 16 or len(entry.id) != 16:
        raise Malformed("an entry's record_id and id have 16 bytes each")
    if entry.run < 1 or entry.number < 1 or entry.seq < 0 or entry.made < 0 or entry.happened < 0 or entry.kept < 0:
        raise Malformed("run and number count from 1; seq and times from 0")
    if entry.seq >= 2**63 or entry.number >= 2**63:
        raise Malformed("number and seq fit 63 bits")
    if not entry.kind or not entry.tablet:
        raise Malformed("an entry names its kind and its tablet")
    people = {signer.person for signer in entry.signers}
    if len(people) != len(entry.signers):
        raise Malformed("one person signed the same entry twice")
    for signer in entry.signers:
        if not signer.person or signer.how not in HOWS:
            raise Malformed("each signature names its person and was made by pin, desk or ink")
