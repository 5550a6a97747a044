"""What kind of polling place this is, and what its people are asked to write down.

Places differ: one tabulator or ten, one style or four, provisional voters inside the poll book or outside it, stubs or
none. A night can only be explained from the figures its place keeps, so the mix here decides how hard the nights are.
The shares are our own judgement (no source); only the closeness of places to a single tabulator is common practice.
"""

from __future__ import annotations

from dataclasses import dataclass
from random import Random

PAPER, CARD, COPY, ABSENTEE = "paper", "card", "copy", "absentee"


@dataclass(frozen=True)
class Place:
    """One place for one day; every share is of voters, every time is in hours after midnight."""

    ballots: tuple[tuple[str, str], ...]  # the (precinct, style) pairs voted here
    scope: str  # rows are written by "precinct", by "style", or not at all: ""
    tabulators: tuple[str, ...]
    pack: int  # sheets in a pack
    voters: int
    kinds: tuple[str, ...]  # the set-aside kinds on the form, 0 counts
    provisional_in_book: bool
    absentee_in_book: bool
    absentees: int  # fed here after the close
    cards: float  # share of voters who use the printing device
    has: frozenset[str]  # what is written down, see WRITTEN
    opens: float = 7.0
    closes: float = 20.0

    def asks_for(self, what: str) -> bool:
        return what in self.has

    def on_first_box(self) -> int:
        """How many tabulators stand on the box that is written down apart from them; 0 where bins stand with each."""
        if not self.asks_for("bins"):
            return 0
        return 2 if self.asks_for("shared box") else int(self.asks_for("emptied"))


# How often a place writes each part down.
WRITTEN = {
    "stubs": 0.6,
    "bins": 0.75,
    "whole bins": 0.2,  # one key alone is the whole count
    "counters": 0.95,
    "lifetimes": 0.75,
    "readings": 0.7,
    "envelopes counted": 0.15,
    "resupply apart": 0.3,
    "sent": 0.15,
    "packs counted": 0.3,
    "absentees": 0.15,
    "cards": 0.15,
    "copies": 0.04,
    "slips": 0.08,
    "unused counted twice": 0.2,
    "zero rows": 0.5,
    "kinds unscoped": 0.1,  # in a place with rows elsewhere
    "emergency fed": 0.04,
    "readings of stock": 0.1,
    "containers": 0.15,
    "swapped": 0.05,  # a memory moved to a spare unit in mid-day: two runs, one tape
    "fed again": 0.04,  # everything of one tabulator was fed again on another after the close
    "subtract": 0.04,  # a jam counted twice, seen and allowed for
    "no tape yet": 0.03,
    "by hand": 0.03,  # no tabulator at all
    "shared box": 0.05,  # the first two tabulators stand on one ballot box
    "emptied": 0.07,  # paper taken out of the first box in mid-day
    "seals": 0.2,
    "cancelled": 0.15,
    "held back": 0.2,
}


def _tabulators(rng: Random) -> tuple[str, ...]:
    n = rng.choices((1, 2, 3, 4, rng.randint(5, 10)), (60, 24, 8, 5, 3))[0]
    return tuple(f"T{i + 1}" for i in range(n))


def _ballots(rng: Random) -> tuple[tuple[str, str], ...]:
    shape = rng.choices(("one", "styles", "precincts"), (65, 15, 20))[0]
    if shape == "one":
        return (("P1", "1A"),)
    if shape == "styles":
        return tuple(("P1", f"1{c}") for c in "ABCD"[: rng.randint(2, 4)])
    return tuple((f"P{i}", f"{i}A") for i in range(1, rng.randint(3, 5)))


def _kinds(rng: Random) -> tuple[str, ...]:
    always = ["spoiled", "provisional"]
    often = [
        k
        for k, share in (
            ("emergency", 0.85),
            ("left", 0.7),
            ("taken", 0.7),
            ("found", 0.15),
            ("spoiled-not-reissued", 0.1),
            ("set-apart", 0.04),
        )
        if rng.random() < share
    ]
    return tuple(always + often)


# What cannot stand beside another part.
NEVER_WITH = {
    "by hand": {
        "bins",
        "copies",
        "cards",
        "absentees",
        "readings",
        "emergency fed",
        "swapped",
        "fed again",
        "subtract",
        "no tape yet",
        "shared box",
        "emptied",
    },
    "emergency fed": {"shared box", "emptied"},
    "shared box": {"fed again"},
    "no tape yet": {"bins", "fed again", "subtract", "copies"},
    "readings": {"cancelled"},
}


def _has(rng: Random) -> frozenset[str]:
    has = {part for part, share in WRITTEN.items() if rng.random() < share}
    for part, others in NEVER_WITH.items():
        if part in has:
            has -= others
    return frozenset(has)


def a_place(rng: Random) -> Place:
    """Draw a place; the same state of rng gives the same place."""
    ballots = _ballots(rng)
    scope = ""
    if len(ballots) > 1 and rng.random() < 0.6:
        scope = "precinct" if ballots[0][0] != ballots[1][0] else "style"
    has = _has(rng)
    tabulators = ("B1",) if "by hand" in has else _tabulators(rng)
    if len(tabulators) < 2:
        has -= {"shared box"}
    if scope or len(tabulators) < 2:
        has -= {"fed again"}
    if scope:
        has -= {"subtract", "cancelled"}
    return Place(
        ballots=ballots,
        scope=scope,
        tabulators=tabulators,
        pack=rng.choices((100, 50, 25, 40), (70, 15, 10, 5))[0],
        voters=int(rng.choices((rng.uniform(30, 150), rng.uniform(150, 600), rng.uniform(600, 1400)), (25, 60, 15))[0]),
        kinds=_kinds(rng),
        provisional_in_book=rng.random() < 0.4,
        absentee_in_book=rng.random() < 0.5,
        absentees=rng.randint(1, 40) if "absentees" in has else 0,
        cards=rng.uniform(0.02, 0.2) if "cards" in has else 0.0,
        has=has,
    )
