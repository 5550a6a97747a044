"""Keeps the copying process running, and an entry `stick` whenever its state changed: at most one a minute, so that a loose plug cannot fill the record."""

import time
from collections.abc import Callable
from typing import Any, Protocol

from webapp.stick.backup_process import BackupProcess, StickStatus

PAUSE = 60.0  # seconds between two entries


class Says(Protocol):
    def laptop_says(self, kind: str, body: dict[str, Any]) -> object: ...


class StickWatch:
    """Records changes of the stick; `tick` runs every few seconds. A change is recorded with the number that is on the stick by then."""

    def __init__(self, room: Says, backup: BackupProcess, seconds: Callable[[], float] = time.monotonic):
        self._room, self._backup, self._seconds = room, backup, seconds
        self._known = StickStatus()
        self._last = float("-inf")

    def follow(self, backup: BackupProcess) -> None:
        """Watches another copying process, which copies to another path, from now on."""
        self._backup = backup

    def tick(self) -> None:
        """Restarts the copying process if it ended, and records `stick` when the stick or its state changed, once a minute at most."""
        self._backup.keep_running()
        status, before = self._backup.status, self._known
        if status.state == "looking" or (status.state, status.stick) == (before.state, before.stick):
            return
        if self._seconds() - self._last < PAUSE:
            return
        self._last, self._known = self._seconds(), status
        stick = bytes.fromhex(status.stick) if status.stick else None
        self._room.laptop_says("stick", {"state": _word(status, before), "stick": stick, "number": status.number})


def _word(status: StickStatus, before: StickStatus) -> str:
    """The state as the record says it: on, back, other, gone, full, unwritable or other-history."""
    if status.state != "on" or before.state == "looking":
        return status.state
    return "back" if status.stick == before.stick else "other"
