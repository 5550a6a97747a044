"""Every name that a file takes out of another module is there, at the top or inside a function: what no test happens to call is not found out at the polling place."""

import ast
import importlib
import pkgutil
from collections.abc import Sequence
from functools import cache
from types import ModuleType

from tests.house.tree import DEMO, TESTS, WEBAPP, name, nodes_in, nodes_of

OURS = {"webapp", "demo_precinct", "tests"}
SCRIPTS = [path for path in TESTS if not path.name.startswith("test_")]  # what the run itself does not import


@cache
def there(module: str, attribute: str) -> bool:
    """Whether a module has this name, or is a package with a module of that name."""
    found = importlib.import_module(module)
    return hasattr(found, attribute) or attribute in {
        one.name for one in pkgutil.iter_modules(getattr(found, "__path__", ()))
    }


def taken(nodes: Sequence[ast.AST]) -> list[tuple[int, str, str]]:
    """(line, module of ours, name that is taken out of it): by `from ... import ...`, and by `module.name`."""
    found, known = [], {}
    for node in nodes:
        if isinstance(node, ast.ImportFrom) and node.level == 0 and (node.module or "").split(".")[0] in OURS:
            for one in node.names:
                found.append((node.lineno, node.module or "", one.name))
                if isinstance(value := _value(node.module or "", one.name), ModuleType):
                    known[one.asname or one.name] = value.__name__
    for node in nodes:
        if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name) and node.value.id in known:
            found.append((node.lineno, known[node.value.id], node.attr))
    return found


@cache
def _value(module: str, attribute: str) -> object:
    """What stands under this name; a module is imported for it. None where there is nothing."""
    if (value := getattr(importlib.import_module(module), attribute, None)) is not None:
        return value
    return importlib.import_module(f"{module}.{attribute}") if there(module, attribute) else None


def test_every_name_is_there_that_is_taken_out_of_a_module():
    lost = [
        f"{name(path)}:{line} {module}.{wanted}"
        for path in (*WEBAPP, *DEMO, *SCRIPTS)
        for line, module, wanted in taken(nodes_of(path))
        if not there(module, wanted)
    ]
    assert lost == []


def test_a_name_that_was_moved_is_found_out():
    text = "def run():\n    from webapp.serving.server import PortTaken\n    from demo_precinct import rehearsal\n    rehearsal.nowhere()\n"
    lost = [one for one in taken(nodes_in(ast.parse(text))) if not there(one[1], one[2])]
    assert lost == [(2, "webapp.serving.server", "PortTaken"), (4, "demo_precinct.rehearsal", "nowhere")]
