"""Every test asserts something, itself or through a helper of the tests that does: a check that cannot fail is found out by name."""

import ast
from collections import defaultdict
from functools import cache
from pathlib import Path

from tests.house.tree import TESTS, functions_in, name, nodes_in

RAISING = {"raises", "warns", "fail", "deprecated_call"}  # of pytest
EXPECTING = {"expect"}  # of Playwright


def asserts(function: ast.AST) -> bool:
    """Whether it asserts by itself: `assert`, an `AssertionError` that it raises, `pytest.raises` and the like, or Playwright's `expect`."""
    for node in nodes_in(function):
        if isinstance(node, ast.Assert) and not isinstance(node.test, ast.Constant):
            return True
        if isinstance(node, ast.Raise) and "AssertionError" in ast.unparse(node):
            return True
        if isinstance(node, ast.Call) and called(node) in RAISING | EXPECTING:
            return True
    return False


def called(node: ast.Call) -> str:
    """The last name of what is called: `night.take_in(...)` -> take_in."""
    return getattr(node.func, "attr", getattr(node.func, "id", ""))


def calls(function: ast.AST) -> set[str]:
    return {called(node) for node in nodes_in(function) if isinstance(node, ast.Call)}


@cache
def asserting(path: Path) -> frozenset[str]:
    """Names of a file's functions that assert, by themselves or through another one of the file."""
    own = [one for one in functions_in(path) if not one.name.startswith("test_")]
    found = {one.name for one in own if asserts(one)}
    while more := {one.name for one in own if one.name not in found and calls(one) & found}:
        found |= more
    return frozenset(found)


@cache
def in_all_files() -> frozenset[str]:
    """Names that assert in every file of the tests that has a function of that name: what a test may call in another file."""
    where = defaultdict(list)
    for path in TESTS:
        for own in {one.name for one in functions_in(path)}:
            where[own].append(own in asserting(path))
    return frozenset(own for own, everywhere in where.items() if all(everywhere))


def helpers(path: Path) -> frozenset[str]:
    """Names by which a test of this file asserts: its own helpers, and those that assert wherever they are written."""
    own = {one.name for one in functions_in(path)}
    return asserting(path) | (in_all_files() - own)


def silent(path: Path) -> list[str]:
    """Tests of a file that neither assert nor call a helper that does."""
    tests = [one for one in functions_in(path) if one.name.startswith("test_") and not asserts(one)]
    known = helpers(path) if tests else frozenset()
    return [f"{name(path)}:{one.lineno} {one.name}" for one in tests if not calls(one) & known]


def test_every_test_asserts_something():
    assert [one for path in TESTS if path.name.startswith("test_") for one in silent(path)] == []


def test_a_test_that_asserts_nothing_is_found_out():
    assert not asserts(ast.parse("def test_it():\n    window.get('/now')\n"))
    assert asserts(ast.parse("def test_it():\n    with pytest.raises(Stuck):\n        window.get('/now')\n"))
    assert asserts(ast.parse("def test_it():\n    assert window.get('/now').status == 200\n"))
    assert calls(ast.parse("with pytest.raises(Stuck):\n    window.get('/now')")) == {"raises", "get"}
    assert "silent" not in helpers(Path(__file__)) and len(in_all_files()) > 30
