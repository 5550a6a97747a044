"""Where signed packets lie in a place's folder. A packet is written before its first signature and gets its number with the last."""

from pathlib import Path


def folder(place: Path) -> Path:
    found = place / "packet"
    found.mkdir(exist_ok=True)
    return found


def wait(place: Path, digest: bytes, data: bytes) -> None:
    """Written out before anybody signs its digest, so that what was signed is never built again."""
    (folder(place) / f"waiting-{digest.hex()}.cose").write_bytes(data)


def waiting(place: Path, digest: bytes) -> bytes | None:
    """The bytes of a packet that waits for its signatures."""
    path = folder(place) / f"waiting-{digest.hex()}.cose"
    return path.read_bytes() if path.exists() else None


def settle(place: Path, number: int, digest: bytes) -> Path | None:
    """The file of the packet that was signed under this number; None where there is none (any more). After a crash it may still wait."""
    path, waiting = folder(place) / f"{number}.cose", folder(place) / f"waiting-{digest.hex()}.cose"
    if not path.exists() and waiting.exists():
        waiting.replace(path)
    return path if path.exists() else None
