"""`record give-back`: what an old laptop's disk, another stick or a saved tablet's memory still has of an earlier run comes into the record."""

import argparse
import base64
import binascii
import json
import time
from pathlib import Path

from webapp import plain_file
from webapp.commands import Stop
from webapp.commands.recovery import saved_folder
from webapp.precinct.place.ballot_kinds import COARSE_KINDS
from webapp.record.backup import stored_after
from webapp.record.entry import Entry, Malformed, Text
from webapp.record.ledger import Ledger
from webapp.record.refusals import RecordRefused
from webapp.stick.folder import LARGEST, UnreadableStick, chosen, read_segments
from webapp.stick.returns import Item, append_returned, items_of
from webapp.stick.segment import NotASegment, read_segment


def arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "file",
        type=Path,
        metavar="FILE",
        help="a record.db, a stick or its folder, an export, or a tablet's memory as JSON",
    )
    parser.add_argument(
        "--to",
        type=Path,
        required=True,
        metavar="PLACE_DIR",
        help="the folder that was restored; it must not be served meanwhile",
    )
    parser.add_argument("--record", default="", metavar="DIGITS", help="which record, where a stick holds several")


def run(options: argparse.Namespace) -> int:
    """0 all of it is in, 1 something was refused, 2 nothing could be read."""
    record = saved_folder.record_of(options.to)
    coarse = frozenset() if saved_folder.is_office(options.to) else COARSE_KINDS
    items, source = read(options.file, options.record)
    try:
        with Ledger.open(record, coarse) as ledger:
            runs = ledger.runs()
            if not runs:
                raise Stop("This record was never restored: nothing can be missing from it that a disk gives back.")
            result = append_returned(
                ledger,
                [item for item in items if not _restored(item[0], {one.run - 1: one.last for one in runs})],
                source,
                time.time_ns() // 1_000_000,
            )
    except RecordRefused as wrong:
        raise Stop(str(wrong)) from None
    print(json.dumps({"taken": sorted(set(result.taken)), "refused": result.refused}, ensure_ascii=False))
    return 1 if result.refused else 0


def read(path: Path, record: str = "") -> tuple[list[Item], str]:
    """The entries in this file or folder with their words, and whether it is a "disk" or a "stick" or a tablet's letter. Raises Stop."""
    try:
        if path.is_dir():
            segments, _ = read_segments(chosen(path, record))
            return items_of(one.stored for segment in segments for one in segment.entries), "stick"
        if not path.is_file():
            raise plain_file.UnreadableFile("it is not a plain file")
        with path.open("rb") as file:
            start = file.read(16)
        if start.startswith(b"SQLite format 3"):
            return items_of(stored_after(path.resolve(), 0, 1_000_000)), "disk"
        data = plain_file.read(path, LARGEST)
        if start[:1] in (b"{", b"["):
            return _of_a_tablet(data)
        return items_of(one.stored for one in read_segment(data, path.name).entries), "stick"
    except (UnreadableStick, NotASegment, RecordRefused) as wrong:
        raise Stop(str(wrong)) from None
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError, binascii.Error):
        raise Stop(
            f"{path.name} is not a tablet's memory: give the JSON that the tablet saved, with `tablet` and `entries`."
        ) from None
    except OSError as wrong:
        raise Stop(
            f"{path} cannot be read ({wrong.strerror}): give a record.db, a stick, an export, or a tablet's memory as JSON."
        ) from None


def _of_a_tablet(data: bytes) -> tuple[list[Item], str]:
    """The body of `/contact/mine`, as a tablet keeps it."""
    told = json.loads(data)
    items: list[Item] = []
    for one in told["entries"]:
        salts, texts = one.get("salts", {}), one.get("texts", {})
        words = {name: Text(bytes.fromhex(salts[name]), text) for name, text in texts.items() if name in salts}
        items.append((base64.b64decode(one["entry"], validate=True), words))
    return items, str(told["tablet"])


def _restored(data: bytes, last: dict[int, int]) -> bool:
    """Whether this entry was restored already, so that a whole disk can be given without a refusal for each of them."""
    try:
        entry = Entry.unpack(data)
    except Malformed:
        return False
    return entry.number <= last.get(entry.run, 0)
