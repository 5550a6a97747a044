"""Whatever is given to a reader of foreign bytes ends as a value or as that reader's one refusal. About a minute; `__main__` runs on as long as it is told."""

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.fuzz.readers import READERS
from tests.matrix import examples

SLOW = {"record": 40, "figures": 60}


@pytest.mark.parametrize("reader", READERS, ids=lambda reader: reader.name)
def test_whatever_it_is_given_it_is_read_or_refused(reader):
    @settings(max_examples=examples(SLOW.get(reader.name, 150)), deadline=None, suppress_health_check=list(HealthCheck))
    @given(st.data())
    def ends_in_a_sentence(data):
        drawn = data.draw(reader.draws)
        try:
            reader.read(drawn)
        except reader.refusals as refusal:
            assert str(refusal)

    ends_in_a_sentence()
