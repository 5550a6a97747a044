"""Claims that wait for a signature: what a form said, as bytes, so that the second signer signs the very figures the first one signed."""

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from webapp.record import cbor
from webapp.record.entry import Claim, Text


@dataclass(frozen=True, slots=True)
class Draft:
    """Claims that are signed together, the seats that must sign them, and the page to go back to."""

    claims: tuple[Claim, ...]
    weight: str
    back: str = "/now"
    about: str = ""  # the person a voucher or an oath speaks of

    @property
    def digest(self) -> bytes:
        """SHA-256 of the packed claims: what a signature is for. `seq` is given when the entries are kept."""
        return hashlib.sha256(self.pack()).digest()

    def pack(self) -> bytes:
        """Returns the draft as deterministic CBOR, the bytes that both signers sign."""
        return cbor.encode([1, self.weight, self.back, self.about, [_row(claim) for claim in self.claims]])

    @classmethod
    def unpack(cls, data: bytes) -> "Draft":
        """Returns the draft in these bytes. They are the gate's own: what has another form raises whatever its decoder raises."""
        _, weight, back, about, rows = cbor.decode(data)
        return cls(tuple(_claim(row) for row in rows), weight, back, about)


def _row(claim: Claim) -> list[Any]:
    return [
        claim.id,
        claim.kind,
        claim.body,
        claim.happened,
        claim.tablet,
        [[n, t.salt, t.text] for n, t in sorted(claim.words.items())],
    ]


def _claim(row: Sequence[Any]) -> Claim:
    id_, kind, body, happened, tablet, texts = row
    return Claim(id_, kind, body, happened, tablet, 0, {name: Text(salt, text) for name, salt, text in texts})


def texts_of(claim: Claim) -> Mapping[str, str]:
    """The free words of a claim by name."""
    return {name: text.text for name, text in claim.words.items()}
