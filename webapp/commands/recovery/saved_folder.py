"""The folder whose record is copied: whose it is, and what goes onto the stick besides its entries."""

import time
from hashlib import sha256
from pathlib import Path

import webapp
from webapp.commands import Stop
from webapp.gate import keys, office_keys, signed_place_file
from webapp.gate.refusals import GateRefused
from webapp.office.setup import roster
from webapp.office.setup.enrolment import OFFICE_FILE
from webapp.precinct.place.place import Place
from webapp.record.backup import record_id_of
from webapp.record.refusals import RecordRefused
from webapp.stick.copier import CopyTask
from webapp.stick.folder import top_of

OFFICE_RECORD = "office.db"
RECORD, PACKETS = "record.db", "packet"
READ_ME_OFFICE = """This folder is the backup of the record of an election office's desk: {name} ({id}).

It holds what the office's folder holds but for its keys: packets as they came in, place files, figures, names of officials. It holds no vote, no voter's
name, no PIN and no secret key. Two officials of different parties open it.

Found it? Hand it, closed, to the election office.
Restore it on another laptop with the office's kit:  tapeseal record restore THIS_STICK --out NEW_FOLDER --kit FILE
"""
READ_ME = """This folder is the backup of one polling place's record on election day: {name} ({id}), {county}, {election}.

It belongs to the election office. It holds what the record holds: counts, times, the names of officials, remarks. It holds no vote, no
voter's name, no PIN and no key. Two officials of different parties open it, as they open the record.

Found it? Hand it, closed, to any official of the place or to the election office.
Restore it on a spare laptop with the kit of the place:  tapeseal record restore THIS_STICK --out NEW_FOLDER --kit FILE
"""


def task_for(folder: Path, place: Place, stick: Path) -> CopyTask:
    """What copies the record of this place's folder to the stick at that path. Raises Stop where one is inside the other."""
    refuse_nested(folder, stick)
    try:
        record_id = record_id_of(folder / RECORD)
    except RecordRefused as wrong:
        raise Stop(str(wrong)) from None
    sealed = folder / signed_place_file.FILE
    return CopyTask(
        (folder / RECORD).resolve(),
        record_id,
        top_of(stick).absolute(),
        "place",
        place.id,
        place.mode,
        place.digest,
        webapp.__version__,
        READ_ME.format(name=place.name, id=place.id, county=place.county, election=place.election),
        str(sealed.resolve()) if sealed.is_file() else "",
        str((folder / PACKETS).resolve()),
    )


def task_for_office(folder: Path, stick: Path) -> CopyTask:
    """What copies the office's record to the stick at that path, with its packets, place files, editions and the public keys of places. Raises Stop."""
    refuse_nested(folder, stick)
    try:
        record_id, found = record_id_of(folder / OFFICE_RECORD), roster.load(folder)
        office_keys.written(folder, time.time_ns() // 1_000_000)
    except (RecordRefused, GateRefused) as wrong:
        raise Stop(str(wrong)) from None
    return CopyTask(
        (folder / OFFICE_RECORD).resolve(),
        record_id,
        top_of(stick).absolute(),
        "office",
        found.office.id,
        "practice" if found.practice else "live",
        sha256((folder / OFFICE_FILE).read_bytes()).digest(),
        webapp.__version__,
        READ_ME_OFFICE.format(name=found.office.name, id=found.office.id),
        beside=str(folder.resolve()),
    )


def saved(folder: Path, stick: Path) -> CopyTask:
    """What copies this folder, of a place or of an office. Raises Stop."""
    return task_for_office(folder, stick) if is_office(folder) else task_for(folder, opened(folder), stick)


def is_office(folder: Path) -> bool:
    """Whether this is an office's folder."""
    return (folder / OFFICE_FILE).is_file() and (folder / OFFICE_RECORD).is_file()


def record_of(folder: Path) -> Path:
    """The record in this folder of a place or an office, once it was checked. Raises Stop."""
    if is_office(folder):
        return folder / OFFICE_RECORD
    opened(folder)
    return folder / RECORD


def refuse_nested(folder: Path, stick: Path) -> None:
    """Raises Stop where the stick is inside the place's folder, or the folder on the stick: the keys would be with the copy."""
    inner, outer = stick.resolve(), folder.resolve()
    if inner == outer or outer in inner.parents:
        raise Stop(f"{stick} is inside the place's folder: a copy there is lost with it. Give the path of a stick.")
    if inner in outer.parents and _one_disk(inner, outer) and (inner / "gate.db").exists():
        raise Stop(f"{stick} is a folder with keys: give the path of a stick, which holds none.")


def refuse_on_stick(out: Path, sticks: tuple[Path, ...]) -> None:
    """Raises Stop where a new folder would be on the stick: its keys would be with the copy."""
    own = out.resolve()
    if any(stick.resolve() == own or stick.resolve() in own.parents for stick in sticks):
        raise Stop(
            f"{out} is on the stick: keys would lie beside the copy. Give a new folder on this laptop's own disk."
        )


def _one_disk(one: Path, other: Path) -> bool:
    try:
        return one.stat().st_dev == other.stat().st_dev
    except OSError:
        return False


def opened(folder: Path) -> Place:
    """The place of this folder. Raises Stop."""
    if not (folder / keys.FILE).is_file():
        raise Stop(
            f"{folder} is not the folder of a place: give the one that `tapeseal enrol` or `record restore` made."
        )
    try:
        return signed_place_file.load_place(folder)
    except GateRefused as wrong:
        raise Stop(str(wrong)) from None
