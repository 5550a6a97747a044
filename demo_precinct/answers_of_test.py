"""What a rehearsed accuracy test is answered with: papers, counters, tapes and seals of the deck that is really fed."""

from collections.abc import Callable

from demo_precinct import counted_deck
from demo_precinct.counted_deck import CountedTape
from demo_precinct.http_window import Control
from webapp.deck.rows import Row
from webapp.precinct.day.hours import wall as said
from webapp.precinct.place.place import Place

CARDS = 3


class TestAnswers:
    """What the people of a test write. `tapes`: as the tabulators print them now."""

    __test__ = False

    def __init__(self, place: Place, rows: tuple[Row, ...], wall: Callable[[], int], faults: Callable[[], str]):
        self.place, self.rows, self.wall, self.faults = place, rows, wall, faults
        self.spare = list(place.seals)
        self.lifetime = {t.id: t.lifetime or 0 for t in place.tabulators}
        self.tapes: dict[str, CountedTape] = {}
        self.on: dict[str, str] = {}

    def __call__(self, step: str, at: str, field_: str, thing: str, control: object) -> str | None:
        own = getattr(self, f"{step.replace('-', '_')}__{field_}", None)
        return own(at, thing, control) if own else None

    @property
    def ballots(self) -> list[Row]:
        return [row for row in self.rows if row.kind != "refuse"]

    def take(self, point: str) -> str:
        """The next seal of the list; where the office gave none, a number of the sealing wire."""
        number = self.spare.pop(0) if self.spare else f"9{len(self.on):04d}"
        self.on[point] = number
        return number

    def arrivals__present(self, at: str, thing: str, control: Control) -> str | None:
        return said(self.place, self.wall())

    def notice__where(self, at: str, thing: str, control: Control) -> str | None:
        return "The county's site and the door of the office"

    def notice__hours_before(self, at: str, thing: str, control: Control) -> str | None:
        return "72"

    def deck_made__rows(self, at: str, thing: str, control: Control) -> str | None:
        return str(len(self.rows))

    def deck_made__faults(self, at: str, thing: str, control: Control) -> str | None:
        return self.faults()

    def marked__rows(self, at: str, thing: str, control: Control) -> str | None:
        return str(len(self.ballots))

    def marked__spoiled(self, at: str, thing: str, control: Control) -> str | None:
        return "1"

    def marked__taken(self, at: str, thing: str, control: Control) -> str | None:
        styles = [row.style for row in self.ballots]
        return str(styles.count(thing) + (thing == styles[0]))

    marks_checked__rows = marked__rows

    def marks_checked__differing(self, at: str, thing: str, control: Control) -> str | None:
        return "0"

    def device_marked__rows(self, at: str, thing: str, control: Control) -> str | None:
        return "2"

    def test_board__observers(self, at: str, thing: str, control: Control) -> str | None:
        return "3"

    def zero_tape__public(self, at: str, thing: str, control: Control) -> str | None:
        return "0"

    def zero_tape__prints(self, at: str, thing: str, control: Control) -> str | None:
        return "1"

    def zero_tape__torn(self, at: str, thing: str, control: Control) -> str | None:
        return "0"

    def zero_tape__lifetime(self, at: str, thing: str, control: Control) -> str | None:
        return str(self.lifetime[at])

    def deck_fed__rows(self, at: str, thing: str, control: Control) -> str | None:
        return str(self.tapes[at].ballots + CARDS)

    def deck_fed__counter(self, at: str, thing: str, control: Control) -> str | None:
        return str(self.tapes[at].ballots)

    tape_typed__public = deck_fed__counter

    def tape_typed__lifetime(self, at: str, thing: str, control: Control) -> str | None:
        return str(self.lifetime[at] + self.tapes[at].ballots)

    def tape_typed__ballots(self, at: str, thing: str, control: Control) -> str | None:
        return str(self.tapes[at].precincts[thing])

    def tape_typed__contests(self, at: str, thing: str, control: Control) -> str | None:
        return str(counted_deck.figure(self.tapes[at], thing))

    def sums__ballots(self, at: str, thing: str, control: Control) -> str | None:
        return str(counted_deck.together(self.tapes).ballots)

    def sums__contests(self, at: str, thing: str, control: Control) -> str | None:
        return str(counted_deck.figure(counted_deck.together(self.tapes), thing))

    def changed__what(self, at: str, thing: str, control: Control) -> str | None:
        return "The program of this style was read again from the ballot's layout, and every memory was made anew."

    def changed__tabulators(self, at: str, thing: str, control: Control) -> str | None:
        return "yes"

    def zeroed__public(self, at: str, thing: str, control: Control) -> str | None:
        return "0"

    zeroed__lifetime = zero_tape__lifetime

    def sealed__seals(self, at: str, thing: str, control: Control) -> str | None:
        return self.take(thing) if thing in (f"{at}-memory", f"{at}-door") else ""

    def deck_away__rows(self, at: str, thing: str, control: Control) -> str | None:
        return str(len(self.rows))

    def deck_away__container(self, at: str, thing: str, control: Control) -> str | None:
        return "TEST-1"

    def deck_away__seal(self, at: str, thing: str, control: Control) -> str | None:
        return self.take("TEST-1")

    def deck_away__until(self, at: str, thing: str, control: Control) -> str | None:
        return f"{self.place.date.year + 2}-09-30"
