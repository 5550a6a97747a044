"""The story reader as a fixture: `day_of(text)` is the day of the entries told, at the standing place unless another is given."""

import pytest

from day.story import HARROW, Story
from webapp.precinct.account.balanced_day import fold


@pytest.fixture
def day_of():
    def tell(text: str, place=HARROW):
        return fold(place, Story(place).entries(text))

    return tell
