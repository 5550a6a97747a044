"""Each failure and each bad input stands in tests/stick/FAILURES.md with tests that exist."""

import re

from tests.house.tree import ROOT, functions_of_tests

PAGE = (ROOT / "tests" / "stick" / "FAILURES.md").read_text(encoding="utf-8")


def test_each_failure_and_each_bad_input_names_tests_that_are_there():
    rows = re.findall(r"^\| ([FB]\d+) \|(.+)\|$", PAGE, re.MULTILINE)
    assert [name for name, _ in rows] == [*(f"F{n}" for n in range(1, 17)), *(f"B{n}" for n in range(1, 16))]
    assert [name for name, told in rows if "`test_" not in told] == []
    functions = functions_of_tests()
    assert set(re.findall(r"`(test_\w+)`", PAGE)) - functions == set()
    scripts = {path.name for path in (ROOT / "tests" / "benchmarks").glob("*.py")}
    assert set(re.findall(r"`(\w+\.py)`", PAGE)) <= scripts
