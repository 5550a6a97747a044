"""The bytes of packets and files that intake refused, kept with the record that names them: `refused/DIGEST`, whole or not at all.

They may be a stranger's, so they are only ever written and counted here. Beyond the limits the record keeps the
digest alone, and says so.
"""

import hashlib
from pathlib import Path

from webapp import plain_file

FOLDER = "refused"
LARGEST = 8 * 1024 * 1024  # bytes of one file
MOST = 500  # files
ALL = 512 * 1024 * 1024  # bytes together


class RefusedFiles:
    """The folder of one office. `keep` gives (digest, whether the bytes are stored here)."""

    def __init__(self, folder: Path):
        self.folder = Path(folder) / FOLDER
        found = [path for path in self.folder.glob("*") if path.is_file()] if self.folder.is_dir() else []
        self._count, self._bytes = len(found), sum(path.stat().st_size for path in found)

    def keep(self, data: bytes) -> tuple[bytes, bool]:
        """Stores these bytes under their SHA-256; the same bytes twice are one file."""
        digest = hashlib.sha256(data).digest()
        path = self.folder / digest.hex()
        if path.exists():
            return digest, True
        if len(data) > LARGEST or self._count >= MOST or self._bytes + len(data) > ALL:
            return digest, False
        self.folder.mkdir(mode=0o700, exist_ok=True)
        plain_file.write(path, data)
        self._count, self._bytes = self._count + 1, self._bytes + len(data)
        return digest, True

    def holds(self, digest: bytes) -> bool:
        """Whether the bytes with this SHA-256 are stored here."""
        return (self.folder / digest.hex()).is_file()
