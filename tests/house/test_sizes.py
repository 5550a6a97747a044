"""Modules one can read in a sitting, functions one can see at a glance, file names after things on the table."""

import ast

from tests.house.tree import DEMO, TESTS, WEBAPP, name, nodes_of, tree_of

LINES_OF_A_MODULE = 300
LINES_OF_A_FUNCTION = 60
ALONE = {"webapp/archive/verify.py"}
"""Leaves the house in every archive and must be one file, so that a stranger can read and run it without us."""

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


def test_modules_and_functions_stay_small():
    modules = WEBAPP + DEMO
    long = {
        name(path): lines
        for path in modules
        if (lines := path.read_text(encoding="utf-8").count("\n")) > LINES_OF_A_MODULE
    }
    assert set(long) <= ALONE, long
    long = [
        f"{name(path)}:{node.lineno} {node.name}"
        for path in modules
        for node in nodes_of(path)
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
        and (node.end_lineno or 0) - node.lineno + 1 > LINES_OF_A_FUNCTION
    ]
    assert long == []


def test_a_module_opens_with_its_why():
    modules = [path for path in WEBAPP + DEMO if path.stat().st_size]
    assert [name(path) for path in modules if not ast.get_docstring(tree_of(path))] == []


def test_no_file_is_named_after_nothing():
    assert [name(path) for path in WEBAPP + DEMO + TESTS if path.stem in NAMES_OF_NOTHING] == []
