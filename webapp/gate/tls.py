"""TLS for tablets: version 1.2 or newer, and a certificate that can be changed while the door is open.

The library takes keys from files only. So the key passes through one that is locked with a password of this very moment, in memory or in a folder
of its own, and is gone before the door opens.
"""

import os
import secrets
import ssl
import tempfile
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from cryptography.hazmat.primitives.serialization import BestAvailableEncryption, Encoding, PrivateFormat

from webapp.gate.certificates import ServerCertificate
from webapp.gate.refusals import GateRefused

Stamp = tuple[tuple[int, int, int] | None, ...]
"""Of each file when it was written, its size and its inode; None for one that is not there."""
CIPHERS = "ECDHE+AESGCM:ECDHE+CHACHA20"  # of TLS 1.2; those of 1.3 are all sound


def context(shown: ServerCertificate) -> ssl.SSLContext:
    """How a door speaks that shows this certificate."""
    made = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    made.minimum_version = ssl.TLSVersion.TLSv1_2
    made.set_ciphers(CIPHERS)
    made.options |= ssl.OP_NO_COMPRESSION | ssl.OP_NO_RENEGOTIATION
    made.set_alpn_protocols(["http/1.1"])
    password = secrets.token_hex(16)
    locked = shown.key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, BestAvailableEncryption(password.encode()))
    with _as_file(b"".join(one.public_bytes(Encoding.PEM) for one in shown.chain) + locked) as file:
        made.load_cert_chain(file, password=password)
    return made


@contextmanager
def _as_file(data: bytes) -> Iterator[Path]:
    """A path under which these bytes can be read for as long as the block lasts: in memory where the system can (Linux), else in a temporary folder."""
    if hasattr(os, "memfd_create") and Path("/proc/self/fd").is_dir():
        with os.fdopen(os.memfd_create("key"), "wb") as memory:
            memory.write(data)
            memory.flush()
            yield Path(f"/proc/self/fd/{memory.fileno()}")
        return
    with tempfile.TemporaryDirectory(prefix="tapeseal-") as folder:
        file = Path(folder) / "key.pem"
        file.write_bytes(data)
        yield file


class ReloadingCertificate:
    """The certificate of a door, and the files that may bring a newer one. Asked for each connection; looked at now and then."""

    def __init__(self, first: ServerCertificate, read: Callable[[], ServerCertificate], files: Sequence[Path]):
        self.shown, self._context = first, context(first)
        self._read, self._files = read, tuple(files)
        self._taken: Stamp | None = None
        self._seen: Stamp | None = None

    def __call__(self) -> ssl.SSLContext:
        return self._context

    def tick(self, at_once: bool = False) -> str:
        """Takes the certificate again if its file changed. Returns a sentence when one was taken or refused, else "". What is refused changes nothing.

        Unless `at_once`, a file is left alone until two looks found it the same: it may still be on its way onto the
        disk.
        """
        stamp, before = self._stamped(), self._seen
        self._seen = stamp
        if stamp == self._taken or not (at_once or stamp == before):
            return ""
        self._taken = stamp
        try:
            shown = self._read()
            made = context(shown)
        except GateRefused as wrong:
            return f"{wrong} Tablets get the certificate from before, which lasts until {self.shown.until:%d %B %Y}."
        except (ssl.SSLError, ValueError):
            return f"The new certificate cannot be shown: make it for a P-256 key. Tablets get the one from before, which lasts until {self.shown.until:%d %B %Y}."
        if shown.chain == self.shown.chain:
            return ""
        self.shown, self._context = shown, made
        return f"From now on tablets get the certificate that lasts until {shown.until:%d %B %Y}."

    def _stamped(self) -> Stamp:
        """What tells one writing of each file from the next."""
        found: list[tuple[int, int, int] | None] = []
        for file in self._files:
            try:
                state = file.stat()
                found.append((state.st_mtime_ns, state.st_size, state.st_ino))
            except OSError:
                found.append(None)
        return tuple(found)
