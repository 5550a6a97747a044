"""Reads codes out of any file or text: photographs, scans, PDFs, a packet.cose, text from a hand scanner.

Images and PDFs are strangers' bytes for large decoders, so they are opened in a child process (`decoder_process.py`) with limits; a child that dies or hangs costs
one file one sentence. A file is judged by its contents, never by its name.
"""

import json
import os
import struct
import subprocess
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from threading import BoundedSemaphore
from typing import Any

from webapp.packet import frames, keyboard_scanner
from webapp.packet.cose import PacketRefused
from webapp.packet.envelope import parts_of

DECODER = Path(__file__).with_name("decoder_process.py")
BYTES = 64 * 1024 * 1024  # of one file
TEXT_BYTES = 4 * 1024 * 1024  # of one file of scanned text
SECONDS = 60  # for one image or PDF
_two_at_a_time = BoundedSemaphore(2)


class FileRefused(PacketRefused):
    """A file that is not read. Its text is one sentence that begins with the file's name; `why` begins small where it goes on from that name."""

    def __init__(self, name: str, why: str):
        super().__init__(f"{name} {why}" if why[0].islower() else f"{name}: {why}")


@dataclass(frozen=True, slots=True)
class CodesRead:
    """The texts of packet codes in one file, each once, and how many other codes were seen. parts: of a packet's own file, which needs no codes; else ()."""

    texts: tuple[str, ...]
    foreign: int
    parts: tuple[bytes, ...] = ()

    @property
    def found(self) -> bool:
        """Whether anything of a packet was read."""
        return bool(self.texts or self.parts)


def read_codes(data: bytes, name: str, ours: str = frames.PREFIX) -> CodesRead:
    """The codes in one file; raises `FileRefused`. ours: how the text of a wanted code begins."""
    found = read_all([(name, data)], ours)[0]
    if isinstance(found, FileRefused):
        raise found
    return found


def read_all(files: Sequence[tuple[str, bytes]], ours: str = frames.PREFIX) -> tuple[CodesRead | FileRefused, ...]:
    """The codes in each of these (name, bytes), or why one is not read; images and PDFs share a child process."""
    answers: dict[int, CodesRead | FileRefused] = {}
    pictures: list[tuple[int, bytes]] = []
    for place, (name, data) in enumerate(files):
        try:
            kind = _kind(data)
            if kind in (b"I", b"P"):
                pictures.append((place, kind + struct.pack(">I", len(data)) + data))
            else:
                answers[place] = _cose(data, ours) if kind == b"C" else _text(data, ours)
        except PacketRefused as refusal:
            answers[place] = FileRefused(name, str(refusal))
    for place, answer in _looked_at(pictures, ours):
        refused = answer.get("refused")
        answers[place] = (
            FileRefused(files[place][0], refused) if refused else CodesRead(tuple(answer["texts"]), answer["foreign"])
        )
    return tuple(answers[place] for place in range(len(files)))


def _kind(data: bytes) -> bytes:
    """I image, P PDF, C packet.cose, T text."""
    if not data:
        raise PacketRefused("is empty: send the file again.")
    if len(data) > BYTES:
        raise PacketRefused(
            f"holds {len(data) // 1024**2} MB; the desk reads files up to {BYTES // 1024**2} MB: send its pages one by one."
        )
    if data[4:8] == b"ftyp":
        raise PacketRefused(
            'is a HEIC or AVIF picture or a film, which the desk does not read: set the phone to JPEG ("most compatible") and photograph again.'
        )
    if b"%PDF-" in data[:1024]:
        return b"P"
    magic = (b"\x89PNG", b"\xff\xd8\xff", b"GIF8", b"BM", b"II*\0", b"MM\0*")
    if data.startswith(magic) or (data[:4] == b"RIFF" and data[8:12] == b"WEBP"):
        return b"I"
    return b"C" if data[:2] == b"\xd2\x84" else b"T"


def _cose(data: bytes, ours: str) -> CodesRead:
    parts = parts_of(data)
    codes = frames.count(parts)
    return CodesRead((), 0, parts) if ours == frames.PREFIX else CodesRead((), codes)


def _text(data: bytes, ours: str) -> CodesRead:
    try:
        text = data.decode("utf-16" if data[:2] in (b"\xff\xfe", b"\xfe\xff") else "utf-8-sig")
    except UnicodeDecodeError:
        text = "\0"
    if "\0" in text or len(data) > TEXT_BYTES:
        raise PacketRefused(
            "is not an image, PDF, packet.cose or text of scanned codes: choose the file that holds the codes."
        )
    found = keyboard_scanner.codes_in(text)
    wanted = tuple(dict.fromkeys(code for code in found if code.startswith(ours)))
    return CodesRead(wanted, len({code for code in found if not code.startswith(ours)}))


def _looked_at(pictures: Sequence[tuple[int, bytes]], ours: str) -> list[tuple[int, dict[str, Any]]]:
    """What the child says of each; where it ends early, the file it was at is given up and the rest goes to a new child."""
    said: list[tuple[int, dict[str, Any]]] = []
    while len(said) < len(pictures):
        batch = _batch(pictures[len(said) :])
        lines = _child(b"".join(sent for _, sent in batch), len(batch), ours)
        lines = lines or [
            {
                "refused": "could not be read within the desk's limits of time and memory: photograph or scan each page by itself."
            }
        ]
        said += [(place, line) for (place, _), line in zip(batch, lines, strict=False)]
    return said


def _batch(pictures: Sequence[tuple[int, bytes]]) -> list[tuple[int, bytes]]:
    """The first of these, as many as one child is sent at once; never none."""
    batch: list[tuple[int, bytes]] = []
    size = 0
    for picture in pictures:
        size += len(picture[1])
        if batch and size > BYTES:
            break
        batch.append(picture)
    return batch


def _child(sent: bytes, count: int, ours: str) -> list[dict[str, Any]]:
    command = [sys.executable, "-P", str(DECODER), ours]
    with _two_at_a_time:
        try:
            out = subprocess.run(
                command,
                input=sent,
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,
                timeout=SECONDS * min(count, 4),
                env={**os.environ, "OMP_NUM_THREADS": "1", "TAPESEAL_DESK": str(os.getpid())},
                check=False,
            ).stdout
        except subprocess.TimeoutExpired as late:
            out = late.output or b""
    lines = []
    for line in out.split(b"\n")[:-1]:
        try:
            lines.append(json.loads(line))
        except ValueError:
            break
    return lines[:count]
