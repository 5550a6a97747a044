"""Whether the newest packet is older than the record: the first entry that changed a figure or a seal after it."""

from webapp.precinct.day.day import Day
from webapp.precinct.place.ballot_kinds import BALLOT_KINDS
from webapp.precinct.reports.alerts import Alert

FIGURE_KINDS = BALLOT_KINDS | {
    "correction",
    "remark",
    "countersigned",
    "taken-back",
    "counted-again",
    "unused",
    "aside-counts",
    "book-count",
    "emergency-opened",
    "emergency-off",
    "counter-read",
    "tape-typed",
    "bin-emptied",
    "bins-out",
    "containers-filled",
    "containers-sealed",
    "pack-opened",
    "resupply",
    "sent",
    "seal-broken",
    "seal-applied",
    "dissent",
}
"""Kinds whose entries a packet made before them does not hold."""


def first_after(day: Day, number: int) -> int:
    """The first entry beyond `number` that a packet made at `number` lacks; 0 for none."""
    return next((k.number for k in day.entries if k.number > number and k.kind in FIGURE_KINDS), 0)


def newer(day: Day) -> str:
    """The sentence while the newest packet lacks an entry; "" where it lacks none, or there is no packet."""
    made = day.packets[-1] if day.packets else None
    entry = first_after(day, made.number) if made else 0
    return (
        f"Entry {entry} was kept after packet {made.body['number']} was made: make another packet, which replaces it."
        if made and entry
        else ""
    )


def alert(day: Day) -> tuple[Alert, ...]:
    """The alert for a packet that is older than the record; () otherwise."""
    says = newer(day)
    if not says:
        return ()
    number = day.packets[-1].body["number"]
    return (
        Alert(
            f"packet:{number}",
            f"Packet {number} is older than the record",
            (says,),
            href="/packet/again",
            button="Make another packet",
        ),
    )
