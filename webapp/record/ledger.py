"""The only writer of records: an act goes in, an entry with a number comes out, and the number means "on the disk".

One writer a record, one lock a writer, one commit a page: either every act of a page is kept or none is. A tablet that heard no
answer sends the same again and gets the same number.
"""

import os
import sqlite3
import threading
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path
from uuid import uuid4

from webapp.record.chain import leaf, next_head
from webapp.record.entry import RESTORED, Act, Entry, Malformed, quarter_hour
from webapp.record.lock import Lock
from webapp.record.reader import Newest, Reader, connect
from webapp.record.refusals import SAID, Refused, gone, in_words

__all__ = ["Ledger", "Refused"]


@dataclass(frozen=True, slots=True)
class _Line:
    """An entry ready to be kept: its bytes, the head before and after it, and the words beside it."""

    entry: Entry
    data: bytes
    prev: bytes
    head: bytes
    act: Act


class Ledger(Reader):
    """One record, open for adding. `coarse` names the kinds whose times are kept to the quarter hour only."""

    def __init__(self, path: Path, coarse: frozenset[str], lock: Lock):
        self._lock = lock
        self._coarse = coarse
        self._writing = threading.Lock()
        super().__init__(path)
        try:
            self._db = connect(self.path, "rw")
            for setting in ("journal_mode = WAL", "synchronous = FULL", "fullfsync = 1", "checkpoint_fullfsync = 1"):
                self._db.execute(f"PRAGMA {setting}")
            self._db.execute("SELECT count(*) FROM record").fetchone()  # makes the -wal file, which must not vanish later
            self._places = self._inodes()
            self._end_holds()
        except (*SAID, OSError) as wrong:
            raise in_words(wrong, self.path) from wrong
        self._newest = super().newest
        self._kept = self._last_kept()
        self._sure = True

    @classmethod
    def create(cls, path: str | Path, record_id: bytes | None = None, coarse: frozenset[str] = frozenset()) -> "Ledger":
        """A new, empty record at `path`, open for adding. Raises Refused where a file of that name is."""
        path = Path(path).resolve()
        lock = Lock(path)
        try:
            if path.exists():
                raise Refused(f"There is a record at {path.name} already. Open it, or give another name; none is overwritten.")
            _lay_down(path, uuid4().bytes if record_id is None else record_id)
            return cls(path, coarse, lock)
        except (*SAID, OSError) as wrong:
            lock.let_go()
            raise in_words(wrong, path) from wrong
        except Refused:
            lock.let_go()
            raise

    @classmethod
    def open(cls, path: str | Path, coarse: frozenset[str] = frozenset()) -> "Ledger":
        """The record at `path`, open for adding. Raises Refused where there is none or another program has it open."""
        path = Path(path).resolve()
        if not path.is_file():
            raise Refused(f"There is no record at {path.name}. Give the path of a record.db.")
        lock = Lock(path)
        try:
            return cls(path, coarse, lock)
        except Refused:
            lock.let_go()
            raise

    @classmethod
    def read_only(cls, path: str | Path) -> Reader:
        """The record at `path` for looking only, also while another process serves it."""
        return Reader(path)

    def append(self, *acts: Act, now: int) -> tuple[Entry, ...]:
        """Keep all these acts in one durable commit and give their entries, in order; or raise Refused and keep none.

        now: the laptop's clock, ms UTC. An act whose claim is kept already gives the entry it has.
        """
        with self._writing:
            if self._shut:
                raise Refused(f"{self.path.name} has been closed. Open it again to add to it.")
            try:
                if not self._sure:
                    self._newest, self._kept, self._sure = super().newest, self._last_kept(), True
                entries, lines = self._prepare(acts, now)
                if lines:
                    self._commit(lines)
            except Malformed as wrong:
                raise Refused(f"This cannot be kept as it is: {wrong}.") from wrong
            except SAID as wrong:
                raise in_words(wrong, self.path) from wrong
            return entries

    @property
    def newest(self) -> Newest:
        """Run, number and head of the last entry that is on the disk."""
        return self._newest

    def close(self) -> None:
        """Bring everything into the one file, and let others open it."""
        with self._writing:
            if self._shut:
                return
            super().close()
            try:
                # Out of WAL mode at rest: a copy that still says WAL was taken from an open record, and the checker can say so.
                self._db.execute("PRAGMA journal_mode = DELETE")
            except sqlite3.Error:
                pass  # someone else is looking; what is in the -wal is as durable as the file
            finally:
                self._db.close()
                self._lock.let_go()

    def _prepare(self, acts: tuple[Act, ...], now: int) -> tuple[tuple[Entry, ...], list[_Line]]:
        """The entries these acts become or already are, and the new lines among them."""
        entries: list[Entry] = []
        lines: list[_Line] = []
        top = self._newest
        for act in acts:
            known = self.find(act.claim.id) or next((line.entry for line in lines if line.entry.id == act.claim.id), None)
            if known is not None:
                if act.claim.digest(act.claim.kind in self._coarse) != known.claim_digest:
                    raise Refused(f"Already entry {known.number}, with other figures. To change it, correct {known.number}.")
                entries.append(known)
                continue
            line = self._line(act, top, now)
            self._new_line_of_tablet(act, lines)
            top = Newest(line.entry.run, line.entry.number, line.head)
            lines.append(line)
            entries.append(line.entry)
        return tuple(entries), lines

    def _new_line_of_tablet(self, act: Act, lines: list[_Line]) -> None:
        claim = act.claim
        if claim.seq == 0:
            return
        taken = next((line.entry.number for line in lines if (line.entry.tablet, line.entry.seq) == (claim.tablet, claim.seq)), None)
        if taken is None:
            row = self._db.execute("SELECT number FROM entries WHERE tablet = ? AND seq = ? AND seq > 0", (claim.tablet, claim.seq)).fetchone()
            taken = row and row[0]
        if taken is not None:
            raise Refused(f"Line {claim.seq} of tablet {claim.tablet} is already entry {taken}. Give this one the tablet's next line number.")

    def _line(self, act: Act, top: Newest, now: int) -> _Line:
        claim, rough = act.claim, act.claim.kind in self._coarse
        for name, text in claim.words.items():
            if type(text.salt) is not bytes or len(text.salt) != 16 or type(text.text) is not str:
                raise Malformed(f'the words "{name}" need a text and a salt of 16 bytes')
        clock = quarter_hour if rough else _fine
        entry = Entry(
            self.record_id, top.run + (claim.kind == RESTORED), top.number + 1, claim.id, claim.kind, claim.full_body, clock(act.made), clock(claim.happened),
            clock(max(now, self._kept)), 0 if rough else act.offset, claim.tablet, claim.seq, act.holder, act.signers,
        )  # fmt: skip
        data = entry.pack()
        # Read back by the strict reader before it is kept: nothing goes in that cannot come out.
        return _Line(Entry.unpack(data), data, top.head, next_head(top.head, top.number + 1, leaf(data)), act)

    def _commit(self, lines: list[_Line]) -> None:
        if not self._places or self._inodes() != self._places:
            raise gone(self.path)
        self._db.execute("BEGIN IMMEDIATE")
        try:
            for line in lines:
                e = line.entry
                self._db.execute(
                    "INSERT INTO entries (number, entry, prev, head, tablet, seq, id) VALUES (?, ?, ?, ?, ?, ?, ?)",
                    (e.number, line.data, line.prev, line.head, e.tablet, e.seq, e.id),
                )
                for name, text in line.act.claim.words.items():
                    self._db.execute(
                        "INSERT INTO words (line, text, salt, name, number) "
                        "VALUES ((SELECT coalesce(max(line), 0) + 1 FROM words), ?, ?, ?, ?)",
                        (text.text, text.salt, name, e.number),
                    )
            self._db.execute("COMMIT")
        except BaseException:
            self._sure = False  # cut off at this point, it may stand on the disk after all
            if self._db.in_transaction:
                self._db.execute("ROLLBACK")
            raise
        last = lines[-1]
        self._newest = Newest(last.entry.run, last.entry.number, last.head)
        self._kept = max([self._kept, *(line.entry.kept for line in lines if line.entry.kind not in self._coarse)])

    def _end_holds(self) -> None:
        """Raises Refused where the last entry and its head do not agree: nothing is added to a broken chain."""
        row = self._db.execute("SELECT number, entry, prev, head FROM entries ORDER BY number DESC LIMIT 1").fetchone()
        if row and next_head(row[2], row[0], leaf(row[1])) != row[3]:
            raise Refused(f"Entry {row[0]} of {self.path.name} and its head do not agree. Nothing is added to it: keep the file as it is, "
                          f"run `tapeseal record verify` on it, and go on with the backup.")  # fmt: skip

    def _last_kept(self) -> int:
        """The clock of the last entry that carries a fine time: kept never goes behind it."""
        for (data,) in self._db.execute("SELECT entry FROM entries ORDER BY number DESC"):
            entry = self._unpack(data)
            if entry.kind not in self._coarse:
                return entry.kept
        return 0

    def _inodes(self) -> tuple[tuple[int, int], ...]:
        """Which files on which disks these are: SQLite would go on writing into files that nobody can find any more."""
        try:
            seen = (os.stat(self.path), os.stat(f"{self.path}-wal"))
        except FileNotFoundError:
            return ()
        return tuple((file.st_dev, file.st_ino) for file in seen)


def _fine(ms: int) -> int:
    return ms


def _lay_down(path: Path, record_id: bytes) -> None:
    """Write an empty record and put it in place whole: a crash half way leaves no half record under its name."""
    if type(record_id) is not bytes or len(record_id) != 16:
        raise Refused("A record's id has 16 bytes.")
    draft = path.with_name(path.name + "-new")
    draft.unlink(missing_ok=True)
    db = connect(draft, "rwc")
    try:
        db.execute("PRAGMA synchronous = FULL")
        db.executescript("BEGIN;" + files("webapp.record").joinpath("schema.sql").read_text("utf-8"))
        db.execute("INSERT INTO record (one, record_id) VALUES (1, ?)", (record_id,))
        db.execute("COMMIT")
    finally:
        db.close()
    os.rename(draft, path)
    if os.name != "nt":
        folder = os.open(path.parent, os.O_RDONLY)
        try:
            os.fsync(folder)
        finally:
            os.close(folder)


