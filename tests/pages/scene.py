"""One day of the invented place, played once through the pages and stopped at moments; each test gets a copy of the folder as it lay then.

Nothing here knows how a page works inside: it fills in forms, as a person would.
"""

import copy
import shutil
from dataclasses import dataclass, field
from pathlib import Path

import webapp
from demo_precinct import rehearsed_county
from demo_precinct.answers import Answers
from demo_precinct.crew import Crew
from demo_precinct.http_window import Form, Page, Window
from demo_precinct.rehearsed_day import MINUTE, Day, Story
from demo_precinct.true_figures import Truth, invented
from webapp.precinct.day.hours import closing_hour
from webapp.precinct.place import place_file
from webapp.precinct.place.place import Place
from webapp.serving.server import RunningServer, serve_in_thread
from webapp.settings import Settings

MOMENTS = (
    "dawn",
    "sworn",
    "polls-open",
    "voting",
    "line-end",
    "unused",
    "first-look",
    "tape-prints",
    "remark",
    "packet",
)


class Player(Day):
    """The rehearsed day, stopped wherever a test wants to come in. "voting" is after the third reading."""

    def __init__(self, *args):
        super().__init__(*args)
        self.hours = self.readings()

    def until(self, moment: str) -> None:
        if moment == "dawn":
            return self.crew.clock(self.now)
        if moment == "sworn":
            return self.arrive()
        while key := self.crew.next_key() or (self.hours and "hour"):
            waits = key in ("hour", "line-end")
            if moment == "voting" and waits and len(self.readings()) - len(self.hours) == 3:
                return
            if key.partition(":")[0] == moment and not (waits and self.hours):
                return
            self.hour(self.hours) if key == "hour" else self.step(key, self.hours)


class Patient(Crew):
    """A crew that waits for the hour in force before it declares the polls closed."""

    def do(self, key: str, /, **own) -> Page:
        self.scene.await_hour(key)
        return super().do(key, **own)


@dataclass
class Scene:
    """A server on a copy of the folder, people with their PINs, windows."""

    folder: Path
    place: Place
    codes: dict[str, str]
    truth: Truth
    answers: Answers
    now: int
    office: Path | None = None  # the folder of the office that enrolled this place
    app: object = None
    running: RunningServer | None = None
    windows: list[Window] = field(default_factory=list)

    def start(self) -> "Scene":
        self.app = webapp.create_app(
            Settings("place", self.folder, mode=self.place.mode, port=0, clock="scripted", start=self.now)
        )
        self.running = serve_in_thread(self.app)
        self.answers.wall = lambda: self.now
        self.window = self.another()
        self.crew = Patient(self.place, self.window, self.answers, self.pins)
        self.crew.scene = self
        return self

    @property
    def pins(self) -> dict[str, str]:
        from demo_precinct.rehearsed_day import PINS

        return {o.id: PINS[i % len(PINS)] for i, o in enumerate(self.place.officials)}

    @property
    def room(self):
        return self.app.extensions["room"]

    @property
    def length(self) -> int:
        return self.room.ledger.length

    def another(self) -> Window:
        """Another tablet."""
        self.windows.append(Window(self.running.port))
        return self.windows[-1]

    def stop(self) -> None:
        for window in self.windows:
            window.close()
        self.running.stop()
        self.room.close()

    def restart(self) -> None:
        """The program is stopped and started again; the tablet keeps its cookies, which carry the port."""
        self.stop()
        self.windows = []
        self.start()

    def pass_time(self, minutes: float) -> None:
        self.now += int(minutes * MINUTE)
        self.crew.clock(self.now)

    def hold(self, person: str = "lindqvist") -> None:
        self.crew.hold(person)

    def signed(self, values: dict, person: str) -> dict:
        return {**values, "signer": person, "pin": self.pins[person]}

    def await_hour(self, key: str) -> None:
        """Nobody declares the polls closed before the hour in force."""
        closes = closing_hour(self.place, self.room.day)
        if key == "polls-closed" and self.now < closes:
            self.pass_time((closes - self.now) / MINUTE)

    def form(self, path: str, action: str = "", window: Window | None = None) -> Form:
        return (window or self.window).get(path).form(action or path)

    def filled(self, form: Form, step: str, at: str = "") -> dict:
        return {k: v for k, v in self.crew.values(form, step, at).items() if k not in ("signer", "pin")}

    def first(self, key: str, person: str = "lindqvist", **own) -> Page:
        """The first signature of a step; the page where the second one is awaited."""
        self.await_hour(key)
        form = self.window.get(f"/step/{key}").form("/step/")
        step, _, at = key.partition(":")
        return self.window.send(form, self.signed({**self.filled(form, step, at), **own}, person))

    def second(self, page: Page, person: str = "okafor", window: Window | None = None, pin: str = "") -> Page:
        return (window or self.window).send(page.form(page.path), {"signer": person, "pin": pin or self.pins[person]})

    def reading(self, more: int = 0) -> Page:
        """An hour later the next reading is signed, with so many `more` ballots on the first counter; the page it leads to."""
        self.pass_time(60)
        self.hold()
        todo = [
            task.key for task in self.room.tasks(self.room.now()) if task.step.id == "hourly" and task.state != "kept"
        ]
        key = next(key for key in todo if self.window.get(f"/step/{key}").status == 200)
        form = self.form(f"/step/{key}")
        values = self.filled(form, "hourly", key.partition(":")[2])
        counter = next(name for name in values if "counters." in name)
        values[counter] = str(int(values[counter]) + more)
        return self.window.send(form, self.signed(values, "lindqvist"))

    def kinds(self, after: int = 0) -> list[str]:
        """Kinds in the record, in order, beyond entry `after`."""
        return [entry.kind for entry in self.room.ledger.entries(after=after)]


class Playbook:
    """The day played forward as far as tests ask, with a copy of the folder at every moment passed."""

    def __init__(self, folder: Path):
        toml = (rehearsed_county.HERE / "place.toml").read_bytes()
        self.place = place_file.read(toml)
        self.codes = rehearsed_county.prepare(folder, (rehearsed_county.HERE / "office.toml").read_bytes(), [toml])[
            self.place.id
        ]
        self.folder, self.saved, self.signatures = folder, {}, {}
        self.home = folder / "places" / self.place.id
        self.app = webapp.create_app(
            Settings(
                "place",
                self.home,
                mode=self.place.mode,
                port=0,
                clock="scripted",
                start=self.place.at(self.place.opens) - 120 * MINUTE,
            )
        )
        self.running = serve_in_thread(self.app)
        self.truth = invented(self.place, 7)
        self.player = Player(self.place, self.truth, self.running.port, self.codes, Story({}, {}, {}, differs=False))

    def at(self, moment: str, moments: tuple[str, ...] = MOMENTS) -> tuple[Path, Answers, int]:
        """(the folder as it lay then, the people's answers, ms UTC). moments: in the order in which the day is played and copied."""
        for name in moments[: moments.index(moment) + 1]:
            if name not in self.saved:
                self.player.until(name)
                self.signatures[name] = self.player.crew.tally.signatures
                kept = self.folder / "moments" / name
                shutil.copytree(self.home, kept)
                self.saved[name] = kept, self.copied(), self.player.now
        return self.saved[moment]

    def copied(self) -> Answers:
        """The answers as they stand: seals in hand, readings so far. The wall is put in anew by each scene."""
        answers, wall = self.player.answers, self.player.answers.wall
        answers.wall = None
        twin = copy.deepcopy(answers)
        answers.wall = wall
        return twin

    def close(self) -> None:
        self.running.stop()
        self.app.extensions["room"].close()


@dataclass(frozen=True)
class StoredDay:
    """A day that another process may have played: what of a Playbook lies on the disk."""

    place: Place
    codes: dict[str, str]
    folder: Path
    saved: dict[str, tuple[Path, Answers, int]]
    signatures: dict[str, int]

    @classmethod
    def played(cls, folder: Path) -> "StoredDay":
        """The whole day, played in this folder."""
        folder.mkdir()
        book = Playbook(folder)
        try:
            book.at(MOMENTS[-1])
        finally:
            book.close()
        return cls(book.place, book.codes, folder, book.saved, book.signatures)

    def at(self, moment: str) -> tuple[Path, Answers, int]:
        """(the folder as it lay then, the people's answers, ms UTC)."""
        return self.saved[moment]
