"""What `precinct` and `office` share: check the folder, take the ports, open, serve, stop cleanly.

Each port is tried before the record is opened, so that a second start while one is running leaves no entry behind. A
record that does not check is named on the screen and in the record, and is served all the same: voting never waits
for the tool.
"""

import shutil
import sys
from collections.abc import Callable
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path

import webapp
from webapp import plain_file
from webapp.commands import Stop
from webapp.commands.server import self_check
from webapp.commands.server.clock_watch import ClockWatch
from webapp.commands.server.stick_choice import StickChoice
from webapp.commands.server.tablet_listeners import TabletListeners
from webapp.gate.refusals import GateRefused
from webapp.pages.shared.site import Site
from webapp.precinct.place.ballot_kinds import COARSE_KINDS
from webapp.precinct.place.place import Place
from webapp.record import audit
from webapp.record.refusals import RecordRefused
from webapp.serving import server, sockets
from webapp.settings import Settings, Unfit
from webapp.stick.copier import CopyTask

LEFT_BEHIND = (
    "The stick did not answer in time: it may lack the last entries. Nothing is lost on this laptop; "
    "copy them with `tapeseal record backup` before it leaves the room."
)
ROOM_ON_DISK = 200 * 1024 * 1024  # bytes: days of entries, snapshots and packets many times over


def folder_with(folder: Path, parts: tuple[str, ...], made_by: str) -> None:
    """Raises Stop unless this is a folder that holds at least these files."""
    if not folder.is_dir():
        raise Stop(f"{folder} is not a folder: give the one that {made_by} made.")
    missing = [part for part in parts if not (folder / part).is_file()]
    if missing:
        raise Stop(f"{folder} lacks {' and '.join(missing)}: give the folder that {made_by} made, whole.")


def run(
    settings: Settings,
    record: Path,
    title: str,
    place: Place | None = None,
    beside: TabletListeners | None = None,
    copied: Callable[[Path], CopyTask] | None = None,
    stick: Path | None = None,
) -> int:
    """Serves this folder until it is stopped, with the tablets' doors (`beside`) as well as its own. Every refusal is a `Stop`.

    copied: gives what is copied to the stick at a path, once there is a record. stick: the path to begin with.
    """
    if place and (other := self_check.other_record(record, place)):
        raise Stop(other)
    before = self_check.clock(datetime.now(UTC), place, record, beside.made() if beside else None) if place else []
    plain_file.keep_private(settings.folder)
    try:
        sockets.have(settings.host, settings.port)
        if beside:
            beside.have()
        app = webapp.create_app(settings)
    except (GateRefused, RecordRefused, Unfit, sockets.PortTaken) as wrong:
        raise Stop(str(wrong)) from None
    room = app.extensions["room"]
    choice = StickChoice(room, copied) if copied else None
    try:
        if choice:
            room.choose_stick = choice.move
            if stick:
                choice.begin(stick)
        said = [*looked_over(room, record), *room_on_disk(settings.folder), *(beside.warnings() if beside else [])]
        for sentence in [*before, *said]:
            print(sentence, file=sys.stderr, flush=True)
        watch = (choice.tick,) if choice else ()
        rounds = (ClockWatch(room).tick, *((beside.tick,) if beside else ()), *watch)
        server.serve(
            app, settings.host, settings.port, announce(title, beside), beside.doorways(app) if beside else (), rounds
        )
    except sockets.PortTaken as wrong:
        raise Stop(str(wrong)) from None
    finally:
        if beside:
            beside.close()
        room.close()
        if choice and not choice.close():
            print(LEFT_BEHIND, file=sys.stderr, flush=True)
    return 0


def looked_over(room: Site, record: Path) -> list[str]:
    """What the checker says of the record, once it is open and nobody else writes; nothing where all is well. Nothing of it keeps the doors shut."""
    said = [room.disk_notice()] if room.disk_refuses else []
    try:
        verdict = audit.verify(record, coarse=COARSE_KINDS)
    except (audit.UnusableFile, OSError) as wrong:
        why = str(wrong) if isinstance(wrong, audit.UnusableFile) else f"{wrong.strerror}."
        return [
            *said,
            f"The record was not checked: {why} Check it with `tapeseal record verify` when that is settled.",
        ]
    if verdict.ok:
        return said
    with suppress(RecordRefused, GateRefused):  # a disk that takes nothing: it is said on the screen
        room.laptop_says("verify-failed", {"first_wrong": verdict.first_wrong})
    return [
        *said,
        f"The record does not check: {verdict.says} Keep this laptop and the stick as they are, tell the office, and go on.",
    ]


def room_on_disk(folder: Path) -> list[str]:
    """A sentence where the disk is nearly full."""
    free = shutil.disk_usage(folder).free
    if free >= ROOM_ON_DISK:
        return []
    return [
        f"The disk has {free // 1048576} MB left: free at least {ROOM_ON_DISK // 1048576} MB before the day begins."
    ]


def announce(title: str, beside: TabletListeners | None) -> Callable[[int], None]:
    def tell(port: int) -> None:
        lines = [
            f"{title}: http://localhost:{port}/   (Ctrl+C stops it; nothing is lost.)",
            *(f"  {line}" for line in (beside.lines() if beside else ())),
        ]
        print("\n".join(lines), flush=True)

    return tell
