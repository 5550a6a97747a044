"""The ballots noted during the day: how many of each kind, where they came from, and what became of them.

Counts only. A note is about one voter's ballot, so nothing here keeps its time or its place in the order.
"""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

from webapp.precinct.balance.ballot_table import FATES as TABLE
from webapp.precinct.balance.ballot_table import ORIGINS
from webapp.precinct.day.current_entry import CurrentEntry
from webapp.precinct.day.projection import Projection
from webapp.precinct.place.ballot_kinds import VOTER_KINDS
from webapp.precinct.place.place import Place

BECOMES = {
    "provisional": "provisional",
    "left": "left",
    "taken": "taken",
    "emergency-plus": "emergency",
    "wrong-style": "spoiled",
    "unmarked-back": "spoiled-not-reissued",
}


@dataclass(frozen=True, slots=True)
class BallotGroup:
    """Ballots of one fate that share style, precinct and origin; "" where the notes do not say."""

    fate: str
    style: str
    precinct: str
    origin: str


def disposition(kept: CurrentEntry, place: Place) -> str:
    """What became of the ballot that a note tells of, by the balance's table; "" for a note that sets no ballot aside (a jam)."""
    if kept.kind == "found":
        return kept.body.get("becomes") or place.rules.found
    if kept.kind == "spoiled":
        return "spoiled" if kept.body.get("reissued", True) else "spoiled-not-reissued"
    return BECOMES.get(kept.kind, "")


def ballots(kept: CurrentEntry) -> int:
    """How many ballots (or envelopes) a note tells of: one, unless it says otherwise; an exception without figures tells of none."""
    return kept.body.get("envelopes" if kept.kind == "absentee-handed-in" else "ballots", 0 if kept.not_so else 1)


def lot(kept: CurrentEntry, place: Place) -> BallotGroup:
    """The lot a note belongs to. A style of one precinct names its precinct."""
    style, book = kept.body.get("style") or "", kept.body.get("book") or ""
    return BallotGroup(
        disposition(kept, place), style, book or precinct_of(style, place), kept.body.get("origin") or "paper"
    )


def precinct_of(style: str, place: Place) -> str:
    """The one precinct in which a style is voted; "" where there are several."""
    found = next((s.precincts for s in place.styles if s.id == style), ())
    return found[0] if len(found) == 1 else ""


class Notes(Projection):
    """Kept up with the day. `noted` counts by kind of note, `lots` by fate, `emergency` ballots waiting by box ("" where found elsewhere)."""

    kinds = VOTER_KINDS | {"emergency-off"}

    def clear(self) -> None:
        """Empties the counts, as they are before the first note."""
        self.noted: Counter[str] = Counter()
        self.lots: Counter[BallotGroup] = Counter()
        self.emergency: Counter[str] = Counter()

    def write(self, kept: CurrentEntry) -> None:
        """Counts one note; an `emergency-off` entry takes the ballots it fed out of the emergency bin."""
        if kept.kind == "emergency-off":
            self._fed(kept)
            return
        n, mine = ballots(kept), lot(kept, self.place)
        self.noted[kept.kind] += n
        if mine.fate:
            self.lots[mine] += n
        if mine.fate == "emergency":
            self.emergency[kept.at] += n

    def _fed(self, kept: CurrentEntry) -> None:
        """Ballots out of the emergency bin went through the tabulator: they wait no more."""
        n = min(kept.body.get("fed", 0), self.emergency[kept.at])
        self.emergency[kept.at] -= n

    def of(self, fate: str) -> Iterator[tuple[BallotGroup, int]]:
        """Each lot of one fate, in a fixed order."""
        found = [(mine, n) for mine, n in self.lots.items() if mine.fate == fate and n]
        return iter(sorted(found, key=lambda pair: (pair[0].style, pair[0].precinct, pair[0].origin)))

    def total(self, fate: str) -> int:
        """Returns the ballots with this fate, of every kind and origin."""
        return sum(n for mine, n in self.lots.items() if mine.fate == fate)


def book_weight(fate: str, origin: str, place: Place) -> int:
    """How many ballots one such note adds to those in the book and on no counter: in the book less counted, by the balance's table and the place file."""
    kinds = {kind.id: kind for kind in place.kinds}
    ended, came = kinds.get(fate) or TABLE[fate], kinds.get(origin) or ORIGINS[origin]
    in_book = place.rules.provisional_in_poll_book if fate == "provisional" else ended.in_poll_book
    return int(in_book and came.in_poll_book) - int(ended.counted)


def dispositions(place: Place) -> list[dict[str, str | bool]]:
    """What the place file says of kinds, as the balance wants it: whether provisional voters are in the book, and its own kinds with all flags."""
    own: list[dict[str, str | bool]] = [
        {
            "id": k.id,
            "from_stock": k.from_stock,
            "in_poll_book": k.in_poll_book,
            **({} if k.id in ORIGINS else {"counted": k.counted, "in_bin": k.in_bin}),
        }
        for k in place.kinds
    ]
    ours: list[dict[str, str | bool]] = (
        []
        if any(k.id == "provisional" for k in place.kinds)
        else [{"id": "provisional", "in_poll_book": place.rules.provisional_in_poll_book}]
    )
    return [*ours, *own]
