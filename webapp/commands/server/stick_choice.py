"""Another stick while the program runs: the copying goes on at the new path, and the record says so as for any stick."""

from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

from webapp.commands import Stop
from webapp.commands.server.stick_watch import StickWatch
from webapp.pages.shared.site import Site
from webapp.stick.backup_process import BackupProcess
from webapp.stick.copier import CopyTask

LET_GO = 1.0  # seconds that the stick before is given: what it lacks is on the laptop


class StickChoice:
    """Starts the copying and moves it to another path; `tick` keeps it running. task_for: gives what is copied to a path; raises Stop."""

    def __init__(self, room: Site, task_for: Callable[[Path], CopyTask]):
        self._room, self._task_for = room, task_for
        self._watch: StickWatch | None = None

    def begin(self, path: Path) -> None:
        """Copies to this path from now on. Raises Stop where it is inside the folder, or holds keys."""
        task = self._task_for(path)
        before, self._room.backup = self._room.backup, BackupProcess(task)
        if before:
            before.close(LET_GO)
        if self._watch is None:
            self._watch = StickWatch(self._room, self._room.backup)
        else:
            self._watch.follow(self._room.backup)

    def move(self, path: str) -> str:
        """Copies to a path that somebody typed. Returns why that cannot be, "" where it is copied there now."""
        folder = Path(path)
        with suppress(OSError):
            if not folder.is_absolute() or not folder.is_dir():
                return f"There is no folder {path} on this laptop. Put the stick in, and enter the path under which it is shown, from the root on."
            try:
                self.begin(folder)
            except Stop as refused:
                return str(refused)
            return ""
        return f"{path} cannot be looked at. Put the stick in again, or another one."

    def tick(self) -> None:
        """Restarts the copying process if it ended, and records a change of the stick."""
        if self._watch:
            self._watch.tick()

    def close(self) -> bool:
        """Whether everything is on the stick; True where there is none."""
        return self._room.backup is None or self._room.backup.close()
