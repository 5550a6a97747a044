"""How the gate says no: one sentence for the person at the tablet, with what to do next."""

import sqlite3
from pathlib import Path
from typing import Self

from webapp import plain_file


class GateRefused(Exception):
    """The gate does not open. `str(refused)` is the sentence to show; `after`: the same where what was sent is in the record already."""

    def __init__(self, sentence: str = "", after: str = ""):
        super().__init__(sentence)
        self.after = after or sentence

    @classmethod
    def said(cls, words: str, file: Path, wrong: object = "") -> Self:
        """The refusal in both its sentences, about this file."""
        named = {"file": file.name, "wrong": wrong}
        told = words.format(**named, stays="Nothing was changed. ", again=", then do this again")
        return cls(told, words.format(**named, stays="", again=""))


class GateDiskRefused(GateRefused):
    """The disk with the gate takes or gives nothing: full, write-protected or failing."""


def of_the_disk(wrong: sqlite3.Error, file: Path) -> GateRefused:
    """The refusal for what the database said about this file: a disk that is full is no damaged gate."""
    name = getattr(wrong, "sqlite_errorname", None) or ""
    if name.startswith(("SQLITE_IOERR", "SQLITE_CANTOPEN")):
        name = {"full": "SQLITE_FULL", "protected": "SQLITE_READONLY"}.get(plain_file.what_ails(file), name)
    sentence = next((words for known, words in _IN_WORDS.items() if name.startswith(known)), _DAMAGED)
    kind = GateRefused if sentence is _DAMAGED or name.startswith("SQLITE_BUSY") else GateDiskRefused
    return kind.said(sentence, file, wrong)


def protected(file: Path) -> GateDiskRefused:
    """The refusal for a file that may not be written to."""
    return GateDiskRefused.said(_IN_WORDS["SQLITE_READONLY"], file)


def file_bytes(path: Path, most: int) -> bytes:
    """The bytes of a file that somebody named, at most `most`. Raises GateRefused where it cannot be read."""
    try:
        return plain_file.read(path, most)
    except OSError as wrong:
        raise GateRefused(
            f"{path} cannot be read ({wrong.strerror}): see that it is a file and may be opened."
        ) from None


_IN_WORDS = {
    "SQLITE_FULL": "The disk with {file} is full. {stays}Free some space on it{again}.",
    "SQLITE_READONLY": "The disk with {file} cannot be written to. {stays}Take the write protection off{again}.",
    "SQLITE_IOERR": "The disk did not take or give what belongs to {file}. {stays}See that it has room and that its plug sits{again}.",
    "SQLITE_BUSY": "Another program holds {file}. {stays}Close that program{again}.",
    "SQLITE_CANTOPEN": "{file} cannot be opened. {stays}See that its disk is there and has room{again}.",
}
_DAMAGED = (
    "{file} cannot be read as a gate ({wrong}): take it again from the backup of the folder, or enrol the place again."
)


class WrongCode(GateRefused):
    """The code does not open a kit; the person may type it again."""


class WrongPin(GateRefused):
    """The PIN or slip code does not match. The page shows this sentence and records `pin-failed`."""
