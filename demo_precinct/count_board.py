"""The invented count board of the demo's county: its place file, and what really lies in its carriers, trays and batches.

Nothing here knows how the product adds up.
"""

import random
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime, time, timedelta
from pathlib import Path

from demo_precinct.true_figures import Truth, carrying, contest_row, lifetimes, together
from webapp.precinct.place import place_file
from webapp.precinct.place.board_place import BoardRoom, BoardTable
from webapp.precinct.place.place import Applied, Box, Container, Official, Place, Tabulator

HERE = Path(__file__).parent
PEOPLE = (
    ("ahlgren", "Astrid Ahlgren", "M", "chair"),
    ("bexley", "Bruno Bexley", "P", "witness"),
    ("corvin", "Clara Corvin", "P", "opener"),
    ("dahl", "Dorian Dahl", "M", "opener"),
    ("elmhurst", "Edda Elmhurst", "M", "feeder"),
    ("farrow", "Felix Farrow", "P", "feeder"),
    ("grady", "Greta Grady", "M", "checker"),
    ("holm", "Henrik Holm", "P", "checker"),
)
TRAY, BATCH = 100, 25


@dataclass
class TrueBatch:
    """A batch as it lies on the table. `aside`: (position, cause, outcome) of the ballots that are set aside."""

    id: str
    precinct: str
    envelopes: int
    empty: int
    extra: int
    ballots: int
    aside: list[tuple[int, str, str]] = field(default_factory=list)
    stray: str = ""  # one of its ballots is of this other precinct
    parted: str = ""  # the id of its rest, where its tabulator goes down in the middle of it

    def through(self, fed: int | None = None) -> dict[str, int]:
        """Ballots by precinct that a tabulator counts of it; of the whole batch, or of so many that were fed."""
        n = self.ballots - len(self.aside) if fed is None else fed
        return {self.precinct: n - 1, self.stray: 1} if self.stray else {self.precinct: n}


@dataclass
class TrueTray:
    """A tray of one precinct; sleeves are its opened envelopes that were not empty, ballots its sleeves and the extra ones."""

    id: str
    precinct: str
    envelopes: int
    rejected: int = 0
    held: int = 0
    empty: int = 0
    extra: int = 0
    batches: list[TrueBatch] = field(default_factory=list)

    @property
    def sleeves(self) -> int:
        return self.envelopes - self.rejected - self.held - self.empty

    @property
    def ballots(self) -> int:
        return self.sleeves + self.extra


@dataclass
class BoardTruth:
    """One board's days: carriers with their envelopes by precinct, trays with their batches, what each tabulator was fed by precinct."""

    place: Place
    carriers: dict[str, dict[str, int]]
    trays: list[TrueTray]
    fed: dict[str, dict[str, int]]
    votes: dict[str, dict[str, dict[str, dict]]] = field(default_factory=dict)  # tabulator -> precinct -> contest

    @property
    def batches(self) -> list[TrueBatch]:
        return [batch for tray in self.trays for batch in tray.batches]

    def outcomes(self, wanted: str) -> list[tuple[TrueBatch, int]]:
        """(batch, position) of the ballots with this outcome."""
        return [(b, position) for b in self.batches for position, _, outcome in b.aside if outcome == wanted]

    def sleeves(self) -> dict[str, int]:
        found: dict[str, int] = {}
        for tray in self.trays:
            found[tray.precinct] = found.get(tray.precinct, 0) + tray.sleeves
        return found

    def tapes(self, seed: int) -> Truth:
        """What the tapes print at the close: ballots by precinct as fed, and votes that add up."""
        rng = random.Random(seed)
        place = self.place
        self.votes = {
            t.id: {p: {c.id: contest_row(c, on, rng) for c in place.typed_contests() if (on := carrying(place, c, {p: n}))} for p, n in self.fed[t.id].items()}
            for t in place.tabulators
        }  # fmt: skip
        contests = {
            at: {c.id: together([rows[c.id] for rows in by.values() if c.id in rows]) for c in place.typed_contests()}
            for at, by in self.votes.items()
        }
        return Truth(place, self.fed, contests, lifetime=lifetimes(place))


def board_place(carriers: int = 2) -> Place:
    """The board's place file: practice, two tabulators, eight people, the demo's precincts, styles and contests."""
    base = place_file.read((HERE / "place.toml").read_bytes())
    day = datetime.combine(base.date, time(7))
    room = BoardRoom(
        open_from=day - timedelta(days=1) + timedelta(hours=1),
        unfold_from=day,
        count_from=day,
        tapes_from=day + timedelta(hours=13),
        receive_until=day + timedelta(hours=13),
        tables=(
            BoardTable("1", "open"),
            BoardTable("2", "open"),
            BoardTable("3", "batch"),
            BoardTable("4", "problem"),
            BoardTable("5", "feed", "A1"),
            BoardTable("6", "feed", "A2"),
        ),
        carriers=tuple(f"K{n}" for n in range(1, carriers + 1)),
    )
    return replace(
        base,
        kind="board",
        id="AB",
        name="Tarn absentee board",
        edition="demo board 1",
        host="ab.tarn.example",
        board=room,
        officials=tuple(Official(*person) for person in PEOPLE),
        boxes=(Box("O1", ("tray",), False), Box("O2", ("tray",), False)),
        tabulators=(Tabulator("A1", "91-2201", "O1", 5120), Tabulator("A2", "91-2202", "O2", 7340)),
        stock=(),
        seals=tuple(f"{n:04}" for n in range(901, 941)),
        applied=(
            Applied("A1-memory", "0881", "memory door of A1"),
            Applied("A2-memory", "0882", "memory door of A2"),
            Applied("case", "0883", "transfer case"),
        ),
        containers=(
            Container("C1", "counted ballots of A1", True),
            Container("C2", "counted ballots of A2", True),
            Container("S1", "sleeves, shut"),
            Container("E1", "originals, not counted, held"),
        ),
        steps=(),
        digest=b"",
    )


def board_truth(place: Place, envelopes: int, seed: int) -> BoardTruth:
    """So many envelopes in the carriers of this board, with an empty one, two in one, five to be duplicated, one fed after all, one counted by hand."""
    rng = random.Random(seed)
    first, second = (p.id for p in place.precincts[:2])
    shares = {first: envelopes * 6 // 10, second: envelopes - envelopes * 6 // 10}
    carriers = place.board.carriers if place.board else ("K1",)
    found: dict[str, dict[str, int]] = {c: {} for c in carriers}
    for precinct, n in shares.items():
        for i, carrier in enumerate(carriers):
            found[carrier][precinct] = n // len(carriers) + (n % len(carriers) if i == 0 else 0)
    trays: list[TrueTray] = []
    for precinct, n in shares.items():
        while n:
            size = n if n < TRAY * 3 // 2 else TRAY
            trays.append(
                TrueTray(str(len(trays) + 1), precinct, size, int(rng.random() < 0.4), int(rng.random() < 0.2))
            )
            n -= size
    trays[0].empty, trays[-1].extra = 1, 1
    number = 0
    for tray in trays:
        for i, size in enumerate(sizes(tray.ballots)):
            number += 1
            empty, extra = (tray.empty, tray.extra) if i == 0 else (0, 0)
            tray.batches.append(TrueBatch(f"B{number:03}", tray.precinct, size + empty - extra, empty, extra, size))
    problems = [*[("torn", "duplicated")] * 5, ("blank-read", "hand-counted"), ("jam", "fed-after-all")]
    batches = [batch for tray in trays for batch in tray.batches]
    for i, (cause, outcome) in enumerate(problems):
        batch = batches[(3 * i + 1) % len(batches)]
        batch.aside.append((2 + 3 * len(batch.aside), cause, outcome))
    for batch in batches:
        if batch.extra:  # both ballots of that envelope wait until the board decides that they count
            batch.aside += [(batch.ballots - back, "two-in-one", "fed-after-all") for back in (1, 0)]
    plain = [batch for i, batch in enumerate(batches) if i > 4 and not batch.aside]
    if len(plain) > 1:  # a larger board: a tabulator that goes down, and a ballot of another precinct
        plain[0].parted = f"B{len(batches) + 1:03}"
        plain[1].stray = second if plain[1].precinct == first else first
    return BoardTruth(place, found, trays, {t.id: dict.fromkeys((first, second), 0) for t in place.tabulators})


def sizes(ballots: int) -> Sequence[int]:
    """Batches of 25; a rest of fewer than half a batch goes to the one before."""
    found = [BATCH] * (ballots // BATCH)
    rest = ballots % BATCH
    if rest and found and rest * 2 < BATCH:
        found[-1] += rest
    elif rest:
        found.append(rest)
    return found
