"""The rehearsed demo day's packet, and an office of two places whose people are sworn and whose tray is empty."""

import shutil
from dataclasses import dataclass, field, replace
from pathlib import Path
from types import SimpleNamespace
from zoneinfo import ZoneInfo

import pytest

import webapp
from demo_precinct import rehearsed_county
from demo_precinct.http_window import Window
from demo_precinct.office_night import Brought, DeskAnswers, DeskNight
from demo_precinct.rehearsed_day import MINUTE
from tests.rehearsal.conftest import demo  # noqa: F401 - the same rehearsed day
from webapp.gate import keys
from webapp.office.setup import office_file, roster
from webapp.packet.envelope import open_packet, parts_of, seal_packet
from webapp.precinct.place import place_file
from webapp.serving.server import serve_in_thread
from webapp.settings import Settings

SECOND = "W5"


def sealing(key, opened):
    """`sealed(core changes) -> parts` under this key; `...` takes a name out."""

    def sealed(signed_for: str = "practice", by=key, notes=None, **changes):
        core = {k: v for k, v in opened.core.items() if k != "remarks_digest"} | changes
        return seal_packet(
            {k: v for k, v in core.items() if v is not ...}, opened.remarks if notes is None else notes, by, signed_for
        ).parts

    return sealed


@pytest.fixture(scope="session")
def desk(demo):  # noqa: F811 - a fixture that takes a fixture
    """Roster, the packet's parts and contents, and `sealed`, signed by the place's own key."""
    _, folder = demo
    place = folder / "places" / "W3"
    parts = parts_of((place / "packet" / "1.cose").read_bytes())
    found = roster.load(folder / "office")
    opened = open_packet(parts, found.keys, "practice")
    return SimpleNamespace(
        folder=folder, roster=found, parts=parts, opened=opened, sealed=sealing(keys.place_key(place), opened)
    )


@pytest.fixture(scope="session")
def ready(tmp_path_factory, desk):
    """(folder of an office before the first packet, its slips' codes, {place id: sealing of its key})."""
    folder: Path = tmp_path_factory.mktemp("office") / "night"
    toml = (rehearsed_county.HERE / "place.toml").read_bytes()
    second = replace(place_file.read(toml), id=SECOND, name="Heathfield Chapel", host="")
    codes = rehearsed_county.prepare(folder, (rehearsed_county.HERE / "office.toml").read_bytes(), [toml, second])
    digests = {p.id: p.digest for p in roster.load(folder / "office").places.values()}
    seal = {}
    for name in digests:
        inner = sealing(keys.place_key(folder / "places" / name), desk.opened)
        seal[name] = lambda inner=inner, name=name, **changes: inner(
            **({"place": name, "place_digest": digests[name]} | changes)
        )
    night = Night(folder / "office").start()
    night.crew_of(codes[""]).open()
    night.stop()
    return folder / "office", codes[""], seal


@dataclass
class Night:
    """A served office with its people, and windows that are tablets."""

    folder: Path
    seal: dict = field(default_factory=dict)
    codes: dict = field(default_factory=dict)
    others: list[Window] = field(default_factory=list)

    def start(self) -> "Night":
        place = next(iter(roster.load(self.folder).places.values()))
        self.office, self.zone = office_file.read((self.folder / "office.toml").read_bytes()), ZoneInfo(place.zone)
        self.now = place.at(place.closes) + 150 * MINUTE
        self.app = webapp.create_app(Settings("office", self.folder, port=0, clock="scripted", start=self.now))
        self.running = serve_in_thread(self.app)
        self.desk = self.crew_of(self.codes)
        self.window, self.crew = self.desk.crew.window, self.desk.crew
        return self

    def crew_of(self, codes) -> DeskNight:
        return DeskNight(self.office, self.running.port, codes, self.now, self.zone)

    @property
    def room(self):
        return self.app.extensions["room"]

    @property
    def kinds(self) -> list[str]:
        return [entry.kind for entry in self.room.ledger.entries()]

    def another(self) -> Window:
        self.others.append(Window(self.running.port))
        return self.others[-1]

    def hold(self) -> None:
        self.crew.hold(self.office.officials[0].id)

    def upload(self, *files: tuple[str, bytes], window: Window | None = None):
        window = window or self.window
        return window.upload(window.get("/intake").form("/intake/file"), "files", files)

    def take_in(self, place: str, **changes):
        """A packet of this place as its file, taken in by the holder of the tablet."""
        page = self.upload(("packet.cose", b"".join(self.seal[place](**changes))))
        assert page.status == 200, page.said()
        return self.window.send(page.form("/intake/take"))

    def goods(self, place: str, seals: dict[str, str]) -> None:
        """Every step of the desk for one place."""
        self.crew.answer = DeskAnswers(Brought(place, [], seals, {"T1": 265, "T2": 252}), self.desk.wall())
        self.desk.goods(place)

    def stop(self) -> None:
        for window in (self.window, *self.others):  # a server waits for the lines that are open
            window.close()
        self.running.stop()
        self.room.close()

    def restart(self) -> None:
        self.stop()
        self.start()


@pytest.fixture
def night(ready, tmp_path):
    """The office's night, before the first packet came."""
    folder, codes, seal = ready
    shutil.copytree(folder, tmp_path / "office")
    made = Night(tmp_path / "office", seal, codes).start()
    yield made
    made.stop()


TAPES = [{"id": "T1", "box": "B1", "runs": [{"unit": "T1", "counter": [0, 4], "lifetime": [9000, 9004]}], "tape": 4}]


def tiny(place, ballots: int = 4) -> dict:
    """Changes to the demo's core that make it a place of a few ballots: one vote for the first choice on each, the rest undervotes."""
    rows = {
        c.id: [ballots, *[0] * (len(c.choices) - 1), 0 if c.write_in else None, ballots * (c.n - 1), 0, ballots]
        for c in place.typed_contests()
    }
    return {
        "tabulators": [
            TAPES[0]
            | {"tape": ballots, "runs": [{"unit": "T1", "counter": [0, ballots], "lifetime": [9000, 9000 + ballots]}]}
        ],
        "contests": rows,
        "write_ins": ...,
        "people": [{"id": "poll_book", "n": ballots}],
        "readings": [],
        "boxes": ...,
        "emergency": [],
        "aside": {},
        "stock": {},
        "gaps": [],
    }
