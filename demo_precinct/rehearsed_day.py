"""One day from dawn to departure, played through the real pages: every step as Now offers it, the notes and the story at their hours."""

from collections.abc import Callable
from dataclasses import dataclass

from demo_precinct.answers import Answers
from demo_precinct.crew import Crew
from demo_precinct.http_window import Page, Stuck, Window
from demo_precinct.true_figures import Truth, parts
from webapp.precinct.place.place import Place

MINUTE, HOUR = 60_000, 3_600_000
PINS = (
    "294817",
    "735826",
    "481739",
    "905263",
    "617384",
    "352908",
    "846015",
    "173692",
    "569317",
    "218463",
    "934170",
    "407285",
)


@dataclass
class Story:
    """What the day tells besides the figures: called with the crew at the hours named. Empty for the places of a results file."""

    at_hour: dict[int, Callable[["Day"], None]]
    before: dict[str, Callable[["Day"], None]]  # step key -> done just before it
    instead: dict[str, Callable[["Day"], None]]  # step key -> done instead of the plain way
    differs: bool = False  # the two keyings of the first tape differ in one figure
    remark: str = "Cause unknown. Bins, floor and booths were searched by both parties; nothing was found."


class Day:
    """The day's director: moves the practice clock, follows Now, has each step done."""

    def __init__(
        self, place: Place, truth: Truth, port: int, codes: dict[str, str], story: Story, stop_before: str = ""
    ):
        self.place, self.truth, self.codes, self.story, self.stop_before = place, truth, codes, story, stop_before
        self.now = place.at(place.opens) - 105 * MINUTE
        self.answers = Answers(truth, lambda: self.now)
        pins = {o.id: PINS[i % len(PINS)] for i, o in enumerate(place.officials)}
        self.crew = Crew(place, Window(port), self.answers, pins)
        self.findings: list[dict] = []

    def pass_time(self, minutes: float) -> None:
        self.go(self.now + int(minutes * MINUTE))

    def go(self, ms: int) -> None:
        """To this moment, never back."""
        if ms > self.now:
            self.now = ms
            self.crew.clock(ms)

    def play(self) -> bool:
        """The whole day. False when it stopped at the step before which it was told to stop."""
        self.crew.clock(self.now)
        self.arrive()
        hours = self.readings()
        for _ in range(400):
            key = self.crew.next_key()
            if key is None:
                if hours:
                    self.hour(hours)
                    continue
                return True
            if key.partition(":")[0] == self.stop_before or key == self.stop_before:
                return False
            self.step(key, hours)
        raise Stuck(f"the day does not end: {key} comes again and again")

    def arrive(self) -> None:
        """Who is there is written down; each takes the oath and sets a PIN with the own slip."""
        page = self.crew.window.get("/step/arrivals")
        form = page.form("/step/arrivals")
        self.crew.sent(form, self.crew.values(form, "arrivals", ""))
        self.crew.tally.steps |= {"arrivals", "oath"}
        self.crew.tally.kept += 2
        for official in self.place.officials:
            self.pass_time(0.5)
            self.crew.oath(official.id, self.codes[official.id])
        self.crew.hold(self.place.officials[0].id)

    def readings(self) -> list[tuple[int, float]]:
        opens, closes = self.place.at(self.place.opens), self.place.at(self.place.closes)
        hours = list(range(opens - opens % HOUR + HOUR, closes, HOUR))
        return list(zip(hours, parts(len(hours)), strict=True))

    def hour(self, hours: list[tuple[int, float]]) -> None:
        """On to the next full hour; the story's notes come before its reading."""
        hour, part = hours.pop(0)
        event = self.story.at_hour.get((hour - self.place.at(self.place.opens)) // HOUR)
        if event:
            self.go(hour - 25 * MINUTE)
            self.crew.hold(self.place.officials[0].id)
            event(self)
        self.answers.reading = part
        self.go(hour + MINUTE)
        self.crew.hold(self.place.officials[0].id)

    def step(self, key: str, hours: list) -> None:
        step, _, at = key.partition(":")
        if key in self.story.before:
            self.story.before[key](self)
        if step == "polls-open":
            self.go(self.place.at(self.place.opens))
        elif step == "line-end":
            if hours:
                self.hour(hours)
                return
            self.go(self.place.at(self.place.closes) + MINUTE)
            self.crew.hold(self.place.officials[0].id)
        else:
            self.pass_time(1)
        special = getattr(self, f"do_{step.replace('-', '_')}", None)
        if key in self.story.instead:
            self.story.instead[key](self)
        elif special:
            special(key, at)
        else:
            self.crew.do(key)

    # --- steps with pages of their own

    def do_tape_prints(self, key: str, at: str) -> None:
        """Keyed by two, each blind; then prints, figures and ink are signed once."""
        crew, place = self.crew, self.place
        first = place.officials[0]
        other = next((o for o in place.officials if o.party != first.party), place.officials[-1])
        for i, wanted in enumerate((first, other)):
            page = crew.window.get(f"/tape/{at}")
            form = next((f for f in page.forms if f.action == f"/tape/{at}/key"), None)
            if form is None:  # called, typed and read back instead
                break
            able = form.controls["signer"].options
            who = wanted.id if wanted.id in able else able[0]
            values = crew.values(form, "tape-typed", at)
            if self.story.differs and i == 1 and at == place.tabulators[0].id:
                values |= self.slip(values)
            crew.tally.signatures += 1
            crew.sent(form, values | {"signer": who, "pin": crew.pins[who]})
        page = crew.window.get(f"/tape/{at}")
        form = page.form(f"/tape/{at}")
        crew.tally.kept += 3
        crew.tally.steps |= {"tape-prints", "tape-typed", "tape-signed"}
        crew.signed(page, form, crew.values(form, "tape-prints", at))

    @staticmethod
    def slip(values: dict) -> dict:
        """Two neighbouring digits swapped in the largest vote figure that gets smaller by it: the commonest slip of typing, and one that can be."""
        name = max(
            (n for n, v in values.items() if ".votes." in n and v and len(v) > 1 and v[-1] < v[-2]),
            key=lambda n: int(values[n]),
            default=None,
        )
        return {name: values[name][:-2] + values[name][-1] + values[name][-2]} if name else {}

    def do_first_look(self, key: str, at: str) -> None:
        page = self.crew.window.get("/balance")
        self.crew.tally.kept += 1
        self.crew.tally.steps.add("first-look")
        self.crew.signed(page, page.form("/balance/look"), {"seen": "yes"})

    def do_remark(self, key: str, at: str) -> None:
        """One remark for all lines that are off; or both sign that none is."""
        page = self.crew.window.get("/balance")
        form = page.form("/balance/remark")
        lines = form.controls["lines"].options if "lines" in form.controls else []
        self.crew.tally.remarks += bool(lines)
        self.crew.tally.kept += 1
        self.crew.tally.steps.add("remark")
        self.crew.signed(page, form, {"lines": lines, "remark": self.story.remark} if lines else {})

    def do_packet(self, key: str, at: str) -> None:
        page = self.crew.window.get("/packet")
        page = self.crew.signed(page, page.form("/packet/make"), {})
        self.crew.tally.kept += 2
        self.crew.tally.steps.add("packet")
        self.pass_time(1)
        page = self.crew.window.get("/packet/close")
        form = page.form("/packet/close")
        self.crew.signed(page, form, self.crew.values(form, "packet", ""))

    def do_depart(self, key: str, at: str) -> None:
        """The carry slip is printed before the carriers leave with it."""
        self.printed("/carry/slip.pdf")
        self.crew.do(key)

    def printed(self, path: str) -> bytes:
        data = self.fetched(path).body
        if not data.startswith(b"%PDF"):
            raise Stuck(f"{path} is no paper that can be printed")
        return data

    def packet_file(self) -> bytes:
        return self.fetched("/packet/packet.cose").body

    def fetched(self, path: str) -> Page:
        page = self.crew.window.get(path)
        if page.status != 200:
            raise Stuck(f"{path} answers {page.status}")
        return page
