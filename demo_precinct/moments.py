"""The demo started part-way: the place and its office on two ports, the day played up to a moment, then the clock runs on by itself.

With doors for tablets the place has a name ending in .local, which this computer answers to by itself, so that tablets at hand find it.
"""

import os
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from demo_precinct import board_demo, rehearsed_county, story
from demo_precinct.office_night import DeskNight
from demo_precinct.rehearsed_day import MINUTE, Day
from demo_precinct.true_figures import invented
from webapp import plain_file
from webapp.commands.server.tablet_listeners import TabletListeners, watched
from webapp.office.setup import enrolment, office_file
from webapp.precinct.place import place_file
from webapp.precinct.place.place import Place
from webapp.serving.server import RunningServer, laptop, opened
from webapp.settings import Settings

MOMENTS = {
    "before-dawn": "arrivals",
    "opened": "hourly",
    "noon": "noon-look",
    "polls-closed": "search",
    "tapes": "tape-prints",
    "packet-ready": "copies",
    "office": "",
}
"""Each moment and the step before which the day stops; "" plays it to its end."""
SEED = 1
NAME = "tapeseal-demo-"
LOCAL = b"w3.local"


@dataclass
class Demo:
    """What runs: links, who has which PIN or slip code, how to stop it, and the doors for tablets where they are open."""

    place: Place
    links: dict[str, str]
    pins: dict[str, str]
    codes: dict[str, str]
    desk_pins: dict[str, str]
    desk_codes: dict[str, str]
    stop: Callable[[], None]
    tablets: TabletListeners | None = None
    board: board_demo.BoardDemo | None = None


class _Serving:
    """The servers of a demo and what ends with them. `begin`: at which time their clocks start, ms UTC."""

    def __init__(self, begin: int, beside: TabletListeners | None, scratch: tempfile.TemporaryDirectory[str] | None):
        self.begin, self.beside, self.scratch = begin, beside, scratch
        self.apps: list[Any] = []
        self.runs: list[RunningServer] = []

    def up(self, role: str, where: Path, port: int, beside: TabletListeners | None = None) -> RunningServer:
        import webapp

        app = webapp.create_app(Settings(role, where, port=port, clock="scripted", start=self.begin))
        self.apps.append(app)
        doors = [laptop(app, "127.0.0.1", port), *(beside.doorways(app) if beside else ())]
        self.runs.append(opened(doors, (beside.tick,) if beside else ()))
        return self.runs[-1]

    def stop(self) -> None:
        for run in self.runs:
            run.stop()
        if self.beside:
            self.beside.close()
        for app in self.apps:
            app.extensions["room"].close()
        if self.scratch:
            self.scratch.cleanup()


def start(
    moment: str,
    place_port: int = 0,
    office_port: int = 0,
    folder: Path | None = None,
    tablets: tuple[str, int, int] | None = None,
    board_port: int | None = None,
) -> Demo:
    """Set both up, play to the moment, let the clock run. Raises what the servers raise when a port is taken.

    `tablets`: address, port of their door, port of the trust page. `board_port`: the count board runs too, on this port.
    """
    scratch = None if folder else scratch_folder()
    root = folder or Path(scratch.name if scratch else ".") / "demo"
    toml = (rehearsed_county.HERE / "place.toml").read_bytes()
    toml = toml.replace(b"w3.tarn.example", LOCAL) if tablets else toml
    place = place_file.read(toml)
    boarded = board_port is not None
    office = rehearsed_county.board_office() if boarded else (rehearsed_county.HERE / "office.toml").read_bytes()
    slips = rehearsed_county.prepare(root, office, [toml, board_demo.toml()] if boarded else [toml])
    home = root / "places" / place.id
    beside = TabletListeners(place, *tablets, watched(home, place)) if tablets else None
    serving = _Serving(place.at(place.opens) - 105 * MINUTE, beside, scratch)
    board = None
    try:
        at_place = serving.up("place", home, place_port, beside)
        at_office = serving.up("office", root / "office", office_port)
        day = Day(place, invented(place, SEED), at_place.port, slips[place.id], story.told(), MOMENTS[moment])
        if moment == "before-dawn":
            day.crew.clock(day.now)
        else:
            day.play()
        if board_port is not None:
            board = board_demo.start(root, slips["AB"], board_port, moment)
            serving.apps.append(board.app)
            serving.runs.append(board.run)
        desk = _desk(root, at_office.port, slips[""], day, moment)
    except BaseException:
        serving.stop()
        raise
    for app in serving.apps:
        app.extensions["room"].clock.go()
    return _told(day, desk, (at_place.port, at_office.port), slips, moment, serving.stop, beside, board)


def _told(
    day: Day,
    desk: DeskNight,
    ports: tuple[int, int],
    slips: dict,
    moment: str,
    stop: Callable[[], None],
    beside: TabletListeners | None,
    board: board_demo.BoardDemo | None,
) -> Demo:
    """What runs, with the PINs of those who are sworn in by then and the slips of those who are not."""
    place = day.place
    links = {"place": f"http://localhost:{ports[0]}/", "office": f"http://localhost:{ports[1]}/"}
    sworn = moment != "before-dawn"
    return Demo(
        place,
        links,
        {o.name: day.crew.pins[o.id] for o in place.officials} if sworn else {},
        {} if sworn else {o.name: slips[place.id][o.id] for o in place.officials},
        {o.name: desk.crew.pins[o.id] for o in desk.office.officials} if moment == "office" else {},
        {} if moment == "office" else {o.name: slips[""][o.id] for o in desk.office.officials},
        stop,
        beside,
        board,
    )


def scratch_folder() -> tempfile.TemporaryDirectory[str]:
    """A folder that goes with the demo; those of demos that were ended in the middle go now."""
    plain_file.sweep(NAME)
    return tempfile.TemporaryDirectory(prefix=f"{NAME}{os.getpid()}-")


def _desk(root: Path, port: int, codes: dict[str, str], day: Day, moment: str) -> DeskNight:
    """The office's clock with the day's; at the moment `office` its people are sworn in and wait for the packet."""
    office = office_file.read((root / "office" / enrolment.OFFICE_FILE).read_bytes())
    desk = DeskNight(office, port, codes, day.now, ZoneInfo(day.place.zone))
    if moment == "office":
        desk.open()
    else:
        desk.crew.clock(day.now)
    return desk


def wait() -> None:
    """Until the person presses Ctrl-C."""
    try:
        while True:
            time.sleep(3600)
    except KeyboardInterrupt:
        pass
