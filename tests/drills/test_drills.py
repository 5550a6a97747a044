"""A few of the drills, by fixed seeds; `tests/benchmarks/drills.py` plays two hundred on nights that a rehearsal kept."""

import pytest

from tests.drills.drill import drill, kept_night
from tests.record import story
from tests.stick import nights
from webapp.record.ledger import Ledger


@pytest.fixture(scope="module")
def night(tmp_path_factory):
    """Ninety entries: readings, ballots by the quarter hour, words, check words."""
    path = tmp_path_factory.mktemp("night") / "record.db"
    with Ledger.create(path, story.RECORD_ID, story.COARSE) as ledger:
        story.keep_morning(ledger)
        for n in range(20, 105):
            if n % 20 == 0:
                nights.keep_words(ledger, n)
            else:
                nights.keep(ledger, 1, n, "spoiled" if n % 7 == 0 else "reading")
    return kept_night(path)


@pytest.mark.parametrize("seed", range(12))
def test_what_is_stated_after_a_harm_is_what_is_true(night, tmp_path, seed):
    assert drill(night, story.RECORD_ID, story.COARSE, tmp_path, seed).wrong == []
