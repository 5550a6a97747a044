"""Boards that the parties do not fill evenly, made from the demo's place: everybody unaffiliated, three seats, only one party came, only one official came.

Each plays its day through the real pages; a seat that nobody here may take is kept short-signed, as the officials would.
"""

import re
from dataclasses import dataclass
from pathlib import Path

import webapp
from demo_precinct import rehearsed_county
from demo_precinct.crew import Crew
from demo_precinct.http_window import Page
from demo_precinct.rehearsed_day import MINUTE, Day, Story
from demo_precinct.true_figures import invented
from tests import few_hours
from webapp.precinct.place import place_file
from webapp.serving.server import serve_in_thread
from webapp.settings import Settings

DEMO = few_hours.in_file((rehearsed_county.HERE / "place.toml").read_bytes()).decode()
THREE_SEATS = "".join(
    f'\n[[steps]]\nid = "{step}"\nsigns = "chair+other+any"\n' for step in ("zero-tape", "polls-open", "unused")
)


UNAFFILIATED = re.sub(r'(role|name) = "([^"]*)"\nparty = "\w"', r'\1 = "\2"\nparty = "N"', DEMO).replace(
    'different = "party"', 'different = [["N", "N"]]'
)
NOBODY_OF_P_OR_N = frozenset({"okafor", "moreau", "sorensen", "nunez", "whitfield"})

BOARDS = {  # place file, and who does not come
    "everybody is unaffiliated": (UNAFFILIATED, frozenset()),
    "three seats": (DEMO + THREE_SEATS, frozenset()),
    "only one party came": (DEMO, NOBODY_OF_P_OR_N),
    "only one official came": (DEMO, NOBODY_OF_P_OR_N | {"tanaka", "achterberg"}),
}
WHY = "Nobody of another party came."


class ShortDay(Day):
    """A day on which some officials do not come: the roll call says so as an exception, and only those who came are sworn."""

    away: frozenset[str] = frozenset()

    def arrive(self) -> None:
        form = self.crew.window.get("/step/arrivals").form("/step/arrivals")
        values = self.crew.values(form, "arrivals", "") | {f"present.{person}": "" for person in self.away}
        if self.away:
            values |= {"not_so": "yes", "found": WHY, "done": "Duty clerk told at 05:20."}
        self.crew.sent(form, values)
        for official in self.place.officials:
            if official.id not in self.away:
                self.pass_time(0.5)
                self.crew.oath(official.id, self.codes[official.id])
        self.crew.hold(self.place.officials[0].id)


class FewHands(Crew):
    """A crew that tells the office when nobody here may take the seat that is open."""

    def second(self, page: Page) -> Page:
        if page.form(page.path + "/short") and "signer" not in _controls(page, page.path):
            return self.short(page)
        return super().second(page)

    def short(self, page: Page) -> Page:
        form = page.form(page.path + "/short")
        who = form.controls["signer"].options[0]
        self.tally.signatures += 1
        self.tally.short += 1
        return self.sent(
            form,
            {
                "why": "none-here",
                "told": "duty clerk",
                "told_at": self.wall(page),
                "signer": who,
                "pin": self.pins[who],
            },
        )


def _controls(page: Page, action: str):
    return next((f.controls for f in page.forms if f.action == action), {})


@dataclass
class Played:
    """What one board's day left behind."""

    day: Day
    app: object
    running: object
    folder: Path

    @property
    def kept(self):
        return self.app.extensions["room"].day

    def stop(self) -> None:
        self.running.stop()
        self.app.extensions["room"].close()


def play(folder: Path, board: str, until: str = "") -> Played:
    """The board's day to the end, or to the step before which it is to stop."""
    text, away = BOARDS[board]
    toml = text.encode()
    place = place_file.read(toml)
    codes = rehearsed_county.prepare(folder, (rehearsed_county.HERE / "office.toml").read_bytes(), [toml])[place.id]
    home = folder / "places" / place.id
    app = webapp.create_app(
        Settings("place", home, mode=place.mode, clock="scripted", start=place.at(place.opens) - 120 * MINUTE)
    )
    running = serve_in_thread(app)
    alone = (
        {
            "depart": lambda day: day.crew.do(
                "depart",
                not_so="yes",
                found=WHY,
                done="Duty clerk told; a deputy of the office drives behind.",
                second_carrier="",
            )
        }
        if away
        else {}
    )
    day = ShortDay(place, invented(place, 2), running.port, codes, Story({}, {}, alone), until)
    day.away = away
    day.crew = FewHands(place, day.crew.window, day.answers, day.crew.pins)
    played = Played(day, app, running, home)
    try:
        day.play()
    except BaseException:
        played.stop()
        raise
    return played
