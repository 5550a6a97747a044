"""A `packet.cose` on disk, read by the commands that are given one; what its bytes mean is the packet room's."""

from pathlib import Path

from webapp import plain_file
from webapp.packet.envelope import PART_LIMIT, parts_of


def parts(path: Path) -> tuple[bytes, bytes]:
    """Its two parts. Never reads more than such a file may hold; `PacketRefused` for anything else, `OSError` where it cannot be read."""
    return parts_of(plain_file.read(path, 2 * PART_LIMIT))
