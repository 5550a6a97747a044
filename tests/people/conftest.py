"""The standing cast of these tests, and a record that is told in short lines."""

from dataclasses import dataclass, replace
from datetime import date, time

import pytest

from webapp.precinct.day.people import People
from webapp.precinct.place.place import Official, Party, Place, Rules
from webapp.record.entry import Entry, Signer

CAST = (
    Official("ruiz", "Ana Ruiz", "A", "chair"),
    Official("okoye", "Bem Okoye", "B", "witness"),
    Official("lind", "Cora Lind", "A", "inspector"),
    Official("sato", "Dai Sato", "U", "inspector"),
    Official("vane", "Eli Vane", "U", "inspector"),
)


def place_of(*officials: Official, rules: Rules = Rules()) -> Place:
    return Place(
        format=1,
        mode="practice",
        edition="1",
        id="R7",
        name="Ropewalk Hall",
        county="Sable County",
        election="General election",
        date=date(2026, 11, 3),
        zone="UTC",
        opens=time(7),
        closes=time(20),
        host="r7.example",
        parties=(
            Party("A", "Alder League", "Alder"),
            Party("B", "Bittern Union", "Bittern"),
            Party("U", "No party", "None"),
        ),
        rules=rules,
        officials=officials,
        precincts=(),
    )


@dataclass
class Roll:
    """People with their place; `tell` folds one more entry, at a minute of the day (ms UTC)."""

    people: People
    rules: Rules
    number: int = 0

    def tell(self, kind: str, signed: str = "", /, minute: int = 0, texts: dict | None = None, **body) -> int:
        self.number += 1
        signers = tuple(Signer(person, "", "", "pin") for person in signed.split())
        self.people.add(
            Entry(
                b"r" * 16,
                1,
                self.number,
                b"i" * 16,
                kind,
                body,
                0,
                minute * 60_000,
                minute * 60_000,
                0,
                "L1",
                1,
                None,
                signers,
            ),
            texts or {},
        )
        return self.number

    def swear(self, *people: str, minute: int = 0) -> "Roll":
        for person in people:
            self.tell("oath", person, minute, person=person, row=1)
        return self

    def of(self, *people: str) -> tuple[Official, ...]:
        return tuple(self.people.official(person) for person in people)


@pytest.fixture
def roll():
    """The cast before anybody has sworn; other rules or people may be given."""

    def make(*officials: Official, different="party") -> Roll:
        rules = replace(Rules(), different=different)
        return Roll(People(place_of(*(officials or CAST), rules=rules)), rules)

    return make


@pytest.fixture
def sworn(roll):
    """The whole cast under oath."""
    return roll().swear(*(o.id for o in CAST))
