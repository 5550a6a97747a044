"""One formatter, one set of style rules, and types that may only get better."""

import re
import subprocess
import sys

import pytest

from tests.house.tree import ROOT

TYPE_ERRORS = 322  # what mypy still finds; this number may only fall


def run(*words: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run([sys.executable, "-m", *words], cwd=ROOT, capture_output=True, text=True)


@pytest.mark.parametrize("words", [("check",), ("format", "--check")], ids=" ".join)
def test_code_keeps_to_one_style(words):
    done = run("ruff", *words, "--quiet", "webapp", "demo_precinct", "tests")
    assert done.returncode == 0, done.stdout


def test_type_errors_only_fall():
    done = run("mypy", "webapp", "demo_precinct")
    assert done.returncode in (0, 1), done.stderr
    found = re.search(r"Found (\d+) error", done.stdout)
    count = int(found[1]) if found else 0
    assert count <= TYPE_ERRORS, done.stdout[-4000:]
