"""Disposable tables of the desk: the current packets and their figures, laid out for sums and searches. Dropped and built again at any time.

The office's record and the packets as received are the truth; nothing is kept here that they do not hold: on a disk that takes nothing the tables
are in memory. What is added up over all places
(`sums`) is kept up packet by packet, so that a page costs the same among five thousand places as among fifty.
"""

import json
import sqlite3
import threading
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from sqlite_utils import Database

from webapp.office.questions.canvass_board import LineGap, PlaceComparison
from webapp.office.questions.desk_questions import as_rows, from_rows
from webapp.office.totals.totals import KINDS, PacketFigures
from webapp.version import VERSION

OF_PLACE = ("standings", "gaps", "figures")
FORM = f"{VERSION}/4"  # of these tables; another one is dropped
COLUMNS: dict[str, dict[str, Any]] = {
    "standings": {
        "place": str,
        "name": str,
        "room": str,
        "stamp": str,
        "number": int,
        "made": int,
        "ballots": int,
        "questions": int,
        "silent": int,
        "off": int,
        "book": int,
        "tape": int,
        "paper": int,
        "asks": str,
    },
    "gaps": {"place": str, "line": str, "gap": int, "remarked": int, "rank": int},
    "figures": {"place": str, "contest": str, "line": str, "votes": int},
    "sums": {"contest": str, "line": str, "votes": int, "places": int},
    "about": {"form": str},
}
KEYS = {
    "standings": "place",
    "gaps": ("place", "line"),
    "figures": ("place", "contest", "line"),
    "sums": ("contest", "line"),
}


class Projections:
    """The tables in `desk.db`. One writer; readers may look at the file with any SQLite tool."""

    def __init__(self, path: Path):
        self.path = Path(path)
        self._lock = threading.Lock()
        self._db = Database(sqlite3.connect(str(path), check_same_thread=False))
        try:
            self._db.conn.execute("PRAGMA journal_mode = WAL")
            self._db.conn.execute("PRAGMA synchronous = OFF")  # disposable: what a power cut takes is built again
            if not self._fits():
                self.drop()
        except sqlite3.Error:
            self._db.close()
            self._db = Database(sqlite3.connect(":memory:", check_same_thread=False))
            self.drop()

    def _fits(self) -> bool:
        try:
            return self._db.conn.execute("SELECT form FROM about").fetchall() == [(FORM,)]
        except sqlite3.Error:
            return False

    def drop(self) -> None:
        """Empties all tables."""
        with self._lock, self._db.conn:
            for table in self._db.table_names():
                self._db.conn.execute(f"DROP TABLE [{table}]")
            for table, columns in COLUMNS.items():
                self._db.table(table).create(columns, pk=KEYS.get(table))
            self._db.table("about").insert({"form": FORM})

    def match(
        self, stamps: Mapping[str, str], made: Callable[[str], tuple[PacketFigures, PlaceComparison] | None]
    ) -> None:
        """Update the tables: rows with an unchanged stamp stay, others are rebuilt."""
        with self._lock:
            known = dict(self._db.conn.execute("SELECT place, stamp FROM standings").fetchall())
        for place in known.keys() - stamps.keys():
            self.take(place)
        for place, stamp in stamps.items():
            if known.get(place) != stamp and (found := made(place)):
                self.put(*found)

    def put(self, packet: PacketFigures, standing: PlaceComparison) -> None:
        """Adds a packet, in place of any other of the same place."""

        def laid_out() -> None:
            self._take(packet.place.id)
            self._put(packet, standing)

        self._change(laid_out)

    def take(self, place: str) -> None:
        """Removes a place from the tables, and its votes from the sums."""
        self._change(lambda: self._take(place))

    def _change(self, change: Callable[[], None]) -> None:
        """All of it or nothing; in memory from now on, where the disk does not take it."""
        with self._lock:
            try:
                with self._db.conn:
                    return change()
            except sqlite3.OperationalError:
                memory = sqlite3.connect(":memory:", check_same_thread=False)
                self._db.conn.backup(memory)
                self._db.close()
                self._db = Database(memory)
            with self._db.conn:
                change()

    def _take(self, place: str) -> None:
        self._db.conn.execute(
            "UPDATE sums SET votes = sums.votes - f.votes, places = places - 1 FROM figures f WHERE f.place = ? AND f.contest = sums.contest AND f.line = sums.line",
            [place],
        )
        for table in OF_PLACE:
            self._db.conn.execute(f"DELETE FROM {table} WHERE place = ?", [place])

    def _put(self, packet: PacketFigures, one: PlaceComparison) -> None:
        core, place, run = packet.core, packet.place.id, self._db.conn.executemany
        run(
            "INSERT INTO standings VALUES (?,?,?,?,?,?,?,?,?,?,?,?,?,?)",
            [
                (
                    place,
                    one.name,
                    one.room,
                    one.stamp,
                    core["number"],
                    core["made"],
                    one.ballots,
                    one.questions,
                    one.silent,
                    len(one.off),
                    one.book,
                    one.tape,
                    one.paper,
                    json.dumps(as_rows(one.asks)),
                )
            ],
        )
        run(
            "INSERT INTO gaps VALUES (?,?,?,?,?)",
            [(place, gap.line, gap.gap, gap.remarked, rank) for rank, gap in enumerate(one.gaps)],
        )
        rows = [
            (place, contest.id, name, votes)
            for contest in packet.place.contests
            for name, votes in zip(
                [c.id for c in contest.choices] + list(KINDS), core["contests"].get(contest.id) or (), strict=False
            )
            if votes is not None
        ]
        run("INSERT INTO figures VALUES (?,?,?,?)", rows)
        run(
            "INSERT INTO sums VALUES (?,?,?,1) ON CONFLICT (contest, line) DO UPDATE SET votes = votes + excluded.votes, places = places + 1",
            [row[1:] for row in rows],
        )

    def sums(self) -> dict[tuple[str, str], int]:
        """Votes by contest and line over all current packets; a line that no place prints is not there."""
        with self._lock:
            rows = self._db.conn.execute("SELECT contest, line, votes FROM sums WHERE places > 0").fetchall()
        return {(contest, line): votes for contest, line, votes in rows}

    def of_place(self, place: str) -> dict[tuple[str, str], int]:
        """Returns the votes of a place by (contest, line)."""
        with self._lock:
            rows = self._db.conn.execute("SELECT contest, line, votes FROM figures WHERE place = ?", [place]).fetchall()
        return {(contest, line): votes for contest, line, votes in rows}

    def standings(self) -> list[PlaceComparison]:
        """Every place as it was laid out for the canvass."""
        with self._lock:
            rows = self._db.conn.execute(
                "SELECT place, name, room, stamp, ballots, questions, book, tape, paper, asks FROM standings"
            ).fetchall()
            told: dict[str, list[LineGap]] = {}
            for place, line, gap, remarked in self._db.conn.execute(
                "SELECT place, line, gap, remarked FROM gaps ORDER BY place, rank"
            ):
                told.setdefault(place, []).append(LineGap(line, gap, bool(remarked)))
        return [
            PlaceComparison(
                place,
                name,
                room,
                stamp,
                ballots,
                asked,
                book,
                tape,
                paper,
                tuple(told.get(place, ())),
                from_rows(json.loads(asks)),
            )
            for place, name, room, stamp, ballots, asked, book, tape, paper, asks in rows
        ]

    def close(self) -> None:
        """Closes the tables; nothing may be asked of them afterward."""
        self._db.close()
