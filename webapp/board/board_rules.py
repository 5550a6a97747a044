"""What the place file and the law settle for one board: batch size, which precincts may share a batch, hours, serials, who is there."""

from collections.abc import Mapping
from dataclasses import dataclass

from webapp.board.hours_in_force import HoursInForce
from webapp.precinct.place.place import Contest

NEVER, SMALL, ALWAYS = MIXED = ("never", "small", "always")

ASK, COUNT_ALL, COUNT_NONE = "ask", "count-all", "count-none"
AS_IS, LOOK = "as-is", "look"
OURS, TWO_CARDS = "ours", "fed-2"
SUM, BY_PRECINCT = "sum", "by-precinct"


@dataclass(frozen=True)
class BoardRules:
    """The settings of a board. `small`: a precinct with fewer ballots than this is counted together with a neighbor. `joined`: groups counted together."""

    batch: int = 25
    mixed: str = SMALL
    small: int = 10
    serial_prefix: str = "D"
    hours: HoursInForce = HoursInForce()
    precincts: tuple[str, ...] = ()
    tabulators: tuple[str, ...] = ()
    joined: tuple[tuple[str, ...], ...] = ()
    two_in_one: str = ASK
    overvote: str = AS_IS
    blank_read: str = LOOK
    header: str = OURS  # fed-2: two cards, alike, are fed before each batch; no counter counts them
    votes: str = SUM  # by-precinct: tapes print votes by precinct, and they are typed so
    contests: tuple[Contest, ...] = ()  # those that are typed
    duplicates_checked: bool = True  # another pair compares each duplicate with its original

    def together(self, precinct: str) -> tuple[str, ...]:
        """The precincts that this one is counted together with, itself among them."""
        return next((group for group in self.joined if precinct in group), (precinct,))


@dataclass(frozen=True)
class Objection:
    """An objection to an entry, in one sentence with what to do.

    refused: the entry cannot be recorded so. Otherwise it is recorded, marked not so, and what it is about stops.
    """

    says: str
    refused: bool = True


def of_few(small: int, kind: str, body: Mapping[str, object]) -> bool:
    """Whether this entry is about a batch of fewer than `small` ballots: its times go no further than the quarter hour."""
    if kind == "batch-made":
        return 0 < settled({"": body.get("ballots")}).get("", 0) < small
    before, after, aside = body.get("before"), body.get("after"), body.get("aside", {})
    if kind != "batch-fed" or not isinstance(before, int) or not isinstance(after, int):
        return False
    apart = sum(n for n in aside.values() if isinstance(n, int)) if isinstance(aside, Mapping) else 0
    return 0 <= after - before + apart < small


def settled(counts: Mapping[str, object]) -> dict[str, int]:
    """Hand counts by precinct, the last of each: 212 out of [212, 212]; a bare number is taken as it is."""
    last = {
        precinct: count[-1] if isinstance(count, list) else count for precinct, count in counts.items() if count != []
    }
    return {precinct: n for precinct, n in last.items() if isinstance(n, int)}
