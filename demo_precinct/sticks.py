"""Sticks at a rehearsal: each place's record is copied as its day goes on, and what lies on the stick in the end is held against the place's folder."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from webapp.commands.recovery import saved_folder
from webapp.precinct.place.place import Place
from webapp.record.backup import record_id_of, stored_after
from webapp.stick.backup_process import BackupProcess
from webapp.stick.folder import PLACE_FILE, READ_ME, SNAPSHOTS, STICK_ID, chosen, read_folder

PATIENCE = 60.0  # seconds: a rehearsal plays many places at once, and no voter waits for it
MAY_LIE_THERE = re.compile(
    "|".join(
        (
            *map(re.escape, (STICK_ID, PLACE_FILE, READ_ME, *SNAPSHOTS)),
            r"entries-\d+-\d+-\d+\.cborseq",
            r"packet/\d+\.cose",
        )
    )
)


@dataclass(frozen=True)
class OnStick:
    """What one place's stick holds at the end. behind: entries of the record that are not on it. says: a sentence for each thing that is wrong."""

    place: str
    entries: int
    behind: int
    says: tuple[str, ...]


def copying(folder: Path, place: Place, stick: Path) -> BackupProcess:
    """The process that copies this place's record to the stick from now on."""
    stick.mkdir(parents=True, exist_ok=True)
    return BackupProcess(saved_folder.task_for(folder, place, stick))


def looked_over(folder: Path, place: Place, stick: Path) -> OnStick:
    """Every entry, both whole copies, the packets, and nothing else: entry by entry and file by file."""
    record = folder / saved_folder.RECORD
    kept = {one.number: one.data for one in stored_after(record, 0, 1_000_000)}
    found = chosen(stick, record_id_of(record).hex()[:8])
    there = {one.stored.number: one.stored.data for one in read_folder(found).history.entries}
    wrong = [f"Entry {number} on the stick is another." for number in there if kept.get(number) != there[number]]
    names = [path.relative_to(found).as_posix() for path in found.rglob("*") if path.is_file()]
    wrong += [f"{name} does not belong on the stick." for name in names if not MAY_LIE_THERE.fullmatch(name)]
    wrong += [f"{name} is not on the stick." for name in (*SNAPSHOTS, PLACE_FILE, STICK_ID) if name not in names]
    packets = [path for path in (folder / "packet").glob("*.cose") if not path.name.startswith("waiting-")]
    wrong += [
        f"Packet {path.name} is not on the stick."
        for path in packets
        if not (found / "packet" / path.name).is_file()
        or (found / "packet" / path.name).read_bytes() != path.read_bytes()
    ]
    behind = len(kept.keys() - there.keys())
    if behind:
        wrong.append(f"{behind} entries are not on the stick.")
    return OnStick(place.id, len(there), behind, tuple(wrong[:5]))


def summed(found: Sequence[OnStick]) -> dict[str, int]:
    """`sticks` of the rehearsal's report."""
    return {
        "places": len(found),
        "entries": sum(one.entries for one in found),
        "behind": sum(one.behind for one in found),
    }
