"""What is true of a drill, read by code that shares nothing with the product: cbor2, hashlib, sqlite3 and the formulas of the README."""

import io
import re
import sqlite3
from hashlib import sha256
from pathlib import Path

import cbor2


def next_head(head: bytes, number: int, entry: bytes) -> bytes:
    return sha256(b"tapeseal/head/1\0" + head + number.to_bytes(8, "big") + sha256(b"\0" + entry).digest()).digest()


def stored(path: Path) -> list[tuple[int, bytes, bytes]]:
    """(number, entry, head) of a record's file."""
    with sqlite3.connect(f"{path.as_uri()}?mode=ro", uri=True) as db:
        rows = db.execute("SELECT number, entry, head FROM entries ORDER BY number").fetchall()
    db.close()
    return rows


def words(path: Path) -> dict[int, dict[str, tuple[bytes, str]]]:
    """number -> name -> (salt, text)."""
    found: dict[int, dict[str, tuple[bytes, str]]] = {}
    with sqlite3.connect(f"{path.as_uri()}?mode=ro", uri=True) as db:
        for number, name, salt, text in db.execute("SELECT number, name, salt, text FROM words ORDER BY line"):
            found.setdefault(number, {})[name] = salt, text
    db.close()
    return found


def whole_on(folder: Path, night: list[tuple[int, bytes, bytes]]) -> int:
    """The number up to which the stick holds the night without a hole: an item counts where its bytes are those of the night's own entry."""
    right = {(number, head, entry) for number, entry, head in night}
    known = {0}
    for path in sorted(folder.glob("entries-*"), key=lambda one: [int(n) for n in re.findall(r"\d+", one.name)]):
        known |= _numbers_of(path.read_bytes(), right, known)
    for copy in folder.glob("snapshot-?.db"):
        try:
            for number, entry, head in stored(copy):
                if (number, head, entry) in right and number - 1 in known:
                    known.add(number)
        except sqlite3.Error:
            continue
    return max(n for n in known if all(m in known for m in range(n)))


def _numbers_of(data: bytes, right: set, known: set[int]) -> set[int]:
    """The numbers in one file up to its first item that is not the night's own."""
    stream = io.BytesIO(data)
    found: set[int] = set()
    decoder = cbor2.CBORDecoder(stream, read_size=1)
    try:
        header = decoder.decode()
        after = header[6]
        if after not in known:
            return found
        while True:
            head, entry, texts = decoder.decode()
            number = cbor2.loads(entry)[3]
            if (
                (number, head, entry) not in right
                or number != after + 1
                or any(sha256(s + t.encode()).digest() != cbor2.loads(entry)[6]["words"][n] for n, s, t in texts)
            ):
                return found
            found.add(number)
            after = number
    except Exception:  # noqa: BLE001 (whatever a harmed file makes of cbor2: the file ends there)
        return found
