"""What every test may lean on: nightly tests left out of the daily run, the folder of published standards and open data beside the clone, and PINs that cost little."""

import gc
import sys
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


@pytest.hookimpl(optionalhook=True)  # of pytest-xdist
def pytest_xdist_make_scheduler(config, log):
    """All files of `house` go to one process: most of them look at the tree of every module, and one process makes those trees once."""
    if config.getvalue("dist") != "loadfile":
        return None
    from xdist.scheduler import LoadFileScheduling

    class ByFile(LoadFileScheduling):
        def _split_scope(self, nodeid: str) -> str:
            return "tests/house" if nodeid.startswith("tests/house/") else super()._split_scope(nodeid)

    return ByFile(config, log)


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
    made = {"_parts", "_trace", "_converters", "arguments", "_build", "_build_unknown"}  # private names
    compiled, kept = Rule.compile, {}

    def once(self):
        key = (self.rule, self.subdomain, self.merge_slashes, self.map.host_matching, str(self.defaults))
        if key not in kept:
            compiled(self)
            if not made <= vars(self).keys():  # another Werkzeug is only slower
                return
            kept[key] = self
        for name in made:
            value = getattr(kept[key], name)
            setattr(self, name, value.__func__.__get__(self) if name.startswith("_build") else value)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Rule, "compile", once)
        yield


@pytest.fixture(scope="session", autouse=True)
def cases_without_our_constants():
    """Random cases are drawn without the constants of our own modules, but for `python3 tests --all`: to read all modules for them takes each process seconds."""
    drawn_by = sys.modules.get(
        "hypothesis.internal.conjecture.providers"
    )  # a private name: another Hypothesis is only slower
    with pytest.MonkeyPatch.context() as patch:
        if drawn_by and not ALL:
            patch.setattr(drawn_by, "is_local_module_file", lambda path: False, raising=False)
        yield


@pytest.fixture
def real_cost():
    """PINs and check words as the product makes them: for what was stored, for other processes and for the cost itself."""
    before = (verifier.MEMORY_KIB, verifier.PASSES), (check_words.MEMORY_KIB, check_words.PASSES)
    _costs(*REAL)
    yield
    _costs(*before)
