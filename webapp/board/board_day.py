"""One board's day, or its days: carriers, trays, batches, problem ballots, duplicates, and what was locked up overnight.

`board_entries` folds it out of entries. Nothing here says which envelopes a batch was made from, or who signed.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, NamedTuple

from webapp.board.board_rules import BoardRules

WAITING = "waiting"


class BoardEntry(NamedTuple):
    """What was recorded: its kind, its body, and when it happened (local time)."""

    kind: str
    body: Mapping[str, Any]
    at: datetime


@dataclass(frozen=True)
class Carrier:
    """A bag of envelopes: by precinct as its slip says and as counted; `empty` once it was shown so."""

    id: str
    slip: Mapping[str, int] = field(default_factory=dict)
    counted: Mapping[str, int] | None = None
    empty: bool = False


@dataclass(frozen=True)
class Tray:
    """Envelopes worked by one table: reasons and numbers of those rejected and held, empty ones, sleeves; and ballots once unfolded."""

    id: str
    precincts: tuple[str, ...]
    envelopes: int
    rejected: Mapping[str, int] = field(default_factory=dict)
    held: Mapping[str, int] = field(default_factory=dict)
    empty: int = 0
    sleeves: int = 0
    ballots: int | None = None
    extra: int = 0

    @property
    def opened(self) -> int:
        return self.envelopes - sum(self.rejected.values()) - sum(self.held.values())


@dataclass(frozen=True)
class Feeding:
    """A batch through a tabulator: the counter before and after, and how many were set aside for each cause."""

    at: str
    before: int
    after: int
    aside: Mapping[str, int]
    when: datetime
    day: str
    turn: int = (
        0  # the how manyth feeding of the board it was, from 1: the order of the record, as times of ballots are coarse
    )


@dataclass(frozen=True)
class BoardBatch:
    """A batch as it was made, and as it was fed; `again` are later feedings of the same batch, which must not be."""

    id: str
    kind: str
    precincts: Mapping[str, int]
    ballots: int
    envelopes: int | None = None
    empty: int = 0
    extra: int = 0
    fed: Feeding | None = None
    again: tuple[Feeding, ...] = ()


@dataclass(frozen=True)
class ProblemBallot:
    """A ballot set aside, by batch and position: its cause and what became of it."""

    batch: str
    position: int
    cause: str = ""
    outcome: str = WAITING
    serial: str | None = None


@dataclass(frozen=True)
class Duplicate:
    """A remade ballot by its serial; void where it was spoiled in the making."""

    serial: str
    style: str = ""
    void: bool = False
    checked: bool = False


@dataclass(frozen=True)
class Overnight:
    """What stayed shut: sleeves and envelopes by precinct, in the evening of one day or the morning of another."""

    day: str
    sleeves: Mapping[str, int]
    envelopes: Mapping[str, int]
    counters: Mapping[str, int]


class BoardDay:
    """Everything that is true at a board now."""

    def __init__(self, rules: BoardRules):
        self.rules = rules
        self.carriers: dict[str, Carrier] = {}
        self.trays: dict[str, Tray] = {}
        self.batches: dict[str, BoardBatch] = {}
        self.problems: dict[tuple[str, int], ProblemBallot] = {}
        self.duplicates: dict[str, Duplicate] = {}
        self.listed: dict[str, int] | None = None
        self.moved: list[tuple[str, str, int]] = []
        self.hand_counted: dict[str, int] = {}
        self.piles: dict[str, list[int]] = {}  # what was counted before anybody looked, each its counts in order
        self.evenings: list[Overnight] = []
        self.mornings: list[Overnight] = []
        self.out: dict[str, datetime] = {}
        self.remarked: set[str] = set()
        self.tapes: dict[str, Mapping[str, Any]] = {}  # bodies of the tapes typed, by tabulator
        self.by_precinct: dict[
            str, dict[tuple[str, ...], Mapping[str, Any]]
        ] = {}  # and what was typed of their precincts
        self.turns = 0
        self.twice: list[str] = []  # batches that were fed more than once
        self.fed_on: dict[str, list[str]] = {}  # tabulator -> its batches in the order of feeding, over all days

    @property
    def day(self) -> str:
        """Which day of the board it is: 1, 2 ..., each begins with a morning's opening."""
        return str(len(self.mornings) + 1)

    def counter_at(self, tabulator: str, day: str, before: int | None = None) -> tuple[str, int] | None:
        """(batch, counter after it) of what went through a tabulator last on that day, or last before a turn: a batch fed a second time moves the counter too."""
        once = ((id, self.batches[id].fed) for id in reversed(self.fed_on.get(tabulator, ())))
        first = next(((id, fed) for id, fed in once if fed and (before is None or fed.turn < before)), None)
        again = [(id, one) for id in self.twice for one in self.batches[id].again if one.at == tabulator]
        there = [pair for pair in (first, *again) if pair and pair[1].day == day]
        found = [(one.turn, id, one.after) for id, one in there if before is None or one.turn < before]
        return max(found)[1:] if found else None

    def received(self) -> dict[str, int]:
        """Envelopes by precinct, as counted out of the carriers; before that, as their slips say."""
        found: dict[str, int] = {}
        for carrier in self.carriers.values():
            for precinct, n in (carrier.slip if carrier.counted is None else carrier.counted).items():
                found[precinct] = found.get(precinct, 0) + n
        return found
