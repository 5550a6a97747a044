"""Modules one can read in a sitting, functions one can see at a glance, file names after things on the table."""

import ast

import pytest

from tests.house.tree import DEMO, TESTS, WEBAPP, name, tree_of

LINES_OF_A_MODULE = 450
LINES_OF_A_FUNCTION = 70
NAMES_OF_NOTHING = {
    "utils",
    "util",
    "helpers",
    "helper",
    "manager",
    "service",
    "services",
    "handler",
    "handlers",
    "common",
    "misc",
    "data",
    "base",
}


@pytest.mark.parametrize("path", WEBAPP + DEMO, ids=name)
def test_modules_and_functions_stay_small(path):
    assert path.read_text(encoding="utf-8").count("\n") <= LINES_OF_A_MODULE
    functions = (node for node in ast.walk(tree_of(path)) if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef))
    assert [node.name for node in functions if node.end_lineno - node.lineno + 1 > LINES_OF_A_FUNCTION] == []


@pytest.mark.parametrize("path", [path for path in WEBAPP + DEMO if path.stat().st_size], ids=name)
def test_a_module_opens_with_its_why(path):
    assert ast.get_docstring(tree_of(path)), "the first line says what this file is for"


@pytest.mark.parametrize("path", WEBAPP + DEMO + TESTS, ids=name)
def test_no_file_is_named_after_nothing(path):
    assert path.stem not in NAMES_OF_NOTHING
