"""The day can be entered at every moment that the other tests use."""

import pytest

from tests.pages.scene import MOMENTS


@pytest.mark.parametrize("moment", MOMENTS[2:])
def test_now_offers_the_step_of_this_moment(scene, moment):
    here = scene(moment)
    key = here.crew.next_key()
    assert key is None if moment == "voting" else key.startswith(moment)
