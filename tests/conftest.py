"""What every test may lean on: the folder of published standards and open data beside the clone, and PINs that cost little."""

from pathlib import Path

import pytest

from tests.matrix import ALL
from webapp.gate import verifier

BESIDE = Path(__file__).resolve().parents[2] / "shared"
REAL_COST = verifier.MEMORY_KIB, verifier.PASSES


@pytest.fixture
def shared():
    """A file of the folder `../shared`; the test is skipped where that folder is absent."""

    def find(path: str) -> Path:
        found = BESIDE / path
        if not found.exists():
            pytest.skip(f"{path} is not here: the folder ../shared with standards and open data is absent")
        return found

    return find


@pytest.fixture(scope="session", autouse=True)
def cheap_pins():
    """Verifiers of PINs are made with little memory, but for `python3 tests --all`: most tests are about what is kept, not about its price."""
    if not ALL:
        verifier.MEMORY_KIB, verifier.PASSES = 64, 1
    yield
    verifier.MEMORY_KIB, verifier.PASSES = REAL_COST


@pytest.fixture
def real_cost(monkeypatch):
    """Verifiers as the product makes them."""
    monkeypatch.setattr(verifier, "MEMORY_KIB", REAL_COST[0])
    monkeypatch.setattr(verifier, "PASSES", REAL_COST[1])
