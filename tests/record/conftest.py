import pytest

from tests.record import story
from webapp.record.ledger import Ledger


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
