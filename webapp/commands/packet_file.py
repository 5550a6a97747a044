"""A `packet.cose` on disk, read by the commands that are given one; what its bytes mean is the packet room's."""

from pathlib import Path

from webapp.packet.envelope import PART_LIMIT, parts_of


def parts(path: Path) -> tuple[bytes, bytes]:
    """Its two parts. Never reads more than such a file may hold; `PacketRefused` for anything else, `OSError` where it cannot be read."""
    with path.open("rb") as file:
        return parts_of(file.read(2 * PART_LIMIT + 1))
