import os
import tempfile
from pathlib import Path

import pytest

from tests.record import story
from webapp.record.ledger import Ledger


@pytest.fixture
def tmp_path():
    with tempfile.TemporaryDirectory(dir="/dev/shm" if os.path.isdir("/dev/shm") else None) as folder:
        yield Path(folder)


@pytest.fixture
def record(tmp_path):
    return tmp_path / "laptop" / "record.db"


@pytest.fixture
def ledger(record):
    record.parent.mkdir()
    with Ledger.create(record, story.RECORD_ID, story.COARSE) as made:
        yield made


@pytest.fixture
def stick(tmp_path):
    path = tmp_path / "stick"
    path.mkdir()
    return path
