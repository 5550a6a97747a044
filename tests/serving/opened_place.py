"""A polling place with all three doors open in this process, put together as `tapeseal precinct DIR --tablets` does it; and its office beside it."""

import http.client
from dataclasses import dataclass
from pathlib import Path

import pytest

import webapp
from demo_precinct import rehearsed_county
from tests.serving.conftest import PATIENCE, trusting
from webapp.commands.server.tablet_listeners import TabletListeners, watched
from webapp.gate import kit, verifier
from webapp.gate.signed_place_file import load_place
from webapp.serving import server
from webapp.settings import Settings

TOML = (rehearsed_county.HERE / "place.toml").read_bytes()
HOST = "w3.tarn.example"
DOORS = ("laptop", "tablets", "trust")


@dataclass
class OpenedPlace:
    """`ask(door, ...)` knocks at one of its doors as a client that was prepared."""

    folder: Path
    app: object
    tablets: TabletListeners
    running: server.RunningServer

    def port(self, door: str) -> int:
        return self.running.ports[DOORS.index(door)]

    def ask(self, door: str, path: str, method: str = "GET", body=None, headers=None):
        """(status, headers, body) of one request."""
        if door == "tablets":
            client = Named(HOST, self.port(door), timeout=PATIENCE, context=trusting(self.tablets.watched.shown))
        else:
            client = http.client.HTTPConnection("127.0.0.1", self.port(door), timeout=PATIENCE)
        with_host = {"Host": f"{HOST}:{self.port(door)}"} if door == "tablets" else {}
        client.request(method, path, body, with_host | (headers or {}))
        answer = client.getresponse()
        found = answer.status, answer.headers, answer.read()
        client.close()
        return found


class Named(http.client.HTTPSConnection):
    """A client that finds every name at this computer."""

    def connect(self) -> None:
        name, self.host = self.host, "127.0.0.1"
        http.client.HTTPConnection.connect(self)
        self.host = name
        self.sock = self._context.wrap_socket(self.sock, server_hostname=name)


def opened(folder: Path) -> OpenedPlace:
    place = load_place(folder)
    app = webapp.create_app(Settings("place", folder, place.mode))
    beside = TabletListeners(place, "127.0.0.1", 0, 0, watched(folder, place))
    return OpenedPlace(
        folder, app, beside, server.opened([server.laptop(app, "127.0.0.1", 0), *beside.doorways(app)], (beside.tick,))
    )


@pytest.fixture(scope="module")
def prepared(tmp_path_factory):
    """The folder in which an office has enrolled its place: `office` and `places/W3`; the slips' codes."""
    with pytest.MonkeyPatch.context() as quick:
        quick.setattr(verifier, "MEMORY_KIB", 64)
        quick.setattr(kit, "MEMORY_KIB", 64)
        folder = tmp_path_factory.mktemp("prepared")
        codes = rehearsed_county.prepare(folder, (rehearsed_county.HERE / "office.toml").read_bytes(), [TOML])
    return folder, codes


@pytest.fixture(scope="module")
def place(prepared):
    made = opened(prepared[0] / "places" / "W3")
    yield made
    made.running.stop()
    made.tablets.close()
    made.app.extensions["room"].close()


@pytest.fixture(scope="module")
def desk(prepared):
    """The office's desk: its app, and the port it is served at."""
    app = webapp.create_app(Settings("office", prepared[0] / "office"))
    running = server.serve_in_thread(app)
    yield app, running.port
    running.stop()
    app.extensions["room"].close()
