"""One polling place, as its place file states it: who works there, what is voted on, what equipment and paper it was given.

Plain frozen facts. `place_file.py` reads them from TOML and says every mistake; nothing here decides anything.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, time
from functools import lru_cache
from typing import Any
from zoneinfo import ZoneInfo

from webapp.precinct.place.board_place import BoardRoom


@dataclass(frozen=True, slots=True)
class Party:
    """A party, with the short word that is printed under initials."""

    id: str
    name: str
    word: str  # up to 8 letters, shown under initials boxes


@dataclass(frozen=True, slots=True)
class Official:
    """An official of this place. `role` is "chair", "witness", "inspector" or another word of the office."""

    id: str
    name: str
    party: str  # id of a party
    role: str  # "chair", "witness", "inspector", ... ; the chair's seat is the role "chair"

    @property
    def initials(self) -> str:
        return "".join(next(filter(str.isalpha, word), "") for word in self.name.split()[:3]).upper()


@dataclass(frozen=True, slots=True)
class Precinct:
    """A precinct whose voters vote here."""

    id: str
    name: str
    registered: int | None = None  # voters on its list, where the office says how many


@dataclass(frozen=True, slots=True)
class Choice:
    """A choice of a contest: a candidate, or an answer to a question."""

    id: str
    label: str
    party: str = ""  # id of a party, where a straight-party mark votes for it


@dataclass(frozen=True, slots=True)
class Contest:
    """A contest: vote for at most `n` of its choices."""

    id: str
    title: str
    n: int  # vote for at most n
    choices: tuple[Choice, ...]
    group: str = ""  # ballot group (a party's ballot in a primary); empty: on all ballots
    write_in: bool = False
    write_in_lines: int | None = None  # None: as many as votes where there are write-ins

    @property
    def lines(self) -> int:
        """Write-in lines on the ballot."""
        return (self.n if self.write_in_lines is None else self.write_in_lines) if self.write_in else 0


@dataclass(frozen=True, slots=True)
class Style:
    """A ballot style: its precincts, its contests and its sheets."""

    id: str
    precincts: tuple[str, ...]
    contests: tuple[str, ...]
    sheets: int = 1
    breaks: tuple[str, ...] = ()  # contests that begin a further sheet
    order: Mapping[str, tuple[str, ...]] = field(
        default_factory=dict
    )  # contest -> choices as printed, where they rotate


@dataclass(frozen=True, slots=True)
class Box:
    """A ballot box under a tabulator: its bins in the order in which they are emptied (main first, write-in last)."""

    id: str
    bins: tuple[str, ...] = ("main", "write-in")
    emergency: bool = True
    holds: int | None = None  # ballots its main bin takes, where the office says


@dataclass(frozen=True, slots=True)
class Tabulator:
    """A tabulator, with the ballot box under it."""

    id: str
    serial: str
    box: str
    lifetime: int | None = None  # protective counter when it left the office, where known


@dataclass(frozen=True, slots=True)
class Stock:
    """Blank ballots of one style that the office delivered."""

    style: str
    received: int
    pack: int | None = None  # nominal ballots a pack


@dataclass(frozen=True, slots=True)
class Applied:
    """A seal that was on the equipment when it left the office: where it sits, and its number."""

    at: str  # e.g. "T1-memory", "T1-door", "case"
    number: str
    door: str = ""  # in words: "memory door of T1"


@dataclass(frozen=True, slots=True)
class Container:
    """A container that leaves with the carriers, and what goes in."""

    id: str
    holds: str  # in words: "voted ballots", "spoiled envelope", ...
    ballots: bool = False  # whether counted ballots go in


@dataclass(frozen=True, slots=True)
class Phone:
    """A number that people at the place call: whose it is, in words, and the number as it is dialed."""

    who: str
    number: str


@dataclass(frozen=True, slots=True)
class Rules:
    """What state law or the office settles for this place; the defaults are common practice."""

    different: str | tuple[tuple[str, str], ...] = "party"  # which pairs count as different
    provisional_in_poll_book: bool = False
    found: str = "spoiled-not-reissued"
    overvotes: str = "ballots"
    bins_counted: str = "if-off"  # never | if-off | always
    first: str = "counts"  # counts | results
    typed: str | tuple[str, ...] = "counters"  # counters | all | contest ids
    keying: str = "blind"  # blind | called
    battery_hours: int = 6
    clock: int = 24  # 24 or 12 hours on screen
    votes: str = "sum"  # what the tapes print of a contest: sum | by-precinct | both


@dataclass(frozen=True, slots=True)
class Stations:
    """What voters wait for: how many stations of each sort, and how long one voter takes at each; None where the place file does not say."""

    check_in_stations: int | None = None
    check_in_seconds: int | None = None
    booths: int | None = None
    booth_minutes: int | None = None
    tabulator_seconds: int | None = None


@dataclass(frozen=True, slots=True)
class AccuracyTest:
    """How the accuracy test is held; every field may be left out of the place file."""

    folded: bool = False  # absentee ballots arrive folded
    every: str = "style"  # style | precinct: whether each precinct of a style gets a pattern of its own
    straight: str = ""  # id of the contest whose choices are parties
    public_from: datetime | None = None  # wall clock of the place
    retain_days: int | None = None


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of set-aside ballot added or changed by the place file: all four flags of the balance table."""

    id: str
    from_stock: bool
    in_poll_book: bool
    counted: bool
    in_bin: bool


@lru_cache(maxsize=1024)
def _moment(day: date, clock: time, zone: str) -> int:
    return int(datetime.combine(day, clock, ZoneInfo(zone)).timestamp() * 1000)


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """One place file. What has a default there is to vote on or with, which an office seen as a place has none of."""

    format: int
    mode: str  # live | practice
    edition: str
    id: str
    name: str
    county: str = ""
    election: str
    date: date
    zone: str
    opens: time
    closes: time
    host: str = ""
    parties: tuple[Party, ...]
    rules: Rules = Rules()
    officials: tuple[Official, ...]
    precincts: tuple[Precinct, ...]
    styles: tuple[Style, ...] = ()
    contests: tuple[Contest, ...] = ()
    boxes: tuple[Box, ...] = ()
    tabulators: tuple[Tabulator, ...] = ()
    stock: tuple[Stock, ...] = ()
    seals: tuple[str, ...] = ()  # numbers issued to the place, in order
    applied: tuple[Applied, ...] = ()
    containers: tuple[Container, ...] = ()
    copies: tuple[str, ...] = ("local clerk", "county", "canvassers")
    kinds: tuple[Kind, ...] = ()
    steps: tuple[Mapping[str, Any], ...] = ()  # changes to the default checklists, as written
    phones: tuple[Phone, ...] = ()  # whom to call, in the order of the place file: the office first
    queue: Stations = Stations()  # for the hints on waiting; nothing else reads it
    test: AccuracyTest = AccuracyTest()  # of the test deck; nothing else reads it
    board: BoardRoom | None = None  # of a count board: its settings, tables, carriers
    kind: str = "place"  # what it is for: a key of `place_kinds.KINDS`
    digest: bytes = field(default=b"", compare=False)  # SHA-256 of the TOML bytes

    @property
    def tz(self) -> ZoneInfo:
        return ZoneInfo(self.zone)

    def at(self, clock: time) -> int:
        """The moment of this wall-clock time on election day, in milliseconds UTC."""
        return _moment(self.date, clock, self.zone)

    def official(self, person: str) -> Official | None:
        """Returns the official with this id; None if the place file names none."""
        return next((o for o in self.officials if o.id == person), None)

    def party(self, party: str) -> Party | None:
        """Returns the party with this id; None if the place file names none."""
        return next((p for p in self.parties if p.id == party), None)

    def contest(self, contest: str) -> Contest | None:
        """Returns the contest with this id; None if the place file names none."""
        return next((c for c in self.contests if c.id == contest), None)

    def typed_contests(self) -> tuple[Contest, ...]:
        """The contests whose figures are keyed at the place; the others are keyed at the desk from the signed tape. At a test all are."""
        if self.kind == "test":
            return self.contests
        if self.rules.typed == "counters":
            return ()
        return tuple(c for c in self.contests if self.rules.typed == "all" or c.id in self.rules.typed)

    def split(self) -> tuple[Precinct, ...]:
        """The precincts whose votes the tapes print apart; () where they print those of the whole place only, and at a test."""
        return self.precincts if self.kind == "place" and self.rules.votes != "sum" else ()

    def contests_of(self, precinct: str) -> tuple[Contest, ...]:
        """The contests keyed at the place that a ballot of this precinct carries, in ballot order."""
        carried = {contest for style in self.styles if precinct in style.precincts for contest in style.contests}
        return tuple(contest for contest in self.typed_contests() if contest.id in carried)
