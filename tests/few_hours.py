"""A day on which the polls are open for four hours, noon among them: for days whose claim is not the hourly reading. With --all they are open as long as the file says."""

from dataclasses import replace
from datetime import time

from tests.matrix import ALL
from webapp.precinct.place import place_file
from webapp.precinct.place.place import Place

OPENS, CLOSES = time(9), time(13)


def of(place: Place) -> Place:
    """The same place with these hours."""
    return place if ALL else replace(place, opens=OPENS, closes=CLOSES)


def in_file(toml: bytes) -> bytes:
    """The demo's place file with these hours. Raises AssertionError where it has other hours than the demo's."""
    whole = toml.replace(b'opens = "07:00"', b'opens = "09:00"').replace(b'closes = "20:00"', b'closes = "13:00"')
    assert (place_file.read(whole).opens, place_file.read(whole).closes) == (OPENS, CLOSES)
    return toml if ALL else whole
