"""The folder whose record is copied: whose it is, and what goes onto the stick besides its entries."""

from pathlib import Path

import webapp
from webapp.commands import Stop
from webapp.gate import keys, signed_place_file
from webapp.gate.refusals import GateRefused
from webapp.precinct.place.place import Place
from webapp.record.backup import record_id_of
from webapp.record.refusals import RecordRefused
from webapp.stick.copier import CopyTask

RECORD, PACKETS = "record.db", "packet"
READ_ME = """This folder is the backup of one polling place's record on election day: {name} ({id}), {county}, {election}.

It belongs to the election office. It holds what the record holds: counts, times, the names of officials, remarks. It holds no vote, no
voter's name, no PIN and no key. Two officials of different parties open it, as they open the record.

Found it? Hand it, closed, to any official of the place or to the election office.
Restore it on a spare laptop with the kit of the place:  tapeseal record restore THIS_STICK --out NEW_FOLDER --kit FILE
"""


def task_for(folder: Path, place: Place, stick: Path) -> CopyTask:
    """What copies the record of this place's folder to the stick at that path. Raises Stop where the two lie inside one another."""
    refuse_nested(folder, stick)
    try:
        record_id = record_id_of(folder / RECORD)
    except RecordRefused as wrong:
        raise Stop(str(wrong)) from None
    sealed = folder / signed_place_file.FILE
    return CopyTask(
        (folder / RECORD).resolve(),
        record_id,
        stick.absolute(),
        "place",
        place.id,
        place.mode,
        place.digest,
        webapp.__version__,
        READ_ME.format(name=place.name, id=place.id, county=place.county, election=place.election),
        str(sealed.resolve()) if sealed.is_file() else "",
        str((folder / PACKETS).resolve()),
    )


def refuse_nested(folder: Path, stick: Path) -> None:
    """Raises Stop where the stick lies inside the place's folder, or the folder on the stick: the keys would lie beside the copy."""
    inner, outer = stick.resolve(), folder.resolve()
    if inner == outer or outer in inner.parents:
        raise Stop(f"{stick} is inside the place's folder: a copy there is lost with it. Give the path of a stick.")
    if inner in outer.parents and _one_disk(inner, outer) and (inner / "gate.db").exists():
        raise Stop(f"{stick} is a folder with keys: give the path of a stick, which holds none.")


def _one_disk(one: Path, other: Path) -> bool:
    try:
        return one.stat().st_dev == other.stat().st_dev
    except OSError:
        return False


def opened(folder: Path) -> Place:
    """The place of this folder. Raises Stop."""
    if not (folder / keys.FILE).is_file():
        raise Stop(f"{folder} is no folder of a place: give the one that `tapeseal enrol` or `record restore` made.")
    try:
        return signed_place_file.load_place(folder)
    except GateRefused as wrong:
        raise Stop(str(wrong)) from None
