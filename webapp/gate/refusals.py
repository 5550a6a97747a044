"""How the gate says no: one sentence for the person at the tablet, with what to do next."""

import sqlite3
from pathlib import Path

from webapp import plain_file


class GateRefused(Exception):
    """The gate does not open. `str(refused)` is the sentence to show."""


class GateDiskRefused(GateRefused):
    """The disk with the gate takes or gives nothing: full, write-protected or failing."""


def of_the_disk(wrong: sqlite3.Error, file: Path) -> GateRefused:
    """The refusal for what the database said about this file: a disk that is full is no damaged gate."""
    name = getattr(wrong, "sqlite_errorname", None) or ""
    if name.startswith(("SQLITE_IOERR", "SQLITE_CANTOPEN")):
        name = {"full": "SQLITE_FULL", "protected": "SQLITE_READONLY"}.get(plain_file.what_ails(file), name)
    sentence = next((words for known, words in _IN_WORDS.items() if name.startswith(known)), _DAMAGED)
    kind = GateRefused if sentence is _DAMAGED or name.startswith("SQLITE_BUSY") else GateDiskRefused
    return kind(sentence.format(file=file.name, wrong=wrong))


def protected(file: Path) -> GateDiskRefused:
    """The refusal for a file that may not be written to."""
    return GateDiskRefused(_IN_WORDS["SQLITE_READONLY"].format(file=file.name))


def file_bytes(path: Path, most: int) -> bytes:
    """The bytes of a file that somebody named, at most `most`. Raises GateRefused where it cannot be read."""
    try:
        return plain_file.read(path, most)
    except OSError as wrong:
        raise GateRefused(
            f"{path} cannot be read ({wrong.strerror}): see that it is a file and may be opened."
        ) from None


_IN_WORDS = {
    "SQLITE_FULL": "The disk with {file} is full. Nothing was changed. Free some space on it, then do this again.",
    "SQLITE_READONLY": "The disk with {file} cannot be written to. Nothing was changed. Take the write protection off, then do this again.",
    "SQLITE_IOERR": "The disk did not take or give what belongs to {file}. Nothing was changed. See that it has room and that its plug sits, "
    "then do this again.",
    "SQLITE_BUSY": "Another program holds {file}. Nothing was changed. Close that program, then do this again.",
    "SQLITE_CANTOPEN": "{file} cannot be opened. Nothing was changed. See that its disk is there and has room, then do this again.",
}
_DAMAGED = (
    "{file} cannot be read as a gate ({wrong}): take it again from the backup of the folder, or enrol the place again."
)


class WrongCode(GateRefused):
    """The code does not open a kit; the person may type it again."""


class WrongPin(GateRefused):
    """The PIN or slip code does not match. The page shows this sentence and records `pin-failed`."""
