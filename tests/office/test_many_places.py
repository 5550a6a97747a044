"""A small night of several desks: after every minute Totals, Places, Canvass, the wall, the late list and the receipts tell the same story.

The whole night, 40 places at three desks in real browsers, is `python tests/walked_night.py`.
"""

import pytest

from tests.office import many_places as night_of
from tests.office.test_desks import hold

CASES = {
    "P1": night_of.contradicting,
    "P2": night_of.unknown_key,
    "P3": night_of.packet_against_paper,
    "P4": night_of.memory_missing,
    "P5": night_of.container_missing,
    "P6": night_of.late,
}
PLAIN = ["P7", "P8"]


@pytest.fixture
def desks(tmp_path, desk):
    """Eight places and two windows at the office's own computer, each held by somebody."""
    night = night_of.built(tmp_path / "night", [*CASES, *PLAIN], desk.opened, {})
    night.hold()
    other = night.another()
    hold(night, other, "fontaine")
    yield night_of.Desks(night, desk.opened, [night.window, other])
    night.stop()


def test_every_page_tells_the_same_story_at_every_minute_of_the_night(desks):
    night_of.play(desks, PLAIN, CASES)
    assert len(desks.told) > 10 and len(desks.truth.inn) == 8
    assert desks.seen["P4"].startswith("agreed") and desks.seen["P5"].startswith("agreed"), desks.seen


def test_the_story_of_the_pages_is_held_against_what_was_handed_in():
    """The judge itself: a place that is missing, votes that were not handed in, a mark that is not so are each named."""
    truth = night_of.Truth(["P1", "P2"], {"P1": (517, 267)})
    story = {
        "inn": 1,
        "of": 2,
        "votes": 267,
        "marks": set(),
        "states": {"P1": "figures in", "P2": "expected"},
        "late": "Place P2",
    }
    assert night_of.against(story, truth, 2) == []
    for change in (
        {"inn": 2},
        {"votes": 268},
        {"marks": {("held", 1)}},
        {"late": ""},
        {"states": {"P1": "expected", "P2": "expected"}},
    ):
        assert night_of.against(story | change, truth, 2), change
