"""Ballots the tabulator handed back, as taps: how many in an hour, by message and outcome, and never when within it.

They enter the record once an hour or with a reading. `take` sets an hour's taps aside under an entry id fixed there and then, so that a
retry after a crash appends the same entry and the record answers with the number it has; `clear` drops them once the entry is kept.
Taps that come meanwhile wait for the next `take`.
"""

import secrets
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from webapp.gate.database import GateDatabase
from webapp.gate.refusals import GateRefused

QUARTER = 15 * 60 * 1000  # ms: hours of every zone begin on one


@dataclass(frozen=True, slots=True)
class TakenHour:
    """One hour's taps on their way into the record: `counts` = {(message, outcome): n}, `entry_id` a UUIDv4 of 16 bytes."""

    hour: int
    entry_id: bytes
    counts: dict[tuple[str, str], int]


class Tallies:
    """Counts taps by hour, message and outcome in `gate.db`. An hour is named by its first ms (UTC)."""

    def __init__(self, drawer: GateDatabase):
        self._drawer = drawer

    def tap(self, message: str, outcome: str, hour: int, once: bytes = b"") -> int:
        """Counts one more ballot handed back in the hour that starts here (ms UTC); returns how many of this kind now wait.

        once: the tap's own random id; a tap that comes again with it, because its answer was lost, is counted once.
        Raises ValueError for an hour that begins at no quarter hour.
        """
        if hour % QUARTER:
            raise ValueError("an hour's start, in ms UTC: nothing finer is kept here")
        with self._drawer.change() as db:
            if once and not db.execute("INSERT INTO tapped VALUES (?) ON CONFLICT DO NOTHING", (once,)).rowcount:
                return self.of(hour).get((message, outcome), 0)
            db.execute(
                "INSERT INTO taps VALUES (?, ?, ?, 1) ON CONFLICT DO UPDATE SET count = count + 1",
                (hour, message, outcome),
            )
            return db.execute(
                "SELECT count FROM taps WHERE hour = ? AND message = ? AND outcome = ?", (hour, message, outcome)
            ).fetchone()[0]

    def tapped(self, once: bytes) -> bool:
        """Whether the tap of this id was counted."""
        return self._drawer.row("SELECT 1 FROM tapped WHERE id = ?", once) is not None

    def untap(self, message: str, outcome: str, hour: int, once: bytes = b"") -> None:
        """Take one back. Raises GateRefused where none waits: what the record holds is corrected there."""
        with self._drawer.change() as db:
            if once and not db.execute("INSERT INTO tapped VALUES (?) ON CONFLICT DO NOTHING", (once,)).rowcount:
                return
            if not db.execute(
                "UPDATE taps SET count = count - 1 WHERE hour = ? AND message = ? AND outcome = ? AND count > 0",
                (hour, message, outcome),
            ).rowcount:
                raise GateRefused(
                    "There is nothing left to take back in this hour: its taps are in the record. Correct that entry instead."
                )

    def of(self, hour: int) -> dict[tuple[str, str], int]:
        """The taps of this hour that are not in the record yet, set aside or not."""
        return dict(
            _pairs(
                self._drawer.rows(
                    "SELECT message, outcome, sum(count) FROM (SELECT * FROM taps UNION ALL SELECT * FROM taken_taps) "
                    "WHERE hour = ? GROUP BY 1, 2 HAVING sum(count) > 0 ORDER BY 1, 2",
                    hour,
                )
            )
        )

    def hours(self) -> tuple[int, ...]:
        """The hours with taps that are not in the record yet, the oldest first."""
        return tuple(
            hour
            for (hour,) in self._drawer.rows(
                "SELECT hour FROM taps WHERE count > 0 UNION SELECT hour FROM taken_hours ORDER BY hour"
            )
        )

    def take(self, hours: Iterable[int]) -> dict[int, TakenHour]:
        """Set the taps of these hours aside for the record. An hour that is aside already is given again as it was, id and all."""
        wanted = sorted(set(hours))
        with self._drawer.change() as db:
            for hour in wanted:
                if db.execute("SELECT 1 FROM taken_hours WHERE hour = ?", (hour,)).fetchone():
                    continue
                if db.execute("SELECT 1 FROM taps WHERE hour = ? AND count > 0", (hour,)).fetchone():
                    db.execute(
                        "INSERT INTO taken_hours VALUES (?, ?)",
                        (hour, UUID(bytes=secrets.token_bytes(16), version=4).bytes),
                    )
                    db.execute("INSERT INTO taken_taps SELECT * FROM taps WHERE hour = ? AND count > 0", (hour,))
                    db.execute("DELETE FROM taps WHERE hour = ?", (hour,))
        return {hour: taken for hour in wanted if (taken := self._aside(hour))}

    def _aside(self, hour: int) -> TakenHour | None:
        row = self._drawer.row("SELECT entry_id FROM taken_hours WHERE hour = ?", hour)
        counts = self._drawer.rows("SELECT message, outcome, count FROM taken_taps WHERE hour = ? ORDER BY 1, 2", hour)
        return TakenHour(hour, row[0], dict(_pairs(counts))) if row else None

    def clear(self, hours: Iterable[int]) -> None:
        """The entries of what was set aside are kept: drop it. Taps that came since stay."""
        with self._drawer.change() as db:
            db.executemany("DELETE FROM taken_hours WHERE hour = ?", [(hour,) for hour in hours])


def _pairs(rows: Iterable[tuple[Any, ...]]) -> Iterable[tuple[tuple[str, str], int]]:
    return (((message, outcome), count) for message, outcome, count in rows)
