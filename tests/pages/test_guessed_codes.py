"""Pairing while somebody guesses: each address has tries of its own, and the laptop says what came in."""

import http.client
import re
import sys

import pytest

from demo_precinct.http_window import Window
from tests.pages.tablets import asked, invited, tablets_door

GUESSER = "127.0.0.66"  # Linux gives a program all of 127.0.0.0/8
pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="an address of one's own on loopback needs Linux")


@pytest.fixture
def place(scene):
    here = scene("sworn")
    with tablets_door(here) as port:
        here.port = port
        yield here


class Guesser(Window):
    """Types wrong codes from an address of its own."""

    def guess(self) -> None:
        self._line = http.client.HTTPConnection(self.host, self.port, timeout=30, source_address=(GUESSER, 0))
        page = self.send(self.form, {"code": "00000000"})
        assert page.status == 422 and "This is not the code" in page.said()
        self._line.close()
        self._line = None


@pytest.fixture
def guesser(place):
    one = Guesser(place.port)
    place.windows.append(one)
    one.form = one.get("/pair").form("/pair")
    return one


def test_pairing_works_while_a_stranger_guesses(place, guesser):
    """For each code more wrong ones come in than one address has tries; every tablet with the right one is taken."""
    for tablets in range(1, 9):
        code = invited(place)
        for _ in range(7):
            guesser.guess()
        assert re.search(r"This is tablet ([A-Z])", asked(place, place.port, code=code).said.text), tablets
    assert len(place.room.gate.tablets.all()) == 8


def test_the_laptop_says_how_many_wrong_codes_came(place, guesser):
    assert "wrong code" not in place.window.get("/tablets").text
    for _ in range(3):
        guesser.guess()

    page = place.window.get("/tablets").text
    assert f"3 wrong codes came in, all from {GUESSER}." in page
    assert "3 wrong codes" in place.window.get("/now").text, "and in the menu of every page"
