"""Scripts in tests/benchmarks: each is loaded as by its path, so that a name which moved is found before somebody measures."""

import re
import runpy
import sys

import pytest

from tests.house.tree import ROOT

SCRIPTS = sorted((ROOT / "tests" / "benchmarks").glob("*.py"))


@pytest.mark.parametrize("script", SCRIPTS, ids=lambda path: path.stem)
def test_a_benchmark_finds_all_that_it_takes_from_the_house(script, monkeypatch):
    """What it would measure is not run here."""
    monkeypatch.setattr(sys, "path", [str(script.parent), *(path for path in sys.path if path not in ("", str(ROOT)))])
    named = runpy.run_path(str(script), run_name="loaded")
    assert named["__doc__"].strip(), "what it measures"
    takes = re.search(r"^(?:from|import) (?:tests|demo_precinct)\b", script.read_text(encoding="utf-8"), re.MULTILINE)
    assert str(ROOT) in sys.path or not takes, "started by its path, it finds what is not installed"


def test_each_is_in_the_table_of_figures():
    table = (ROOT / "tests" / "benchmarks" / "README.md").read_text(encoding="utf-8")
    assert [script.name for script in SCRIPTS if script.name not in table] == []
