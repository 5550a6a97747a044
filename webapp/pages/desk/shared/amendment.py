"""What a packet that amends another one changed, before anybody accepts it and on the page of its place: how many figures, never which of the goods."""

from flask import current_app

from webapp.office.checking import packet_differences
from webapp.office.checking.packet_checks import Report


def changed(report: Report | None) -> str:
    """How many figures differ from the packet that this one replaces; "" where it replaces none, or one that is not here. One not proven replaces nothing."""
    tray = current_app.extensions["room"].tray
    if report is None or not report.proven or not (before := report.opened.core.get("amends")):
        return ""
    place = report.place.id
    if not isinstance(before, bytes) or not tray.holds(place, before):
        return ""
    old = tray.packet(place, before)
    found = packet_differences.compared(old.core, report.opened.core, old.place, report.place)
    both = f"Packet {report.opened.core['number']} replaces packet {old.core['number']}"
    if not found.count:
        return f"{both}: no figure differs."
    return f"{both}: {found.count:,} of {found.figures:,} figures {'differs' if found.count == 1 else 'differ'}."
