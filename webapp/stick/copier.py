"""Copies a record to a stick, entry by entry: what is new is written in one write and one fsync, and only then counts as being there.

This runs in a process of its own, so that a stick that hangs in the system hangs nobody. It keeps no queue: what is not on the stick
yet is read from the record again. A file that an earlier start or an error left behind is never added to.
"""

import os
import secrets
import shutil
import tempfile
from collections.abc import Callable
from dataclasses import dataclass, field
from hashlib import sha256
from pathlib import Path

from webapp.record.backup import copy_whole, heads_of, last_number, stored_after
from webapp.record.chain import first_head
from webapp.record.entry import Entry
from webapp.record.refusals import RecordRefused
from webapp.stick import disk
from webapp.stick.folder import PLACE_FILE, READ_ME, SNAPSHOTS, STICK_ID, folder_name, read_segments, record_as_segment
from webapp.stick.history import common, goes_on, joined
from webapp.stick.segment import Header, pack_entry, pack_header

AT_A_LOOK = 500  # entries in one write
IN_A_SEGMENT = 1000
LITTLE = 64 * 1024 * 1024  # bytes free, below which the start says so
OFFICE_FILE, KEYS = "office.toml", "keys.cbor"
TREES = (
    "in",
    "places",
    "tests",
    "editions",
    "editions-sealed",
    "desks",
)  # of an office's folder; nothing in them changes once it is there
WAITING = "waiting-"  # begins the name of a packet that lacks a signature
CHECK_WORDS = "check-words"  # after these a whole copy is made
ISSUED = "places"  # of two place files of one place the newer is told by its time
FAT_TIME = 2_000_000_000  # ns between two times that a FAT stick can tell apart


@dataclass(frozen=True, slots=True)
class CopyTask:
    """What is to be copied where. digest: 32 bytes. packets: the folder whose files go along, "" for none.

    beside: the office's folder, whose packets, place files, editions and public keys go along, "" at a place.
    """

    record: Path
    record_id: bytes
    stick: Path
    what: str
    id: str
    mode: str
    digest: bytes
    version: str
    read_me: str = ""
    place_file: str = ""
    packets: str = ""
    beside: str = ""

    @property
    def named(self) -> str:
        """How the files of this start are called that may differ from start to start."""
        return self.digest.hex()[:16]


@dataclass(slots=True)
class Copier:
    """`look` brings the stick up to the record. Afterward `state` and `number` say how far it is, `why` is a reason for people.

    state: "on", "gone", "full", "unwritable" or "other-history". run, number, head: of the last entry that is on the
    stick. before_sync: a delay that tests put before each fsync.
    """

    task: CopyTask
    now: Callable[[], int]
    before_sync: Callable[[], None] = lambda: None
    state: str = "gone"
    run: int = 1
    number: int = 0
    head: bytes = b""
    stick: bytes = b""
    why: str = ""
    little: bool = False
    _segment: disk.OpenSegment | None = field(default=None, repr=False)
    _in_segment: int = 0
    _found: bool = False
    _device: int | None = None
    _packets_seen: int = 0

    def copy_new(self) -> bool:
        """Copies what is new; whether anything was. An error of the stick ends in its state, never in an exception."""
        try:
            if not self._found:
                self._find()
            if self.state != "on":
                return False
            return self._copy()
        except OSError as wrong:
            self._lose(disk.state_of(wrong), wrong.strerror or "")
        except RecordRefused as wrong:
            self.why = str(wrong)  # the record itself cannot be read just now: the next look tries again
        return False

    def check(self) -> None:
        """Notice a stick that was pulled or changed for another while nothing was written."""
        if self._found and (self._stick_id() != self.stick or not (self._segment is None or self._segment.is_there())):
            self._lose("gone", "")

    def _stick_id(self) -> bytes:
        try:
            return (self.folder / STICK_ID).read_bytes()[:16]
        except OSError:
            return b""

    @property
    def folder(self) -> Path:
        return self.task.stick / folder_name(self.task.id, self.task.record_id)

    def _find(self) -> None:
        """Looks whether a stick is there, reads its files, and continues after its last right entry."""
        if not self.task.stick.is_dir() or not self._another_disk():
            return self._lose("gone", "")
        self.folder.mkdir(exist_ok=True)
        disk.put_new(self.folder / STICK_ID, secrets.token_bytes(16))
        self.stick = self._stick_id()
        segments, _ = read_segments(self.folder)
        history = joined(self.task.record_id, [one for one in segments if one.header.record_id == self.task.record_id])
        heads = heads_of(self.task.record)
        if not goes_on(history, heads):
            return self._lose("other-history", f"the stick has another entry {common(history, heads) + 1}")
        self.number = common(history, heads)
        self.run = next((one.run for one in history.entries if one.stored.number == self.number), 1)
        self.head = heads[self.number] if self.number else first_head(self.task.record_id)
        self._lay_beside()
        self.little = shutil.disk_usage(self.task.stick).free < LITTLE
        self.state, self.why, self._found = "on", "", True

    def _another_disk(self) -> bool:
        """A stick that was pulled may leave its empty folder on the laptop's own disk: what once was another disk stays one."""
        device = os.stat(self.task.stick).st_dev
        own = os.stat(self.task.record).st_dev
        if self._device is not None and self._device != own and device == own:
            return False
        self._device = device
        return True

    def _lay_beside(self) -> None:
        """The place file and the note what this is, each once; packets as they come."""
        if self.task.read_me:
            disk.put_new(self.folder / READ_ME, self.task.read_me.encode())
        if self.task.place_file:
            disk.put_new(self.folder / PLACE_FILE, Path(self.task.place_file).read_bytes())
        self._packets()
        self._office()

    def _office(self) -> None:
        """What an office needs besides its record, each file once; what may change goes under a name of its own."""
        if not self.task.beside:
            return
        office = Path(self.task.beside)
        for name, digest in ((OFFICE_FILE, self.task.named), (KEYS, "")):
            data = (office / name).read_bytes()
            stem, _, end = name.partition(".")
            disk.put_new(self.folder / f"{stem}-{digest or sha256(data).hexdigest()[:16]}.{end}", data)
        for tree in TREES:
            for file in sorted((office / tree).rglob("*"), key=_age if tree == ISSUED else None):
                target = self.folder / file.relative_to(office)
                if file.is_file() and not target.exists():
                    target.parent.mkdir(parents=True, exist_ok=True)
                    disk.put_new(target, file.read_bytes())
                    made = file.stat().st_mtime_ns
                    os.utime(target, ns=(_behind_its_like(target, made) if tree == ISSUED else made,) * 2)

    def _packets(self) -> None:
        """Signed packets and the files that travel with them. One that still waits for a signature has no number yet and may lapse."""
        source = Path(self.task.packets) if self.task.packets else None
        if source is None or not source.is_dir():
            return
        self._packets_seen = source.stat().st_mtime_ns  # before the look: what comes meanwhile is found at the next
        for file in sorted((*source.glob("*.cose"), *source.glob("*.csv"))):
            if not file.name.startswith(WAITING):
                (self.folder / "packet").mkdir(exist_ok=True)
                disk.put_new(self.folder / "packet" / file.name, file.read_bytes())

    def _new_packets(self) -> bool:
        """Whether a packet got its number, or one was made, since the last look."""
        source = Path(self.task.packets) if self.task.packets else None
        return source is not None and source.is_dir() and source.stat().st_mtime_ns != self._packets_seen

    def _copy(self) -> bool:
        stored = stored_after(self.task.record, self.number, AT_A_LOOK)
        if not stored:
            if self._new_packets():  # its last signature is an entry that was copied before the file had its number
                self._packets()
            return False
        kinds = [(entry.run, entry.kind) for entry in (Entry.unpack(one.data) for one in stored)]
        data = b"".join(map(pack_entry, stored))
        if self._segment is None or self._in_segment >= IN_A_SEGMENT:
            self._close()
            self._segment = disk.OpenSegment(self.folder, kinds[0][0], stored[0].number)
            self._in_segment = 0
            data = pack_header(self._header(kinds[0][0])) + data
        self.before_sync()
        self._segment.add(data)
        self._in_segment += len(stored)
        self.run, self.number, self.head = kinds[-1][0], stored[-1].number, stored[-1].head
        if any(kind == CHECK_WORDS for _, kind in kinds):
            self.snapshot()
        self._packets()
        self._office()
        return True

    def _header(self, run: int) -> Header:
        task = self.task
        return Header(
            task.record_id,
            task.what,
            task.id,
            task.mode,
            run,
            self.number,
            self.head,
            task.digest,
            self.now(),
            task.version,
            self.stick,
        )

    def snapshot(self) -> None:
        """Writes a whole, checked copy of the record over the older of the two on the stick."""
        if self.state != "on":
            return
        try:
            with tempfile.TemporaryDirectory(prefix="stick-", ignore_cleanup_errors=True) as place:
                copy = Path(place) / "copy.db"
                copy_whole(self.task.record, copy)
                whole = record_as_segment(copy)
                if (
                    whole.entries and whole.entries[-1].stored.number >= self.number
                ):  # a copy that does not check is no backup
                    self._put(copy)
        except (OSError, RecordRefused) as wrong:
            self.why = f"No whole copy was made: {wrong}"  # of the laptop's own disk; the entries are on the stick all the same

    def _put(self, copy: Path) -> None:
        try:
            disk.put_over(copy, self._older())
            self._close()
        except OSError as wrong:
            self._lose(disk.state_of(wrong), wrong.strerror or "")

    def _older(self) -> Path:
        """The snapshot that is missing, cannot be read or ends first. Its time tells nothing: a FAT stick keeps it to two seconds, and clocks are set back."""
        return min((self.folder / name for name in SNAPSHOTS), key=_ends_at)

    def _close(self) -> None:
        """The next entry begins a new segment."""
        if self._segment is not None:
            self._segment.close()
        self._segment, self._in_segment = None, 0

    def _lose(self, state: str, why: str) -> None:
        self._close()
        self.state, self.why, self._found = state, why, False


def _age(file: Path) -> tuple[int, str]:
    """By when it was written (ns), then by name: the order in which an office takes its place files."""
    return file.stat().st_mtime_ns, file.name


def _behind_its_like(target: Path, made: int) -> int:
    """A time (ns) later than that of every place file of this place on the stick, also on a FAT stick."""
    like = target.parent.glob(f"{target.name.rpartition('-')[0]}-*{target.suffix}")
    there = [one.stat().st_mtime_ns for one in like if one != target]
    return max([made, *(at - at % FAT_TIME + FAT_TIME for at in there)])


def _ends_at(snapshot: Path) -> int:
    """Number of the last entry in a whole copy; -1 where it is missing or cannot be read."""
    try:
        return last_number(snapshot) if snapshot.exists() else -1
    except RecordRefused:
        return -1
