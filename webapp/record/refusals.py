"""The one refusal of this room, and what the disk's own words mean for a person at a polling place.

Whatever fails while an entry is being kept, two things stay true and are said: nothing of this attempt was kept, and every entry
that has a number is still there.
"""

import errno
import sqlite3
from pathlib import Path

from webapp import plain_file


class RecordRefused(Exception):
    """The record did not do this: one sentence that says what is so and what to do. Nothing of the attempt was recorded.

    `after`: the sentence where what was sent is in the record already, and this was refused after it.
    """

    def __init__(self, sentence: str = "", after: str = ""):
        super().__init__(sentence)
        self.after = after or sentence


SAID = (sqlite3.Error, UnicodeDecodeError)
"""What a database may raise; a damaged one says things that are no UTF-8."""


class RecordDiskRefused(RecordRefused):
    """The disk with the record cannot be read or written: full, write-protected or failing. Its contents can perhaps still be read."""


_STAYS = "Nothing of this was kept; every entry that has a number stays."

_IN_WORDS = {
    "SQLITE_FULL": "The disk with {file} is full. {stays} Free some space on it{again}.",
    **dict.fromkeys(
        ("SQLITE_READONLY_ROLLBACK", "SQLITE_READONLY_RECOVERY", "SQLITE_READONLY_CANTINIT"),
        "The program that had {file} open was cut off. Start it once more and stop it: that puts the record in order. Then look again.",
    ),
    "SQLITE_READONLY": "The disk with {file} cannot be written to. {stays} Take the write protection off{again}.",
    "SQLITE_CANTOPEN": "{file} cannot be opened. {stays} Check that its folder and disk are there, then start again.",
    "SQLITE_IOERR": "The disk did not take what was written to {file}. {stays} Check the disk and its plug{again}.",
    "SQLITE_BUSY": "Another program holds {file}. {stays} Close that program{again}.",
    "SQLITE_CORRUPT": "{file} is damaged. {stays} Stop here, keep the file as it is, and run `tapeseal record verify` on it.",
    "SQLITE_NOTADB": "{file} is not a record. Give the path of a record.db.",
    "SQLITE_CONSTRAINT": "{file} does not continue from the last entry kept here: another program has written to it. {stays} "
    "Stop here, keep the file as it is, and run `tapeseal record verify` on it.",
}


OF_THE_DISK = {
    errno.ENOSPC: "SQLITE_FULL",
    errno.EDQUOT: "SQLITE_FULL",
    errno.EROFS: "SQLITE_READONLY",
    errno.EIO: "SQLITE_IOERR",
    errno.EFBIG: "SQLITE_FULL",
}
"""What a system says of its disk, by the name under which the database says the same."""
_DISK = ("SQLITE_FULL", "SQLITE_READONLY", "SQLITE_IOERR", "SQLITE_CANTOPEN")


def in_words(wrong: Exception, path: Path, keeping: bool = True) -> RecordRefused:
    """The refusal for an error of the database or the disk about the record at `path`."""
    stays = _STAYS if keeping else ""
    if isinstance(wrong, OSError) and wrong.errno in OF_THE_DISK:
        return _said(_IN_WORDS[OF_THE_DISK[wrong.errno]], path, stays, "", RecordDiskRefused)
    if isinstance(wrong, OSError):
        sentence = (
            "{file} cannot be opened or written to ({wrong}). {stays} Check its folder and disk, then start again."
        )
        return _said(sentence, path, stays, wrong.strerror or "")
    name = "SQLITE_CORRUPT" if isinstance(wrong, UnicodeDecodeError) else getattr(wrong, "sqlite_errorname", None) or ""
    if name.startswith(("SQLITE_IOERR", "SQLITE_CANTOPEN")):
        name = {"full": "SQLITE_FULL", "protected": "SQLITE_READONLY"}.get(plain_file.what_ails(path), name)
    sentence = next((s for known, s in _IN_WORDS.items() if name.startswith(known)), "{file} could not be used ({wrong}). {stays} "
                    "Run `tapeseal record verify` on it.")  # fmt: skip
    return _said(sentence, path, stays, str(wrong), RecordDiskRefused if name.startswith(_DISK) else RecordRefused)


def _said(
    sentence: str, path: Path, stays: str, wrong: str, kind: type[RecordRefused] = RecordRefused
) -> RecordRefused:
    told, after = (
        " ".join(sentence.format(file=path.name, stays=nothing, wrong=wrong, again=again).split())
        for nothing, again in ((stays, ", then send this again"), ("", ""))
    )
    return kind(told, after)


def gone(path: Path) -> RecordRefused:
    """The refusal for a record whose file was moved or removed while it was open: what is written now would be lost with it."""
    return RecordRefused(
        f"{path.name} is no longer in its folder: the disk was pulled out, or the file was moved. Nothing of this was kept. "
        f"Put it back with its {path.name}-wal, stop the program and start it again."
    )
