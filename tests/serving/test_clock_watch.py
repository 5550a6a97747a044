"""The laptop's clock is set while the doors are open: one entry for each time, none for drift, for sleep, or for time that merely passes."""

import pytest

from tests.serving.opened_place import TOML
from webapp.commands.server.clock_watch import MOVED, ClockWatch, steady, wall
from webapp.precinct.checklist import system_entries
from webapp.precinct.place import place_file

HOUR = 3_600_000


class Room:
    def __init__(self):
        self.said = []

    def laptop_says(self, kind, body):
        self.said.append((kind, body))


@pytest.fixture
def laptop():
    """(room, look): `look(wall, steady)` = a round after so many more milliseconds by either."""
    room, at = Room(), [1_793_700_000_000, 5000]
    watch = ClockWatch(room, lambda: at[0], lambda: at[1])

    def look(by_wall: int, by_steady: int) -> None:
        at[0], at[1] = at[0] + by_wall, at[1] + by_steady
        watch.tick()

    return room, look


@pytest.mark.parametrize("by", [-HOUR, -MOVED, MOVED, 24 * HOUR])
def test_a_clock_that_is_set_is_said_once_with_how_far_and_which_way(laptop, by):
    room, look = laptop
    for moved in (0, by, 0, 0):
        look(5000 + moved, 5000)

    assert room.said == [("clock-moved", {"by": by})]


def test_time_that_passes_drift_and_a_laptop_that_slept_are_no_move(laptop):
    room, look = laptop
    for by_wall, by_steady in (
        (5000, 5000),
        (8 * HOUR, 8 * HOUR),
        (5010, 5000),
        (5000, 5010),
        (5000 + MOVED - 20, 5000),
    ):
        look(by_wall, by_steady)

    assert room.said == []


def test_a_clock_that_is_set_back_again_is_said_twice(laptop):
    room, look = laptop
    look(5000 + HOUR, 5000)
    look(5000 - HOUR, 5000)

    assert [body["by"] for _, body in room.said] == [HOUR, -HOUR]


@pytest.mark.parametrize(
    ("by", "says"),
    [(-25_000, "back by 25 seconds"), (3 * 60_000, "forward by 3 minutes"), (-5 * HOUR, "back by 5 hours")],
)
def test_the_record_tells_it_in_words(by, says):
    assert system_entries.describe("clock-moved", {"by": by}, place_file.read(TOML), None, {}) == says


def test_the_seconds_held_against_are_not_the_clocks():
    before = wall() - steady()
    assert abs(wall() - steady() - before) < MOVED
