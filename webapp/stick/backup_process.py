"""The server's side of the backup: starts the copying process, hears from it, and knows how far the stick is. Nothing here ever waits for a stick but `close`, and that at most five seconds."""

import json
import subprocess
import sys
import threading
import time
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from webapp.stick.copier import CopyTask

AT_THE_STOP = 5.0  # seconds that a stick is given
BEFORE_ANOTHER = 10.0  # seconds before a process that ended by itself is started again
ROOT = Path(__file__).resolve().parents[2]


@dataclass(frozen=True, slots=True)
class StickStatus:
    """How far the stick is. state: "looking" (before the first answer), "on", "gone", "full", "unwritable" or "other-history".

    number: of the last entry known to be on it. stick: its id in hex, "" before one was seen. why: a reason for
    people, or "". little: less than 64 MB are free on it.
    """

    state: str = "looking"
    number: int = 0
    stick: str = ""
    why: str = ""
    little: bool = False


class BackupProcess:
    """Copies one record to one path for as long as it is open. delay, pace: seconds before each fsync and a factor on pauses, for tests."""

    def __init__(self, task: CopyTask, delay: float = 0.0, pace: float = 1.0):
        self.task = task
        self._told = {"delay": delay, "pace": pace}
        self.status = StickStatus()
        self._closing = False
        self._process: subprocess.Popen[str] | None = None
        self._started = float("-inf")
        self.keep_running()

    def keep_running(self) -> None:
        """Start the process; again where it ended by itself, but not more often than every ten seconds."""
        if (
            self._closing
            or (self._process and self._process.poll() is None)
            or time.monotonic() - self._started < BEFORE_ANOTHER
        ):
            return
        self._started = time.monotonic()
        self._process = subprocess.Popen(
            [sys.executable, "-m", "webapp.stick.child"],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            cwd=ROOT,
            encoding="utf-8",
            start_new_session=True,
        )
        assert self._process.stdin
        with suppress(OSError):
            self._process.stdin.write(json.dumps(self._told | _as_json(self.task)) + "\n")
            self._process.stdin.flush()
        threading.Thread(target=self._hear, args=(self._process,), daemon=True, name="stick").start()

    @property
    def pid(self) -> int:
        return self._process.pid if self._process else 0

    def close(self, within: float | None = None) -> bool:
        """Lets it copy the rest and make its last whole copy; whether that was done in time. seconds:
        `AT_THE_STOP` by default. A stick that does not answer is left behind."""
        self._closing = True
        process = self._process
        if process is None:
            return False
        with suppress(OSError):
            assert process.stdin
            process.stdin.close()
        try:
            process.wait(AT_THE_STOP if within is None else within)
            return True
        except subprocess.TimeoutExpired:
            process.kill()
            return False

    def _hear(self, process: "subprocess.Popen[str]") -> None:
        assert process.stdout
        for line in process.stdout:
            with suppress(ValueError, TypeError):
                self.status = StickStatus(**json.loads(line))
        if not self._closing:
            self.status = StickStatus(
                "gone", self.status.number, self.status.stick, "The copying stopped; it starts again by itself."
            )


def _as_json(task: CopyTask) -> dict[str, str]:
    return {
        "record": str(task.record),
        "record_id": task.record_id.hex(),
        "stick": str(task.stick),
        "what": task.what,
        "id": task.id,
        "mode": task.mode,
        "digest": task.digest.hex(),
        "version": task.version,
        "read_me": task.read_me,
        "place_file": task.place_file,
        "packets": task.packets,
        "beside": task.beside,
    }
