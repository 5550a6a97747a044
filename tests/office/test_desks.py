"""Several desks at one office: a door over TLS, pairing and admitting, one night on every page, two desks on one step."""

import argparse
import re
from dataclasses import replace

import pytest

from demo_precinct import http_window
from demo_precinct.http_window import Window
from demo_precinct.rehearsed_day import MINUTE
from tests.office.test_desk import with_seals
from tests.serving.conftest import trusting
from tests.serving.opened_place import Named
from webapp.commands import Stop
from webapp.commands.server import desk_listeners
from webapp.serving import server

HOST = "desk.tarn.example"


class DeskWindow(Window):
    """A browser at a further desk: over TLS, by the office's name, trusting its authority and nobody else."""

    def __init__(self, port: int, shown):
        super().__init__(port, HOST)
        self.trusts = trusting(shown)

    def _once(self, method, path, body, headers):
        if self._line is None or self._line.sock is None:
            self._line = Named(HOST, self.port, timeout=60, context=self.trusts)
            self._line.connect()
        own = {"Origin": f"https://{HOST}:{self.port}"} if "Origin" in headers else {}
        return super()._once(method, path, body, {**headers, **own})


@pytest.fixture
def desks(night, monkeypatch):
    """(the night, a function that opens a further desk's window); the doors are those of `office DIR --desks`."""
    monkeypatch.setattr(http_window, "_hung_up", lambda line: line.sock is None)  # TLS sends by itself: that is no end
    office = replace(night.office, host=HOST)
    doors = desk_listeners.opened(night.folder, office, "practice", "127.0.0.1", 0, 0)
    running = server.opened(list(doors.doorways(night.app)), (doors.tick,))
    yield night, lambda: DeskWindow(running.ports[0], doors.watched.shown)
    running.stop()
    doors.close()


def admitted(night, desk) -> str:
    """Pair this desk and admit it at the office's computer; its letter."""
    page = night.window.send(night.window.get("/tablets").form("/tablets/code"))
    digits = "".join(re.search(r'aria-label="Code ([\d ]+)"', page.text)[1].split())
    page = desk.send(desk.get("/pair").form("/pair"), {"code": digits})
    letter = re.search(r"This is desk ([A-Z]+)", page.text)[1]
    assert desk.get("/places").path == "/pair", "nothing opens before it is admitted"
    form = night.window.get("/tablets").form(f"/tablets/{letter}/admit")
    night.window.send(form, {"signer": "calloway", "pin": night.crew.pins["calloway"]})
    return letter


def hold(night, desk, person: str) -> None:
    desk.send(desk.get("/tablet").form("/tablet/take"), {"signer": person, "pin": night.crew.pins[person]})


def test_two_further_desks_see_the_same_night_and_one_step_is_kept_once(desks):
    night, another = desks
    night.hold()
    one, two = another(), another()
    assert one.get("/totals").path == "/pair" and "Pair this desk" in one.get("/pair").text
    letters = [admitted(night, one), admitted(night, two)]
    assert len(set(letters)) == 2 and night.kinds.count("paired") == 2
    hold(night, one, "durand")
    hold(night, two, "fontaine")
    # a packet comes in at one desk; every desk's page says so
    page = night.upload(("packet.cose", b"".join(night.seal["W3"](**with_seals(night)))), window=one)
    page = one.send(page.form("/intake/take"))
    assert page.path == "/place/W3", page.said()
    assert list(night.room.ledger.entries())[-1].tablet == letters[0]
    pages = [w.get("/places").text.partition("<main")[2] for w in (night.window, one, two)]
    assert all("1 of 2 places are in" in text and "figures in" in text for text in pages)
    assert f"Open at desk {letters[0]}, Jasper Durand" in two.get("/place/W3").text
    assert "Open at desk" not in one.get("/place/W3").text or f"desk {letters[0]}" not in one.get("/place/W3").text
    # two desks fill in the same step; the second is told who was first
    night.now += MINUTE
    night.crew.clock(night.now)
    path = "/place/W3/carriers-in"
    forms = [window.get(path).form(path) for window in (one, two)]
    values = [night.crew.values(form, "carriers-in", "") for form in forms]
    first = one.send(forms[0], values[0] | {"signer": "durand", "pin": night.crew.pins["durand"]})
    late = two.send(forms[1], values[1] | {"signer": "fontaine", "pin": night.crew.pins["fontaine"]})
    if first.path.startswith("/sign/"):
        first = one.send(first.form(first.path), {"signer": "calloway", "pin": night.crew.pins["calloway"]})
    if late.path.startswith("/sign/"):
        late = two.send(late.form(late.path), {"signer": "ekstrom", "pin": night.crew.pins["ekstrom"]})
    assert night.kinds.count("carriers-in") == 1
    assert "Already entry" in late.text and "Jasper Durand" in late.text, late.said()
    # removed at the office's computer, a desk opens nothing any more
    form = night.window.get("/tablets").form(f"/tablets/{letters[1]}/strike")
    night.window.send(form, {"why": "put-away", "signer": "calloway", "pin": night.crew.pins["calloway"]})
    assert two.get("/places").path == "/pair" and one.get("/places").path == "/places"


def test_the_list_of_desks_is_the_office_computers_alone(desks):
    night, another = desks
    night.hold()
    desk = another()
    admitted(night, desk)
    assert desk.get("/tablets").path == "/tablet"
    assert desk.post("/tablets/code", []).status in (400, 404)


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ({"desks": "desk.tarn.example"}, "is not an address of this computer"),
        ({"desk_port": 70000}, "Port 70000 does not exist"),
        ({"desk_port": 8622}, "three doors: give each a number of its own"),
        ({}, "office.toml has no host"),
    ],
)
def test_options_that_do_not_go_together_are_refused_before_anything_is_written(ready, words, says):
    folder = ready[0]
    from webapp.office.setup import office_file

    office = office_file.read((folder / "office.toml").read_bytes())
    options = {"desks": "127.0.0.1", "port": 8620, "desk_port": 8621, "trust_port": 8622} | words
    with pytest.raises(Stop) as stopped:
        desk_listeners.asked_for(argparse.Namespace(**options), folder, office, "practice")
    assert says in str(stopped.value)
    options["desks"] = None
    assert desk_listeners.asked_for(argparse.Namespace(**options), folder, office, "practice") is None


def test_the_list_says_desk_and_offers_a_code_only_where_a_door_is_open(night):
    night.hold()
    page = night.window.get("/tablets")
    assert "This office is open on this computer alone" in page.text and "Pair a desk" not in page.text


def test_what_is_refused_about_a_desk_calls_it_a_desk(desks):
    night, another = desks
    night.hold()
    letter = admitted(night, another())
    page = night.window.get("/tablets")
    assert "Desks open this address" in page.text and "Pair a desk" in page.text
    page = night.window.send(page.form(f"/tablets/{letter}/strike"), {})
    assert f"Select why desk {letter} is removed." in page.said()
