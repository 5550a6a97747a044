"""One formatter, one set of style rules, and types that may only get better."""

import re
import subprocess
import sys
from collections import Counter

import pytest

from tests.house.tree import ROOT

TYPE_ERRORS = 38  # what mypy still finds; this number may only fall


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
    by_file = Counter(re.findall(r"^(\S+\.py):\d+: error", done.stdout, re.MULTILINE))
    git = subprocess.run(["git", "diff", "--name-only", "HEAD~1"], cwd=ROOT, capture_output=True, text=True)
    changed = git.stdout.split()
    newest = [f"{name}: {by_file[name]}" for name in changed if by_file[name]]
    assert count <= TYPE_ERRORS, (
        f"{count} type errors, at most {TYPE_ERRORS}. In files of the last change: {newest}\n{done.stdout[-3000:]}"
    )
