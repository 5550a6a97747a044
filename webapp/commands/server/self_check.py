"""Checks a place's folder before its doors open. A record of another place stops the start; everything else is reported, and the doors open.

Each check is a sentence with what to do, or nothing. Voting never waits for the tool.
"""

from collections.abc import Iterator, Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from webapp.gate.certificates import ServerCertificate
from webapp.precinct.place.place import Place
from webapp.record.ledger import Ledger
from webapp.record.refusals import RecordRefused

SOON = timedelta(days=14)  # before a certificate runs out


def other_record(path: Path, place: Place) -> str:
    """Why the record in this folder is not this place's; "" when it is, when there is none yet, or when it cannot be read (the checker says so)."""
    if not path.exists():
        return ""
    try:
        first = next(_entries(path), None)
    except RecordRefused:
        return ""
    if first is None or first.kind != "record-opened":
        return ""
    was, mode = first.body.get("place"), first.body.get("mode")
    if (was, mode) == (place.id, place.mode):
        return ""
    return (
        f"{path.name} in this folder is the record of {was} ({mode}), and the place file is for {place.id} ({place.mode}): "
        f"give the folder of {was}, or the one that was enrolled for {place.id}. Nothing was written."
    )


def clock(now: datetime, place: Place, record: Path, made: datetime | None) -> list[str]:
    """Why the laptop's clock may be wrong: the folder was made later, the record goes on later, or a live place opens on another day; "" for no reason."""
    said, here = [], _written(now, place)
    if made and now < made:
        said.append(
            f"This laptop's clock says {here}, and its folder was made later, on {_written(made, place)}: set the clock before anything is kept."
        )
    last = _last_kept(record)
    if last and now < last - timedelta(minutes=1):
        said.append(
            f"This laptop's clock says {here}, and the last entry of the record was kept at {_written(last, place)}: set the clock."
        )
    if place.mode == "live" and now.astimezone(place.tz).date() != place.date:
        said.append(
            f"This laptop's clock says {here}, and the election is on {place.date:%A %d %B %Y}: set the clock if that is not so. "
            "Before that day, open the folder only to try it; what is kept stays."
        )
    return said


def certificate(shown: ServerCertificate, now: datetime) -> list[str]:
    """Whether tablets can believe what the door shows, today and for a while."""
    if now < shown.since:
        return [
            f"The certificate for tablets begins on {shown.since:%d %B %Y}, later than this laptop's clock: set the clock, or tablets will not connect."
        ]
    if now > shown.until:
        return [
            f"The certificate for tablets ran out on {shown.until:%d %B %Y}, so tablets will not connect: renew it at the office with `tapeseal enrol --renew`. "
            "The laptop alone does it all."
        ]
    if now > shown.until - SOON:
        return [
            f"The certificate for tablets runs out on {shown.until:%d %B %Y}: renew it at the office with `tapeseal enrol --renew`."
        ]
    return []


def name(host: str, leads_to: Sequence[str], here: Sequence[str]) -> list[str]:
    """Whether tablets will find this laptop by its name; `here` are the laptop's own numbers."""
    if not here:
        return [
            "This laptop is on no network yet, so no tablet can reach it: connect it to the tablets' network. It need not be started again."
        ]
    if not leads_to:
        return [
            f"Nobody here answers to the name {host}, so tablets will not find this laptop: enter {host} with {' or '.join(here)} in the router's list of names."
        ]
    if not set(leads_to) & set(here):
        return [
            f"The name {host} leads to {' and '.join(leads_to)}, and this laptop is {' and '.join(here)}: correct it in the router's list of names."
        ]
    return []


def _entries(path: Path) -> Iterator[Any]:
    reader = Ledger.read_only(path)
    try:
        yield from reader.entries()
    finally:
        reader.close()


def _last_kept(path: Path) -> datetime | None:
    if not path.exists():
        return None
    try:
        reader = Ledger.read_only(path)
        try:
            last = next(iter(reader.entries(after=reader.newest.number - 1)), None)
        finally:
            reader.close()
    except RecordRefused:
        return None
    return datetime.fromtimestamp(last.kept / 1000, UTC) if last else None


def _written(moment: datetime, place: Place) -> str:
    return f"{moment.astimezone(place.tz):%d %B %Y, %H:%M}"
