"""The accuracy test played through the real pages: a first round with two ovals exchanged, found and named; mended; the whole test again; sealed."""

import re
from dataclasses import dataclass, field

from demo_precinct import counted_deck
from demo_precinct.answers_of_test import TestAnswers
from demo_precinct.counted_deck import Exchange
from demo_precinct.crew import Crew
from demo_precinct.http_window import Stuck, Window
from demo_precinct.printed_text import printed_text
from demo_precinct.rehearsed_day import MINUTE, PINS
from webapp.deck.plan import plan
from webapp.deck.rows import deck_rows
from webapp.precinct.place.place import Place

DAY = 24 * 60 * MINUTE
BEFORE = 14 * DAY  # the test is held two weeks before the polls open
USED_UP = 17  # by how much a protective counter rises while a memory is mended and tried


@dataclass
class TestReport:
    """What came of a test: `differing_first` figures of the first round were not as expected, `differing` of the last."""

    __test__ = False

    rows: int = 0
    cells: int = 0
    differing_first: int = 0
    differing: int = 0
    named_at: int = 0  # where the planted fault stood among the causes; 0: nowhere
    seals: dict[str, str] = field(default_factory=dict)
    lifetime: dict[str, int] = field(default_factory=dict)


def planted(place: Place) -> Exchange:
    """Two neighboring choices of the first contest that has two, on the first style that carries it."""
    for style in place.styles:
        for name in style.contests:
            contest = place.contest(name)
            if contest and len(contest.choices) > 1:
                a, b = contest.choices[0].id, contest.choices[1].id
                return Exchange(style.id, ((name, a), (name, b)))
    raise Stuck(f"{place.id} has no contest with two choices: an exchange cannot be planted")


class DeckTest:
    """The director of a test: follows Now, and plays a fault in the first round."""

    def __init__(self, place: Place, port: int, codes: dict[str, str], stop_before: str = ""):
        self.place, self.codes, self.stop_before = place, codes, stop_before
        self.rows = deck_rows(plan(place)).rows
        self.now = place.at(place.opens) - BEFORE
        self.answers = TestAnswers(place, self.rows, lambda: self.now, self.faults)
        pins = {o.id: PINS[i % len(PINS)] for i, o in enumerate(place.officials)}
        self.crew = Crew(place, Window(port), self.answers, pins)
        self.fault: Exchange | None = planted(place)
        self.report = TestReport(rows=len(self.rows))
        self.feed()

    def feed(self) -> None:
        """What the tabulators print in this round: the last one has read the exchange into no memory but its own."""
        self.answers.tapes = {
            t.id: counted_deck.count(self.place, self.rows, t.id, self.fault) for t in self.place.tabulators
        }

    def faults(self) -> str:
        """The number of faults, read off the certificate as it is printed."""
        text = " ".join(printed_text(self.crew.window.get("/deck/certificate.pdf").body).split())
        found = re.search(r"Faults played on it ([\d,]+)", text)
        if not found:
            raise Stuck(f"the certificate names no number of faults: {text[:300]}")
        return found[1].replace(",", "")

    def pass_time(self, minutes: float) -> None:
        self.now += int(minutes * MINUTE)
        self.crew.clock(self.now)

    def play(self) -> bool:
        """The whole test. False when it stopped at the step before which it was told to stop."""
        self.crew.clock(self.now)
        self.arrive()
        for _ in range(400):
            key = self.crew.next_key()
            if key is None:
                return True
            step, _, at = key.partition(":")
            if self.stop_before and self.stop_before in (step, key):
                return False
            self.pass_time(2)
            self.crew.hold(self.place.officials[0].id)
            special = getattr(self, f"do_{step.replace('-', '_')}", None)
            if special:
                special(key, at)
            else:
                self.crew.do(key)
        raise Stuck(f"the test does not end: {key} comes again and again")

    def arrive(self) -> None:
        page = self.crew.window.get("/step/arrivals")
        form = page.form("/step/arrivals")
        self.crew.sent(form, self.crew.values(form, "arrivals", ""))
        self.crew.tally.kept += 2
        for official in self.place.officials:
            self.pass_time(0.5)
            self.crew.oath(official.id, self.codes[official.id])
        self.crew.hold(self.place.officials[0].id)

    # --- steps with pages of their own

    def do_marked(self, key: str, at: str) -> None:
        """Each style's ballots are ticked on the page Deck, by two different people; then the step is signed."""
        marker, checker = self.place.officials[0].id, self.place.officials[1].id
        for style in self.place.styles:
            for who, what in ((marker, "marked"), (checker, "checked")):
                self.crew.hold(who)
                page = self.crew.window.get(f"/deck/style/{style.id}")
                form = page.form(f"/deck/style/{style.id}")
                self.crew.sent(form, {"row": form.controls["row"].options, "what": what})
        self.crew.hold(marker)
        self.crew.do(key)

    def do_tape_typed(self, key: str, at: str) -> None:
        """Keyed by two, each blind; then signed by both."""
        crew = self.crew
        first = self.place.officials[0]
        other = next(o for o in self.place.officials if o.party != first.party)
        for wanted in (first, other):
            page = crew.window.get(f"/tape/{at}")
            form = next((f for f in page.forms if f.action == f"/tape/{at}/key"), None)
            if form is None:
                break
            able = form.controls["signer"].options
            who = wanted.id if wanted.id in able else able[0]
            crew.tally.signatures += 1
            crew.sent(form, crew.values(form, "tape-typed", at) | {"signer": who, "pin": crew.pins[who]})
        page = crew.window.get(f"/tape/{at}")
        form = page.form(f"/tape/{at}")
        crew.tally.kept += 1
        crew.signed(page, form, crew.values(form, "tape-typed", at))

    def do_compared(self, key: str, at: str) -> None:
        """Signed as equal; or as it is, and after the last tabulator what was wrong is mended and noted."""
        page = self.crew.window.get(f"/compared/{at}")
        form = page.form(f"/compared/{at}")
        found = re.search(r"<h1[^>]*>(?:(\d+) of )?(?:All )?(\d+) figures", page.text)
        if not found:
            raise Stuck(f"{page.path} does not say how many figures were compared: {page.said()}")
        self.report.cells += int(found[2])
        self.crew.tally.kept += 1
        if not found[1]:
            self.crew.signed(page, form, {})
            return
        self.report.differing_first += int(found[1])
        self.report.named_at = self.report.named_at or self.named(page.text)
        words = {
            "found": "Two ovals stand in each other's place.",
            "done": "The program is mended. The office was told.",
        }
        self.crew.tally.exceptions += 1
        self.crew.signed(page, form, {"not_so": "yes", **words})
        if at == self.place.tabulators[-1].id:
            self.mend()

    def named(self, text: str) -> int:
        """Where the planted exchange stands among the causes that the page lists, from 1; 0 where it does not."""
        assert self.fault is not None
        (name, a), (_, b) = self.fault.ovals
        labels = {c.id: c.label for contest in self.place.contests if contest.id == name for c in contest.choices}
        part = text.partition("What it is consistent with")[2]
        causes = re.findall(r'<p class="say"><b>(.*?)</b>', part.partition("<details")[0], re.S)
        return next((i for i, said in enumerate(causes, 1) if labels[a] in said and labels[b] in said), 0)

    def mend(self) -> None:
        """The program is put right; what was changed is noted, and the whole test begins again."""
        self.fault = None
        self.answers.lifetime = {
            t: n + self.answers.tapes[t].ballots + USED_UP for t, n in self.answers.lifetime.items()
        }
        self.feed()
        self.report.cells = 0
        self.pass_time(60)
        self.crew.hold(self.place.officials[0].id)
        self.crew.note("changed", part="program")

    def do_zeroed(self, key: str, at: str) -> None:
        self.answers.lifetime[at] += self.answers.tapes[at].ballots
        self.report.lifetime[at] = self.answers.lifetime[at]
        self.crew.do(key)

    def do_certificate(self, key: str, at: str) -> None:
        """The certificate is printed again with what came of the test, then everybody signs."""
        data = self.crew.window.get("/deck/certificate.pdf").body
        if not data.startswith(b"%PDF"):
            raise Stuck("the certificate is no paper that can be printed")
        self.crew.do(key)
        self.report.seals = {point: n for point, n in self.answers.on.items() if "-" in point and point != "TEST-1"}
