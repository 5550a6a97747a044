"""The folder of one record on a stick: what its files are called, and reading all of it back into one history.

Nothing here writes. A file that cannot be read, or is no file of entries, is named and passed over; the rest is read all the same.
"""

import re
from dataclasses import dataclass, replace
from pathlib import Path

from webapp import plain_file
from webapp.record.backup import StoredEntry, last_number, record_id_of, stored_after
from webapp.record.chain import first_head
from webapp.record.entry import Entry
from webapp.record.refusals import RecordRefused
from webapp.stick.history import History, joined
from webapp.stick.segment import Header, NotASegment, Segment, linked, read_segment

PREFIX = "tapeseal-"
STICK_ID = "stick-id"
PLACE_FILE = "place.cose"
SNAPSHOTS = ("snapshot-a.db", "snapshot-b.db")
READ_ME = "READ-ME.txt"
LARGEST = 256 * 1024**2  # bytes of one file; a night has 140 kB
_SEGMENT = re.compile(r"entries-(\d+)-(\d+)-(\d+)\.cborseq")


class UnreadableStick(Exception):
    """There is nothing here to read back: one sentence with what to give instead."""


@dataclass(frozen=True, slots=True)
class StickFound:
    """What the folder of one record holds. header: of its first readable segment. passed_over: files that could not be read.

    source: "stick", or "snapshot" where a whole copy went further or filled a hole. stick: 16 bytes, b"" where its file is gone.
    """

    path: Path
    header: Header
    history: History
    source: str
    stick: bytes
    passed_over: tuple[str, ...] = ()

    @property
    def opened_with(self) -> bytes:
        """The digest of the place file that the record's first entry names; b"" where it names none."""
        first = self.history.entries[:1]
        return bytes(Entry.unpack(first[0].stored.data).body.get("place_digest", b"")) if first else b""


def folder_name(id: str, record_id: bytes) -> str:
    """`tapeseal-HM4-57555458`: the place's id and the first 8 hex digits of the record's."""
    return f"{PREFIX}{id}-{record_id[:4].hex()}"


def segment_name(run: int, number: int, counter: int) -> str:
    """Name of a segment by the run and number of its first entry; the counter keeps any name from being used twice."""
    return f"entries-{run}-{number:06d}-{counter}.cborseq"


def segment_files(folder: Path) -> list[Path]:
    """Its files of entries, by run, number and counter."""
    found = [
        (tuple(map(int, match.groups())), path) for path in folder.iterdir() if (match := _SEGMENT.fullmatch(path.name))
    ]
    return [path for _, path in sorted(found)]


def top_of(path: Path) -> Path:
    """The stick itself, also where the folder of a record on it was given."""
    return path.parent if path.name.startswith(PREFIX) and (path / STICK_ID).is_file() else path


def folders_at(path: Path) -> list[Path]:
    """The folders of records at this path: the path itself where it is one, else those below it."""
    try:
        if (path / STICK_ID).is_file() or segment_files(path):
            return [path]
        return sorted(one for one in path.iterdir() if one.name.startswith(PREFIX) and one.is_dir())
    except OSError as wrong:
        raise UnreadableStick(
            f"{path} cannot be read ({wrong.strerror}): put the stick in, and give its path or the folder on it."
        ) from None


def chosen(path: Path, record: str = "") -> Path:
    """The one folder at this path, by the first digits of its record's id where there are several. Raises Unreadable."""
    found = [one for one in folders_at(path) if one.name.endswith(record.lower()) or not record]
    if len(found) == 1:
        return found[0]
    if not found:
        raise UnreadableStick(
            f"{path} holds no backup{f' of a record {record}' if record else ''}: look for a folder named {PREFIX}PLACE-RECORD on another stick."
        )
    names = ", ".join(f"{one.name.rpartition('-')[2]} ({one.name})" for one in found)
    raise UnreadableStick(f"{path} holds the backups of {len(found)} records: say which with --record, one of {names}.")


def read_folder(folder: Path) -> StickFound:
    """Everything that can be read in this folder. Raises Unreadable where it holds not one readable file of entries or snapshot."""
    segments, passed_over = read_segments(folder)
    copies = [folder / name for name in SNAPSHOTS if (folder / name).is_file()]
    stick = _stick_id(folder)
    if not segments and not (segments := _of_snapshots(copies, stick, passed_over)):
        raise UnreadableStick(
            f"{folder} holds nothing that can be read back{': ' + ', '.join(passed_over) if passed_over else ''}. Try the other stick, and keep this one."
        )
    first = segments[0].header
    history = joined(first.record_id, [one for one in segments if one.header.record_id == first.record_id])
    source = "snapshot" if segments[0].name in SNAPSHOTS else "stick"
    if source == "stick" and (history.apart or any(_last_of(one) > history.end.number for one in copies)):
        wider = joined(
            first.record_id,
            [
                *segments,
                *(
                    replace(one, torn=0)
                    for one in _of_snapshots(copies, stick, passed_over)
                    if one.header.record_id == first.record_id
                ),
            ],
        )
        if wider.end.number > history.end.number:
            history, source = wider, "snapshot"
    return StickFound(folder, first, history, source, stick, tuple(passed_over))


def read_segments(folder: Path) -> tuple[list[Segment], list[str]]:
    """Its files of entries in order, and the names of those that cannot be read. Raises Unreadable where the folder cannot be listed."""
    segments, passed_over = [], []
    try:
        files = segment_files(folder)
    except OSError as wrong:
        raise UnreadableStick(
            f"{folder} cannot be read ({wrong.strerror}): put the stick in, and give its path or the folder on it."
        ) from None
    for path in files:
        try:
            segments.append(read_segment(plain_file.read(path, LARGEST), path.name))
        except (NotASegment, OSError):
            passed_over.append(path.name)
    return segments, passed_over


def record_as_segment(
    path: Path, stick: bytes = bytes(16), what: str = "place", id: str = "", mode: str = ""
) -> Segment:
    """All right entries of a record's file, as one segment from the first on. Raises RecordRefused where it is no record."""
    record_id = record_id_of(path)
    stored: list[StoredEntry] = []
    while more := stored_after(path, stored[-1].number if stored else 0, 1000):
        stored += more
    head = first_head(record_id)
    header = Header(record_id, what, id, mode, 1, 0, head, bytes(32), 0, "", stick)
    return Segment(header, tuple(linked(record_id, stored, 1, 0, head)), 0, path.name)


def _of_snapshots(copies: list[Path], stick: bytes, passed_over: list[str]) -> list[Segment]:
    found = []
    for path in copies:
        try:
            found.append(record_as_segment(path, stick))
        except RecordRefused:
            passed_over.append(path.name)
    return sorted(found, key=lambda one: -len(one.entries))


def _last_of(copy: Path) -> int:
    """Number of the last entry that a snapshot claims; 0 where it cannot be read."""
    try:
        return last_number(copy)
    except RecordRefused:
        return 0


def _stick_id(folder: Path) -> bytes:
    try:
        data = plain_file.read(folder / STICK_ID, 1024)
    except OSError:
        return b""
    return data if len(data) == 16 else b""
