"""A record to check that is no record.db: a stick's folder, one of its files, or an export, laid out as one for the checker."""

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from webapp import plain_file
from webapp.commands import Stop
from webapp.record.refusals import RecordRefused
from webapp.record.restoration import lay_copy
from webapp.stick.folder import LARGEST, UnreadableStick, chosen, read_folder
from webapp.stick.history import History, joined
from webapp.stick.segment import NotASegment, read_segment


@contextmanager
def as_record(path: Path, record: str = "") -> Iterator[tuple[Path, str]]:
    """(a file for the checker, what else to print); a record.db is checked where it is. Raises Stop."""
    if not _is_copy(path):
        yield path, ""
        return
    try:
        history, besides = _history(path, record)
        with tempfile.TemporaryDirectory(prefix="record-") as folder:
            laid = Path(folder) / "record.db"
            lay_copy(laid, history.record_id, history.stored)
            yield laid, besides
    except UnreadableStick as wrong:
        raise Stop(f"{wrong} Give the path of a record.db.") from None
    except (NotASegment, RecordRefused) as wrong:
        raise Stop(str(wrong)) from None
    except plain_file.UnreadableFile as wrong:
        raise Stop(f"{path} cannot be read: {wrong.strerror}. Give the path of a record.db.") from None


def _is_copy(path: Path) -> bool:
    if path.is_dir() or not path.is_file():  # a pipe is left to the checker, which does not wait for it
        return path.is_dir()
    try:
        with path.open("rb") as file:
            return file.read(2) == b"\x8c\x70"  # how a header begins: an array of 12, a text of 16
    except OSError:
        return False


def _history(path: Path, record: str) -> tuple[History, str]:
    if path.is_dir():
        found = read_folder(chosen(path, record))
        history, passed = found.history, found.passed_over
    else:
        segment = read_segment(plain_file.read(path, LARGEST), path.name)
        history, passed = joined(segment.header.record_id, [segment]), ()
        if segment.header.after:
            raise UnreadableStick(
                f"{path.name} begins after entry {segment.header.after}: give the whole folder of the stick."
            )
    said = []
    if history.torn:
        said.append(f"{history.torn} bytes hold no whole entry.")
    if history.apart:
        said.append(f"{len(history.apart)} entries come after a gap.")
    if passed:
        said.append(f"Cannot be read: {', '.join(passed)}.")
    return history, " ".join(said)
