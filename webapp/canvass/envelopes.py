"""What became of the envelopes of one unit and way: counts of envelopes, never a name or number of a voter. The newest decision is in force."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

COUNTY = "county"
"""The unit of envelopes that are not sorted by place."""


@dataclass(frozen=True, slots=True)
class Reason:
    """Why an envelope was rejected, of the office's list."""

    id: str
    name: str


REASONS = (
    Reason("not-registered", "Not registered here"),
    Reason("no-document", "Document not shown in time"),
    Reason("no-signature", "No signature"),
    Reason("signature-differs", "Signature does not match"),
    Reason("late", "Received too late"),
    Reason("voted-already", "Has voted already"),
    Reason("other", "Another reason"),
)
"""The reasons of an office that names none (common practice)."""


@dataclass(frozen=True, slots=True)
class Envelopes:
    """`issued` None where nobody knows; `partly`: accepted for some contests only; `open`: not decided yet; `cure_until` a day, as text, or ""."""

    unit: str
    way: str
    issued: int | None
    received: int
    accepted: int
    partly: int = 0
    rejected: Mapping[str, int] = field(default_factory=dict)
    open: int = 0
    cure_until: str = ""
    kept: int = 0
    id: bytes = b""
    number: int = 0

    @property
    def to_count(self) -> int:
        """Ballots that come out of accepted envelopes."""
        return self.accepted + self.partly

    @property
    def not_counted(self) -> int:
        return sum(self.rejected.values())

    @property
    def decided(self) -> int:
        return self.to_count + self.not_counted


def mistakes(one: Envelopes) -> dict[str, str]:
    """What does not add up, by the field it is said at: received = accepted + accepted in part + rejected + open."""
    apart = one.received - one.decided - one.open
    if not apart:
        return {}
    more, less = ("received", "accounted for") if apart > 0 else ("accounted for", "received")
    return {
        "received": f"{one.received:,} received, {one.decided + one.open:,} accounted for "
        f"({one.to_count:,} accepted, {one.not_counted:,} rejected, {one.open:,} open): {abs(apart):,} more {more} than {less}."
    }


def of_body(body: Mapping[str, Any], kept: int = 0, id: bytes = b"", number: int = 0) -> Envelopes:
    """An `envelopes-decided` entry as what it says."""
    return Envelopes(
        body["unit"],
        body["way"],
        body.get("issued"),
        body["received"],
        body["accepted"],
        body.get("partly", 0),
        dict(body.get("rejected") or {}),
        body.get("open", 0),
        body.get("cure_until") or "",
        kept,
        id,
        number,
    )


def newest(rows: Iterable[Envelopes]) -> dict[tuple[str, str], Envelopes]:
    """The decision in force for each unit and way: of two entries the later `kept`, then the higher id."""
    found: dict[tuple[str, str], Envelopes] = {}
    for one in sorted(rows, key=lambda one: (one.kept, one.id)):
        found[one.unit, one.way] = one
    return found
