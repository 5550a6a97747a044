"""Writing a file that is not there yet: the office never writes one over."""

import os
from pathlib import Path

from webapp import plain_file
from webapp.gate.refusals import GateRefused


def write_new(path: Path, data: bytes) -> None:
    """Writes a file that is not there yet, down to the disk; only its owner may read it. Raises GateRefused where it is there, or cannot be written."""
    try:
        with os.fdopen(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600), "wb") as file:
            file.write(data)
            file.flush()
            plain_file.sync(file.fileno())
        plain_file.settle(path.parent)
    except FileExistsError:
        raise GateRefused(
            f"{path} is there already, and nothing is written over: choose another name, or move it away first."
        ) from None
    except OSError as wrong:
        raise GateRefused(
            f"{path} cannot be written ({wrong.strerror}): choose a folder that exists and may be written."
        ) from None
