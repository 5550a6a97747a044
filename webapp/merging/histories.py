"""Two histories of one desk apart: which bundles were refused as another history, and what two parties found out.

The one that was merged first stays in the record, as nothing is ever taken out of it; of the other nothing counts. That is the order in which they
came and says nothing about which is true: people find out at the desk, and sign. No figure moves by that; what they set aside moves figures.
"""

from typing import Protocol

from webapp.precinct.day.current_entry import CurrentEntry

SETTLED = "history-settled"


class KeptDay(Protocol):
    """The day of an office, as far as it is asked here."""

    def of(self, kind: str) -> list[CurrentEntry]: ...


def refused_of(day: KeptDay, desk: str) -> list[CurrentEntry]:
    """Every bundle of this desk that was refused as another history."""
    return [kept for kept in day.of("packet-refused") if kept.body.get("desk") == desk]


def forked(day: KeptDay) -> list[str]:
    """Desks of which another history was refused, by name."""
    return sorted({kept.body["desk"] for kept in day.of("packet-refused") if kept.body.get("desk")})


def settled(day: KeptDay, desk: str) -> CurrentEntry | None:
    """The entry in which two parties signed which history is the desk's; None where none did, or where a history was refused since that it does not name."""
    told = [kept for kept in day.of(SETTLED) if kept.body["desk"] == desk and _by_two(kept)]
    newest = max(told, key=lambda kept: (kept.kept, kept.number), default=None)
    named = {bytes(digest) for digest in newest.body["refused"]} if newest else set()
    return newest if all(bytes(kept.body["digest"]) in named for kept in refused_of(day, desk)) else None


def _by_two(kept: CurrentEntry) -> bool:
    return len({signer.party for signer in kept.signers}) > 1 and not kept.short
