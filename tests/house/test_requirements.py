"""The security requirements of tests/REQUIREMENTS.md: each has a row, and each test that a row names is there and bears the requirement's number."""

import re

import pytest

from tests.house.tree import ROOT, functions_of_tests

PAGE = (ROOT / "tests" / "REQUIREMENTS.md").read_text(encoding="utf-8")
ROWS = dict(re.findall(r"^\| (R\d+) \| .*? \| (.*) \|$", PAGE, re.MULTILINE))
WANTED = [f"R{n}" for n in (*range(1, 12), 15, 19, 20, *range(22, 33), 36, 37)]
FUNCTIONS = functions_of_tests()


@pytest.mark.parametrize("requirement", WANTED)
def test_each_requirement_names_tests_that_are_there(requirement):
    named = re.findall(r"`(test_\w+)`", ROWS.get(requirement, ""))
    assert named, f"{requirement} has no row with a test in tests/REQUIREMENTS.md"
    assert [name for name in named if name not in FUNCTIONS] == []
    assert any(name.startswith(f"test_{requirement.lower()}_") for name in named)


def test_each_test_that_bears_a_number_stands_in_its_row():
    numbered = {name: f"R{match[1]}" for name in FUNCTIONS if (match := re.match(r"test_r(\d+)_", name))}
    assert {name: row for name, row in numbered.items() if f"`{name}`" not in ROWS.get(row, "")} == {}
