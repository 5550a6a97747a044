"""The page of names says what is so: each name under *now* is in its module, and no module under *was* is left."""

import ast
import re

from tests.house.tree import ROOT, tree_of

PAGE = ROOT / "tests" / "house" / "NAMES.md"
MODULE = re.compile(r"`([\w/]+\.(?:py|js))`(?:: ((?:\w+, )*\w+))?")


def rows() -> list[tuple[str, str]]:
    """(was, now) of each row of the first table."""
    table = PAGE.read_text(encoding="utf-8").partition("## Was and now")[2].partition("## Kept")[0]
    cells = [line.strip("| ").split(" | ") for line in table.splitlines() if line.startswith("|")]
    return [(was, now) for was, now in cells[2:] if now]


def at(path: str):
    return ROOT / path if path.startswith(("static/", "demo_precinct/")) else ROOT / "webapp" / path


def defined(path) -> set[str]:
    """Names of the classes and functions at the top of a module."""
    return {node.name for node in tree_of(path).body if isinstance(node, ast.ClassDef | ast.FunctionDef)}


def test_every_name_now_is_in_its_module():
    lost = [
        f"{path}: {one}"
        for _, now in rows()
        for path, names in MODULE.findall(now)
        for one in ([path] if not at(path).exists() else set(names.split(", ")) - defined(at(path)) if names else ())
    ]
    assert len(rows()) > 50 and lost == []


def test_no_module_of_before_is_left():
    before = [path for was, _ in rows() for path in re.findall(r"[\w/]+\.(?:py|js)\b", was)]
    assert len(before) > 60 and [path for path in before if at(path).exists()] == []
    assert all(MODULE.search(now) for _, now in rows())


def test_the_page_can_be_read_in_one_sitting():
    assert PAGE.read_text(encoding="utf-8").count("\n") <= 120
