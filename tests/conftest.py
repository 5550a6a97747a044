"""What every test may lean on: nightly tests left out of the daily run, the folder of published standards and open data beside the clone, and PINs that cost little."""

import gc
from pathlib import Path

import pytest
from werkzeug.routing import Rule

from tests.matrix import ALL
from webapp.gate import verifier
from webapp.record import check_words

BESIDE = Path(__file__).resolve().parents[2] / "shared"
CHEAP = (64, 1)  # KiB, passes
REAL = (verifier.MEMORY_KIB, verifier.PASSES), (check_words.MEMORY_KIB, check_words.PASSES)


def pytest_collection_modifyitems(config, items):
    """Tests marked `nightly` run with --all only; daily they are left out, not skipped."""
    left_out = [] if ALL else [item for item in items if item.get_closest_marker("nightly")]
    if left_out:
        config.hook.pytest_deselected(items=left_out)
        items[:] = [item for item in items if item not in left_out]


def pytest_collection_finish():
    """What was imported and collected stays until the end: the collector of garbage need not walk over it again and again."""
    gc.collect()
    gc.freeze()


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
def cheap_hashes():
    """PINs and check words are worked out with little memory, but for `python3 tests --all`: most tests are about what is kept, not about its price."""
    if not ALL:
        _costs(CHEAP, CHEAP)
    yield
    _costs(*REAL)


def _costs(pins: tuple[int, int], words: tuple[int, int]) -> None:
    verifier.MEMORY_KIB, verifier.PASSES = pins
    check_words.MEMORY_KIB, check_words.PASSES = words
    check_words.check_words.cache_clear()


@pytest.fixture(scope="session", autouse=True)
def routes_built_once():
    """The same addresses are built anew for every app of every test: what Werkzeug makes of an address is kept from app to app."""
    build = getattr(Rule, "_compile_builder", None)  # a private name: a Werkzeug without it is only slower
    if build is None:
        yield
        return
    kept = {}

    def once(self, append_unknown=True):
        key = (self.rule, append_unknown, str(self.defaults), str(self._trace))
        if key not in kept:
            kept[key] = build(self, append_unknown)  # a function of the rule it is asked for: it holds none itself
        return kept[key]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Rule, "_compile_builder", once)
        yield


@pytest.fixture
def real_cost():
    """PINs and check words as the product makes them: for what was stored, for other processes and for the cost itself."""
    before = (verifier.MEMORY_KIB, verifier.PASSES), (check_words.MEMORY_KIB, check_words.PASSES)
    _costs(*REAL)
    yield
    _costs(*before)
