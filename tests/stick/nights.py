"""A short night's entries, kept through the ledger, and the bytes that a stick gets of them."""

from pathlib import Path

from tests.record import story
from webapp.record.backup import StoredEntry, stored_after
from webapp.record.chain import first_head
from webapp.stick.copier import Copier, CopyTask
from webapp.stick.segment import Header, pack_entry, pack_header

STICK = bytes(range(16))
DIGEST = bytes(32)


def keep(ledger, count: int, first: int = 100, kind: str = "reading") -> None:
    """`count` acts of tablet A; every third with words."""
    for n in range(first, first + count):
        ledger.append(
            story.act(n, kind, at=story.SIX + n * 60_000, words={"remark": f"Remark {n}: é ✓"} if n % 3 == 0 else None),
            now=story.SIX + n * 60_000,
        )


def keep_words(ledger, n: int) -> None:
    """An entry `check-words`, after which a whole copy is made."""
    ledger.append(
        story.act(n, "check-words", {"number": n, "words": "0000-0000-0000"}, tablet="L", seq=0),
        now=story.SIX + n * 60_000,
    )


def header(run: int = 1, after: int = 0, head: bytes | None = None, record_id: bytes = story.RECORD_ID) -> Header:
    return Header(
        record_id,
        "place",
        "FERN",
        "practice",
        run,
        after,
        first_head(record_id) if head is None else head,
        DIGEST,
        story.SIX,
        "0.1.0",
        STICK,
    )


def segment_bytes(stored: list[StoredEntry], after: StoredEntry | None = None) -> bytes:
    return pack_header(header(1, after.number if after else 0, after.head if after else None)) + b"".join(
        map(pack_entry, stored)
    )


def all_of(record: Path) -> list[StoredEntry]:
    return stored_after(record, 0, 100_000)


def task(record: Path, stick: Path, **more: str) -> CopyTask:
    return CopyTask(record, story.RECORD_ID, stick, "place", "FERN", "practice", DIGEST, "0.1.0", **more)


def copier(record: Path, stick: Path, **more: str) -> Copier:
    return Copier(task(record, stick, **more), lambda: story.SIX)


def copied(record: Path, stick: Path, **more: str) -> Copier:
    """A copier that has brought everything over."""
    made = copier(record, stick, **more)
    while made.copy_new():
        pass
    return made
