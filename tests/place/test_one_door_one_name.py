"""One door has one name: `place check` refuses a second one, and a place file that was signed with two is read as one door."""

import re
from dataclasses import replace

import pytest

from checklist.cast import LINDEN, Day
from tests.place.conftest import HERE
from webapp.precinct.checklist import field_options
from webapp.precinct.day import seal_log
from webapp.precinct.place import place_file, seal_points
from webapp.precinct.place.place import Applied

DEMO = (HERE.parents[1] / "demo_precinct" / "place.toml").read_text(encoding="utf-8")
TWINS = re.sub(
    r'at = "B(\d)-main"', r'at = "T\1-door"', re.sub(r'at = "B(\d)-emergency"', r'at = "T\1-emergency"', DEMO)
)


def test_a_second_name_of_a_door_is_a_mistake_with_its_line_before_it_is_signed():
    with pytest.raises(place_file.Mistakes) as told:
        place_file.read(TWINS.encode(), new=True)
    lines = TWINS.split("\n")
    found = [(lines[line - 1], says) for line, says in told.value.found]
    assert (
        'at = "T1-door"',
        '[[applied]] T1-door is the main bin of box B1, which has a name of its own: write at = "B1-main".',
    ) in found
    assert (
        'at = "T2-emergency"',
        '[[applied]] T2-emergency is the emergency bin of box B2, which has a name of its own: write at = "B2-emergency".',
    ) in found
    assert len(found) == 4
    assert place_file.read(DEMO.encode(), new=True).id == "W3"


def test_a_signed_file_with_two_names_is_read_as_one_door():
    place = place_file.read(TWINS.encode())
    points = dict(seal_points.seal_points(place))
    assert points["T1-emergency"] == "emergency bin under T1" and "B1-emergency" not in points
    assert points["T1-door"] == "ballot box door under T1" and "B1-main" not in points
    day = Day(place)
    assert seal_log.expected(place, day, "B1-emergency") == "0373" == seal_log.on_now(place, day)["T1-emergency"]

    day.keep("bins-locked", "B1", seals={"emergency": "0420"})
    assert seal_log.on_now(place, day)["T1-emergency"] == "0420" and "B1-emergency" not in seal_log.on_now(place, day)
    assert len(field_options.things("sealed-point", place, day)) == 7


def test_a_door_of_a_tabulator_that_is_no_bin_keeps_its_name():
    assert seal_points.twins(LINDEN) == {}
    both = replace(LINDEN, applied=(Applied("T1-emergency", "1"), Applied("X-emergency", "2")))
    assert seal_points.twins(both) == {}, "two numbers are two seals"
