"""The signed packets in a place's folder. A packet is on the disk before its first signature and gets its number with the last."""

from contextlib import suppress
from pathlib import Path

from webapp import plain_file

BATCHES, VOTES = "batches", "votes"
"""What travels beside a count board's packet."""


def folder(place: Path) -> Path:
    found = place / "packet"
    if not found.is_dir():
        found.mkdir(mode=0o700)
        plain_file.settle(place)
    return found


def sweep(place: Path) -> None:
    """At a start: take away what a full disk or a power cut left of a packet that nobody signed."""
    for path in (place / "packet").glob("*"):
        if path.suffix == ".part" or path.name.startswith("waiting-") and path.stat().st_size == 0:
            with suppress(OSError):  # a disk that takes nothing: it is looked at all the same
                path.unlink(missing_ok=True)


def wait(place: Path, digest: bytes, data: bytes) -> None:
    """Write it down to the disk before anybody signs its digest, so that what was signed is never built again. Raises OSError."""
    plain_file.write(folder(place) / f"waiting-{digest.hex()}.cose", data)


def wait_with(place: Path, digest: bytes, data: bytes, what: str = BATCHES) -> None:
    """Stores a file whose digest the waiting packet's core holds: the list of batches, the votes by precinct. Raises OSError."""
    plain_file.write(folder(place) / f"waiting-{digest.hex()}-{what}.csv", data)


def beside(place: Path, number: int, digest: bytes, what: str = BATCHES) -> bytes | None:
    """The file that was signed under this number; None where that packet has none."""
    path, waiting = folder(place) / f"{number}-{what}.csv", folder(place) / f"waiting-{digest.hex()}-{what}.csv"
    if not path.exists() and waiting.exists():
        waiting.replace(path)
        plain_file.settle(path.parent)
    return path.read_bytes() if path.exists() else None


def waiting(place: Path, digest: bytes) -> bytes | None:
    """The bytes of a packet that waits for its signatures."""
    path = folder(place) / f"waiting-{digest.hex()}.cose"
    return path.read_bytes() if path.exists() else None


def settle(place: Path, number: int, digest: bytes) -> Path | None:
    """The file of the packet that was signed under this number; None where there is none. After a crash it may still wait."""
    path, waiting = folder(place) / f"{number}.cose", folder(place) / f"waiting-{digest.hex()}.cose"
    if not path.exists() and waiting.exists():
        waiting.replace(path)
        plain_file.settle(path.parent)
    return path if path.exists() else None
