"""Disposable tables of the desk: the current packets and their figures, laid out for sums and searches. Dropped and built again at any time.

The office's record and the packets as received are the truth; nothing is kept here that they do not hold.
"""

import sqlite3
import threading
from collections.abc import Iterable
from pathlib import Path

from sqlite_utils import Database

from webapp.office.canvass import Packet, ballots

TABLES = ("packets", "figures", "steps")


class Desk:
    """The tables in `desk.db`. One writer; readers may look at the file with any SQLite tool."""

    def __init__(self, path: Path):
        self.path = Path(path)
        self._lock = threading.Lock()
        self._db = Database(sqlite3.connect(str(path), check_same_thread=False))
        self._db.conn.execute("PRAGMA journal_mode = WAL")

    def rebuild(self, packets: Iterable[tuple[bytes, Packet]]) -> None:
        """All tables anew from these current packets (digest, packet)."""
        with self._lock, self._db.conn:
            for table in TABLES:
                self._db.conn.execute(f"DROP TABLE IF EXISTS {table}")
            self._db["packets"].create({"place": str, "digest": str, "number": int, "name": str, "ballots": int, "made": int}, pk="digest")
            self._db["figures"].create({"place": str, "contest": str, "line": str, "votes": int}, pk=("place", "contest", "line"))
            self._db["steps"].create({"place": str, "step": str, "at": str, "time": int, "signers": int, "flags": int})
            for digest, packet in packets:
                self._put(digest, packet)

    def put(self, digest: bytes, packet: Packet) -> None:
        """One more packet; it takes the place of any other of the same place."""
        with self._lock, self._db.conn:
            for table in TABLES:
                self._db.conn.execute(f"DELETE FROM {table} WHERE place = ?", [packet.place.id])
            self._put(digest, packet)

    def _put(self, digest: bytes, packet: Packet) -> None:
        core, place = packet.core, packet.place.id
        self._db["packets"].insert({"place": place, "digest": digest.hex(), "number": core["number"], "name": packet.place.name, "ballots": ballots(core), "made": core["made"]}, replace=True)
        rows = []
        for contest in packet.place.contests:
            row = core["contests"].get(contest.id)
            names = [c.id for c in contest.choices] + ["write_in", "under", "over", "ballots"]
            rows += [{"place": place, "contest": contest.id, "line": name, "votes": votes} for name, votes in zip(names, row or (), strict=False) if votes is not None]
        self._db["figures"].insert_all(rows, replace=True)
        self._db["steps"].insert_all({"place": place, "step": s[0], "at": s[1] or "", "time": s[2], "signers": len(s[3]), "flags": s[4]} for s in core["steps"])

    def sums(self) -> dict[tuple[str, str], int]:
        """Votes by contest and line over all current packets."""
        with self._lock:
            rows = self._db.conn.execute("SELECT contest, line, sum(votes) FROM figures GROUP BY contest, line").fetchall()
        return {(contest, line): votes for contest, line, votes in rows}

    def of_place(self, place: str) -> dict[tuple[str, str], int]:
        with self._lock:
            rows = self._db.conn.execute("SELECT contest, line, votes FROM figures WHERE place = ?", [place]).fetchall()
        return {(contest, line): votes for contest, line, votes in rows}

    def close(self) -> None:
        self._db.close()
