"""A gate of a practice place with four officials, and a monotonic clock that stands still until it is pushed."""

from dataclasses import dataclass, field
from pathlib import Path

import pytest

from tests.people.conftest import CAST, place_of
from webapp.gate import Gate, keys, verifier

MINUTE = 60_000
DAWN = 1_793_696_400_000  # ms UTC, the start of a quarter hour


@dataclass
class Seconds:
    now: float = 1000.0

    def __call__(self) -> float:
        return self.now


@dataclass
class Kept:
    """A gate in a folder: `codes` as on the slips, `again` shuts and opens it as after a restart, `dump` is every byte of its files."""

    folder: Path
    codes: dict[str, str]
    seconds: Seconds = field(default_factory=Seconds)
    gate: Gate = None

    def again(self) -> Gate:
        if self.gate:
            self.gate.close()
        self.gate = Gate.open(self.folder / "gate.db", self.seconds)
        return self.gate

    def dump(self) -> bytes:
        return b"".join(file.read_bytes() for file in sorted(self.folder.glob("gate.db*")))


@pytest.fixture
def quick(monkeypatch):
    """Argon2 with little memory, by its documented constants: these tests are about tries, not about their price."""
    monkeypatch.setattr(verifier, "MEMORY_KIB", 64)
    monkeypatch.setattr(verifier, "PASSES", 1)


@pytest.fixture
def kept(tmp_path, quick):
    made = Kept(tmp_path, keys.create_practice(tmp_path, place_of(*CAST)))
    made.again()
    yield made
    made.gate.close()


@pytest.fixture
def gate(kept):
    return kept.gate


@pytest.fixture
def ruiz(gate):
    """Ruiz has the PIN 739152."""
    gate.pins.set("ruiz", "739152")
    return "ruiz"
