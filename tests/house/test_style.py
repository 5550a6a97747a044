"""One formatter, one set of style rules, and no type that is not as it is said."""

import subprocess
import sys

import pytest

from tests.house.tree import ROOT


def run(*words: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run([sys.executable, "-m", *words], cwd=ROOT, capture_output=True, text=True)


@pytest.mark.parametrize("words", [("check",), ("format", "--check")], ids=" ".join)
def test_code_keeps_to_one_style(words):
    done = run("ruff", *words, "--quiet", "webapp", "demo_precinct", "tests")
    assert done.returncode == 0, done.stdout


def test_every_type_is_as_it_is_said():
    done = run("mypy", "webapp", "demo_precinct")
    assert done.returncode == 0, done.stdout[-3000:] + done.stderr
