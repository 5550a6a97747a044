"""What a disk holds after the power fails: the calls of a program as `strace` saw them, played up to any point, with what was synced
there for sure and of the rest only what chance leaves, torn at the edges of sectors."""

import random
import re
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

CALL = re.compile(r"^\d+ +(\w+)\((.*)\) += (-?\d+)")
HEX = re.compile(r"\\x([0-9a-f]{2})")
CALLS = "pwrite64,write,fdatasync,fsync,ftruncate,unlink"
SECTOR = 512


@dataclass(slots=True)
class File:
    """synced: what is there for sure, None where nothing is. waiting: (offset, bytes), or (length, None) for a cut."""

    synced: bytes | None
    waiting: list[tuple[int, bytes | None]] = field(default_factory=list)
    gone: bool = False

    def sync(self) -> None:
        self.synced = written(self.synced or b"", self.waiting)
        self.waiting = []


def written(data: bytes, changes: list[tuple[int, bytes | None]]) -> bytes:
    whole = bytearray(data)
    for at, new in changes:
        if new is None:
            whole = whole[:at].ljust(at, b"\0")
        else:
            whole.extend(bytes(max(at + len(new) - len(whole), 0)))
            whole[at : at + len(new)] = new
    return bytes(whole)


def traced(script: str, path: Path, log: Path) -> None:
    """Run the script with the record's path under strace."""
    root = Path(__file__).resolve().parents[2]
    command = [
        "strace",
        "-f",
        "-y",
        "-xx",
        "-s",
        "9999",
        "-e",
        f"trace={CALLS}",
        "-o",
        str(log),
        sys.executable,
        "-c",
        script,
        str(path),
    ]
    subprocess.run(command, cwd=root, check=True, stdout=subprocess.PIPE, timeout=120)


def moments(log: Path, record: Path, before: bytes) -> Iterator[tuple[str, dict[str, File], int]]:
    """After each call on the record's files, their folder or stdout: the call, the files by name, the highest number said so far.

    A file that was removed may be back after a power cut until its folder is synced."""
    files, said = {record.name: File(before)}, 0
    for line in log.read_text().splitlines():
        found = CALL.match(line)
        if not found or int(found[3]) < 0:
            continue
        call, texts = found[1], re.findall(r'[<"]((?:\\x[0-9a-f]{2})*)[>"]', found[2])
        path, *data = [bytes.fromhex("".join(HEX.findall(text))) for text in texts]
        numbers = [int(word) for word in re.sub(r'[<"][^>"]*[>"]', "", found[2]).replace(",", " ").split()]
        name = Path(path.decode()).name
        if call == "write" and found[2].startswith("1<"):
            said = max([said, *(int(word) for word in data[0].split())])
        elif name == record.parent.name and call in ("fdatasync", "fsync"):
            files = {name: file for name, file in files.items() if not file.gone}
        elif not name.startswith(record.name) or name.endswith(("-shm", "-lock")):
            continue
        elif call == "unlink":
            files[name].gone = True
        else:
            if name not in files or files[name].gone:
                files[name] = File(None)
            change(files[name], call, data, numbers)
        yield call, files, said


def change(file: File, call: str, data: list[bytes], numbers: list[int]) -> None:
    if call == "pwrite64":
        file.waiting.append((numbers[-1], data[0]))
    elif call == "ftruncate":
        file.waiting.append((numbers[-1], None))
    elif call in ("fdatasync", "fsync"):
        file.sync()


def after_power_cut(files: dict[str, File], chance: random.Random) -> dict[str, bytes]:
    """One of the states that a disk may be in; names and contents."""
    left = {}
    for name, file in files.items():
        if file.gone and chance.random() < 0.5:
            continue
        some = [piece for change in file.waiting for piece in sectors(change) if chance.random() < 0.7]
        if file.synced is not None or some:
            left[name] = written(file.synced or b"", some)
    return left


def sectors(change: tuple[int, bytes | None]) -> Iterator[tuple[int, bytes | None]]:
    """A write in pieces that end at the edges of sectors; a disk writes each whole or not at all."""
    at, data = change
    if data is None:
        yield change
        return
    while data:
        size = SECTOR - at % SECTOR
        yield at, data[:size]
        at, data = at + size, data[size:]
