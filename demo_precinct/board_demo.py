"""The demo's count board: served beside the polling place and the office, its two days played up to the demo's moment."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from demo_precinct.board_days import BoardDays
from demo_precinct.board_rehearsal import board_files
from demo_precinct.rehearsed_day import HOUR
from webapp.precinct.place.place import Place
from webapp.serving.server import RunningServer, laptop, opened
from webapp.settings import Settings

ENVELOPES, SEED = 240, 1
HALF = ("opened", "noon")  # moments at which half of the batches are fed
WHOLE = ("polls-closed", "tapes")  # at which every batch is fed and nothing is closed


@dataclass
class BoardDemo:
    """The board that runs: its link, and who has which PIN or slip code."""

    place: Place
    app: object
    run: RunningServer
    link: str
    pins: Mapping[str, str]
    codes: Mapping[str, str]


def toml() -> bytes:
    return board_files(ENVELOPES, SEED)[0]


def start(root: Path, slips: dict[str, str], port: int, moment: str) -> BoardDemo:
    """Serve the board's folder and play it up to the moment. Raises what the server raises when the port is taken."""
    import webapp

    _, place, truth = board_files(ENVELOPES, SEED)
    start_at = place.at(place.opens) - 24 * HOUR
    app = webapp.create_app(Settings("place", root / "places" / place.id, port=port, clock="scripted", start=start_at))
    run = opened([laptop(app, "127.0.0.1", port)])
    try:
        days = BoardDays(truth, run.port, slips, SEED)
        if moment == "before-dawn":
            days.crew.clock(days.now)
        else:
            play(days, moment)
    except BaseException:
        run.stop()
        app.extensions["room"].close()
        raise
    app.extensions["room"].clock.go()
    sworn = moment != "before-dawn"
    people = {o.name: (days.crew.pins if sworn else slips)[o.id] for o in place.officials}
    return BoardDemo(place, app, run, f"http://localhost:{run.port}/", people if sworn else {}, {} if sworn else people)


def play(days: BoardDays, moment: str) -> None:
    """Up to the middle of the count, to its end, or to the departure."""
    days.begin()
    days.first_day()
    days.second_morning()
    if moment in HALF:
        days.count(part=0.5)
        return
    days.count()
    if moment not in WHOLE:
        days.close()
