import os
import tempfile
from pathlib import Path

import pytest

from tests.record import story
from webapp.record.ledger import Ledger


@pytest.fixture
def tmp_path():
    """A folder in memory where there is one: hundreds of records are made here, and no test but that of the trace waits for a disk."""
    with tempfile.TemporaryDirectory(dir="/dev/shm" if os.path.isdir("/dev/shm") else None) as folder:
        yield Path(folder)


@pytest.fixture
def path(tmp_path):
    return tmp_path / "record.db"


@pytest.fixture
def ledger(path):
    """A new, empty record with the kinds of the story."""
    with Ledger.create(path, story.RECORD_ID, story.COARSE) as made:
        yield made


@pytest.fixture
def morning(path):
    """The path of a closed record of the story's five entries."""
    with Ledger.create(path, story.RECORD_ID, story.COARSE) as ledger:
        story.keep_morning(ledger)
    return path
