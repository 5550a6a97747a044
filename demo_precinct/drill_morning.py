"""The morning before a drill by hand: a place whose day is today, and its day played until now."""

import re
import time
from contextlib import suppress
from datetime import datetime, timedelta
from pathlib import Path

import webapp
from demo_precinct import sticks, story
from demo_precinct.laptop_dies import Died
from demo_precinct.rehearsed_day import MINUTE, Day
from demo_precinct.true_figures import invented
from webapp.precinct.place.place import Place
from webapp.serving.server import serve_in_thread
from webapp.settings import Settings


class UntilNow(Day):
    """The practice day as far as the computer's own clock, which is noon there."""

    until = 0
    few = 1000  # steps at the most

    def step(self, key: str, hours: list) -> None:
        self.few -= 1
        if self.now > self.until - 10 * MINUTE or self.few < 0:
            raise Died
        super().step(key, hours)

    def hour(self, hours: list) -> None:
        if hours[0][0] > self.until - 12 * MINUTE:
            raise Died
        super().hour(hours)


def at_noon(toml: bytes, now: datetime) -> bytes:
    """The place file with a zone and a date in which it is noon now, so that no clock has to be set: between 11:30 and 12:29."""
    ahead = (12 if now.minute < 30 else 11) - now.hour
    zone = f"Etc/GMT{-ahead:+d}" if ahead else "Etc/GMT"
    day = (now + timedelta(hours=ahead)).date()
    text = re.sub(r'(?m)^zone = ".*"$', f'zone = "{zone}"', toml.decode(), count=1)
    return re.sub(r"(?m)^date = .*$", f"date = {day.isoformat()}", text, count=1).encode()


def morning(place: Place, laptop: Path, stick: Path, codes: dict[str, str]) -> None:
    """The practice day up to now, on the laptop and on the stick."""
    until = time.time_ns() // 1_000_000
    start = place.at(place.opens) - 120 * MINUTE
    app = webapp.create_app(Settings("place", laptop, mode=place.mode, clock="scripted", start=start))
    running = serve_in_thread(app)
    backup = sticks.copying(laptop, place, stick)
    day = UntilNow(place, invented(place, 1), running.port, codes, story.told())
    day.until = until
    try:
        with suppress(Died):
            day.play()
    finally:
        running.stop()
        app.extensions["room"].close()
        backup.close(within=sticks.PATIENCE)
