"""What every test may lean on: nightly tests left out of the daily run, the folder of published standards and open data beside the clone, and PINs that cost little."""

from pathlib import Path

import pytest
from fpdf.fonts import TTFFont
from fpdf.line_break import CurrentLine
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
    if not hasattr(Rule, "_parse_rule") or not hasattr(
        Rule, "_compile_builder"
    ):  # private: another Werkzeug is only slower
        yield
        return
    compiled, kept = Rule.compile, {}

    def once(self):
        key = self.rule, self.subdomain, self.host, str(self.defaults), self.merge_slashes, self.map.host_matching
        if key not in kept:
            compiled(self)
            builders = self._build.__func__, self._build_unknown.__func__  # functions of the rule they are asked for
            kept[key] = self._parts, self._trace, self._converters, frozenset(self.arguments), builders
        self._parts, self._trace, self._converters, arguments, builders = kept[key]
        self.arguments = set(arguments)
        self._build, self._build_unknown = (builder.__get__(self, None) for builder in builders)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Rule, "compile", once)
        yield


@pytest.fixture(scope="session", autouse=True)
def lines_measured_once():
    """fpdf measures a line anew at each of its letters: what it found for the letters before is kept, and the same sum goes on from there. Yields fpdf's own."""
    whole = CurrentLine.width

    def begun(fragment) -> list | None:
        """[letters, how many are measured, their sum, widths by letter, points, units a point]; None where it is no plain text."""
        font = fragment.font
        spaced = fragment.char_spacing or fragment.font_stretching != 100 or fragment.text_shaping_parameters
        if spaced or not isinstance(font, TTFFont) or font.is_symbol:
            return None
        font.biggest_size_pt = max(font.biggest_size_pt, fragment.font_size_pt)
        return [fragment.characters, 0, 0, font.cw, fragment.font_size_pt, fragment.k]

    def width(line) -> float:
        total = 0.0
        for fragment in line.fragments:
            known = fragment.__dict__.get("measured")
            if known is None or known[0] is not fragment.characters or known[1] > len(known[0]):
                known = fragment.__dict__["measured"] = begun(fragment)
            if known is None:
                return whole.fget(line)
            letters, done, found, widths, points, k = known
            for letter in letters[done:]:
                found += widths[ord(letter)]
            known[1], known[2] = len(letters), found
            total += found * points * 0.001 / k
        return total

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(CurrentLine, "width", property(width))
        yield whole


@pytest.fixture
def real_cost():
    """PINs and check words as the product makes them: for what was stored, for other processes and for the cost itself."""
    before = (verifier.MEMORY_KIB, verifier.PASSES), (check_words.MEMORY_KIB, check_words.PASSES)
    _costs(*REAL)
    yield
    _costs(*before)
