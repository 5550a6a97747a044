"""The demo of an accuracy test: the test of the invented place, from its beginning or with the first tape just typed."""

from pathlib import Path
from zoneinfo import ZoneInfo

from demo_precinct import moments, rehearsed_county
from demo_precinct.moments import Demo
from demo_precinct.office_night import DeskNight
from demo_precinct.rehearsed_test import BEFORE, DeckTest
from demo_precinct.tests_first import enrolled, test_place
from webapp.office.setup import enrolment, office_file
from webapp.precinct.place import place_file
from webapp.serving.server import RunningServer, laptop, opened
from webapp.settings import Settings

MOMENTS = {"before-dawn": "arrivals", "tapes": "compared"}
"""The moments of a test, each with the step before which it stops; at `tapes` two ovals are exchanged, and nobody knows it yet."""


def start(moment: str, place_port: int = 0, office_port: int = 0, folder: Path | None = None) -> Demo:
    """Set test and office up, play to the moment, let the clock run. Raises what the servers raise when a port is taken."""
    import webapp

    scratch = None if folder else moments.scratch_folder()
    root = folder or Path(scratch.name if scratch else "") / "demo"
    place = place_file.read((rehearsed_county.HERE / "place.toml").read_bytes())
    desk_codes = rehearsed_county.open_office(root, (rehearsed_county.HERE / "office.toml").read_bytes())[""]
    home = root / "tests" / place.id
    home.parent.mkdir()
    codes = enrolled(home, root / "office", place)
    rehearsed_county.enrol_all(root, [place])  # the office awaits the place's day already
    begin = place.at(place.opens) - BEFORE
    apps, runs = [], []

    def up(role: str, where: Path, port: int) -> RunningServer:
        app = webapp.create_app(Settings(role, where, port=port, clock="scripted", start=begin))
        apps.append(app)
        runs.append(opened([laptop(app, "127.0.0.1", port)], ()))
        return runs[-1]

    def stop() -> None:
        for run in runs:
            run.stop()
        for app in apps:
            app.extensions["room"].close()
        if scratch:
            scratch.cleanup()

    try:
        at_place, at_office = up("place", home, place_port), up("office", root / "office", office_port)
        test = DeckTest(test_place(place), at_place.port, codes, MOMENTS[moment])
        if moment == "before-dawn":
            test.crew.clock(test.now)
        else:
            test.play()
        office = office_file.read((root / "office" / enrolment.OFFICE_FILE).read_bytes())
        desk = DeskNight(office, at_office.port, desk_codes, test.now, ZoneInfo(place.zone))
        desk.crew.clock(test.now)
    except BaseException:
        stop()
        raise
    for app in apps:
        app.extensions["room"].clock.go()
    links = {"place": f"http://localhost:{at_place.port}/", "office": f"http://localhost:{at_office.port}/"}
    sworn = moment != "before-dawn"
    names = {o.id: o.name for o in place.officials}
    return Demo(
        place,
        links,
        {names[person]: pin for person, pin in test.crew.pins.items()} if sworn else {},
        {} if sworn else {names[person]: code for person, code in codes.items()},
        {},
        {o.name: desk_codes[o.id] for o in office.officials},
        stop,
    )
