"""What the event log of an edition holds: the steps of each packet that counts, ballots of the day as counts, and the office's own entries."""

from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from webapp.canvass.event_log import FAILED, LoggedDevice, LoggedEvent
from webapp.office.received.received_packets import ReceivedPackets
from webapp.office.setup.roster import Roster
from webapp.office.totals.totals import PacketFigures
from webapp.packet.print_content import total
from webapp.precinct.checklist import checklist
from webapp.precinct.place.place import Official, Place

NOT_SO, SHORT = 1, 2  # of a step's flags in a core


def devices(
    roster: Roster,
    tray: ReceivedPackets,
    entries: Iterable[Any],
    people: Mapping[str, Official],
    office: Place,
    desks: Mapping[str, Iterable[Any]] = {},
) -> list[LoggedDevice]:
    """A device a place in the totals, the office, and each desk apart. `entries` of the office's own record; `people` by id, who may hold its tablets;
    `desks`: what each desk apart kept, as far as it was merged."""
    found = [LoggedDevice(f"place-{p.place.id}", "precinct-checklist", _of_place(p)) for _, p in tray.current()]
    own = [_of_office(entry, roster, people, office) for entry in entries]
    found.append(LoggedDevice(f"office-{roster.office.id}", "office-desk", own))
    for desk, kept in sorted(desks.items()):
        of_desk = [_of_office(entry, roster, people, office) for entry in kept]
        found.append(LoggedDevice(f"desk-{desk}", "office-desk", of_desk))
    return found


def stamp(ms: int, zone: ZoneInfo) -> str:
    """Date and time with zone, whole seconds (RFC 3339)."""
    return datetime.fromtimestamp(ms // 1000, zone).isoformat()


def _of_place(packet: PacketFigures) -> list[LoggedEvent]:
    place, core, found = packet.place, packet.core, []
    for id, at, time, signers, flags in core["steps"]:
        noun = checklist.title(id, "", place)
        short = "Short-signed: " if flags & SHORT else ""
        not_so = "Not so: " if flags & NOT_SO else ""
        found.append(
            LoggedEvent(
                time,
                stamp(time, place.tz),
                id,
                noun,
                f"{short}{not_so}{checklist.title(id, at or '', place)}",
                tuple((role, party) for role, party, _ in signers),
                "failure" if short or not_so else "success",
            )
        )
    for kind, figure in core["aside"].items():
        if (n := total(figure)) is not None:
            words = f"{kind.replace('-', ' ')} {'ballot' if n == 1 else 'ballots'}"
            noun = f"How many {kind.replace('-', ' ')} ballots the day had"
            found.append(
                LoggedEvent(
                    core["made"],
                    stamp(core["made"], place.tz),
                    f"set-aside-{kind}",
                    noun,
                    f"{n:,} {words} on the day",
                    (),
                    "na",
                )
            )
    return found


def _of_office(entry: Any, roster: Roster, people: Mapping[str, Official], office: Place) -> LoggedEvent:
    body = entry.body
    place = roster.places.get(body.get("place") or body.get("unit") or "", office)
    noun = checklist.title(entry.kind, "", office)
    by = tuple((signer.role, signer.party) for signer in entry.signers)
    if not by and (holder := people.get(entry.holder or "")):
        by = ((holder.role, holder.party),)
    failed = entry.kind in FAILED or bool(body.get("short")) or bool(body.get("not_so"))
    where = f", place {place.id}" if place is not office else ""
    short = "Short-signed: " if body.get("short") else ""
    return LoggedEvent(
        entry.kept,
        stamp(entry.kept, office.tz),
        entry.kind,
        noun,
        f"{short}{noun}{where}",
        by,
        "failure" if failed else "success",
    )
