"""What every test may lean on: the folder of published standards and open data, where it lies beside the clone."""

from pathlib import Path

import pytest

BESIDE = Path(__file__).resolve().parents[2] / "shared"


@pytest.fixture
def shared():
    """A file of the folder `../shared`; the test is skipped where that folder is absent."""

    def find(path: str) -> Path:
        found = BESIDE / path
        if not found.exists():
            pytest.skip(f"{path} is not here: the folder ../shared with standards and open data is absent")
        return found

    return find
