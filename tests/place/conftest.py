"""The standing cast: one small place file that is right, and a way to spoil one line of it."""

from pathlib import Path

import pytest

from webapp.gate import kit, verifier

HERE = Path(__file__).parent

SMALL = """\
format = 1
mode = "live"
edition = "1"

[place]
id = "R7"
name = "Ropewalk Hall"
county = "Sable County"
election = "General election"
date = 2026-11-03
zone = "America/Chicago"
opens = "07:00"
closes = "20:00"
host = "r7.sable.example"

[rules]
provisional_in_poll_book = false
found = "spoiled-not-reissued"

[[parties]]
id = "A"
name = "Alder League"
word = "Alder"

[[parties]]
id = "B"
name = "Bittern Union"
word = "Bittern"

[[officials]]
id = "q1"
name = "Zoe Angstrom"
party = "A"
role = "chair"

[[officials]]
id = "q2"
name = "Imre Vadasz"
party = "B"
role = "witness"

[[precincts]]
id = "P1"
name = "Ropewalk"

[[styles]]
id = "S1"
precincts = ["P1"]
contests = ["MAYOR"]

[[contests]]
id = "MAYOR"
title = "Mayor"
n = 1
choices = [
    { id = "K", label = "Kit Rowan" },
    { id = "L", label = "Lena Marl" },
]

[[boxes]]
id = "X"

[[tabulators]]
id = "T1"
serial = "0099"
box = "X"

[[stock]]
style = "S1"
received = 500

[[seals]]
first = "0096"
last = "0103"

[[applied]]
at = "T1-memory"
number = "0031"

[[containers]]
id = "C1"
holds = "voted ballots"
ballots = true
"""


@pytest.fixture
def quick(monkeypatch):
    """Verifiers and kits made with little memory: these tests are about what is kept, not about its price."""
    monkeypatch.setattr(verifier, "MEMORY_KIB", 64)
    monkeypatch.setattr(verifier, "PASSES", 1)
    monkeypatch.setattr(kit, "MEMORY_KIB", 64)


@pytest.fixture
def stored():
    """The bytes of a stored example."""
    return lambda name: (HERE / "stored" / name).read_bytes()
