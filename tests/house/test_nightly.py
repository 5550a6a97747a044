"""A test that runs only with --all names the test of the daily run that holds the same claim; that one is there and runs daily."""

import ast
import re

from tests.house.tree import TESTS, name, nodes_in


def is_nightly(node: ast.expr) -> bool:
    return isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "nightly"


def nightly_of(tree: ast.Module) -> tuple[set[str], list[ast.Call]]:
    """(functions of this file that run with --all only, every mark in it, also those of single cases)."""
    functions = [node for node in nodes_in(tree) if isinstance(node, ast.FunctionDef)]
    return (
        {one.name for one in functions if any(map(is_nightly, one.decorator_list))},
        [node for node in nodes_in(tree) if isinstance(node, ast.Call) and is_nightly(node)],
    )


def held_by(mark: ast.Call) -> list[str]:
    """The tests a mark names; [] where they are not written out as text."""
    given = [*mark.args, *(word.value for word in mark.keywords if word.arg == "held_by")]
    texts = given[0].elts if given and isinstance(given[0], ast.List) else given
    return [one.value for one in texts if isinstance(one, ast.Constant) and isinstance(one.value, str)]


def wrong(files: dict[str, ast.Module]) -> list[str]:
    """One sentence for each mark that names no test, one that is not there, or one that does not run daily itself."""
    nightly = {path: nightly_of(tree) for path, tree in files.items()}
    found = []
    for path, (_, marks) in nightly.items():
        for mark in marks:
            where, named = f"{path}:{mark.lineno}", held_by(mark)
            found += [] if named else [f"{where} names no test"]
            for test in named:
                file, _, case = test.partition("::")
                function = case.partition("[")[0]
                there = (
                    {node.name for node in files[file].body if isinstance(node, ast.FunctionDef)}
                    if file in files
                    else ()
                )
                if not function.startswith("test_") or function not in there:
                    found.append(f"{where} names {test}, which is not there")
                elif function in nightly[file][0]:
                    found.append(f"{where} names {test}, which itself runs with --all only")
    return found


def test_each_nightly_test_names_one_that_is_there_and_runs_daily():
    texts = {name(path): path.read_text(encoding="utf-8") for path in TESTS}
    marked = {file: text for file, text in texts.items() if "nightly(" in text}
    named = {file for text in marked.values() for file in re.findall(r"tests/\w+/\w+\.py", text)}
    assert wrong({file: ast.parse(texts[file]) for file in named & set(texts) | set(marked)}) == []


def test_a_name_that_holds_nothing_is_seen():
    text = """
@nightly(held_by="tests/a/test_b.py::test_daily")
def test_good(): ...
def test_daily(): ...
@nightly(held_by=["tests/a/test_b.py::test_daily", "tests/a/test_b.py::test_gone"])
def test_one(): ...
@nightly(held_by="tests/a/test_b.py::test_one")
def test_two(): ...
@pytest.mark.parametrize("n", [1, pytest.param(2, marks=nightly([]))])
def test_three(n): ...
"""
    assert [one.partition(" names ")[2] for one in wrong({"tests/a/test_b.py": ast.parse(text)})] == [
        "tests/a/test_b.py::test_gone, which is not there",
        "tests/a/test_b.py::test_one, which itself runs with --all only",
        "no test",
    ]
