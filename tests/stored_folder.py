"""A stored folder of before, which lies beside the tests as one packed file."""

import tarfile
from pathlib import Path


def unpacked(packed: Path, into: Path) -> None:
    """What lies in this file, in this folder. Python from 3.11.4 on refuses what would be written elsewhere."""
    with tarfile.open(packed) as stored:
        stored.extraction_filter = getattr(tarfile, "data_filter", None)
        stored.extractall(into)
