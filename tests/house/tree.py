"""The tree as its own tests look at it: which modules there are, what each imports, which texts lie beside them."""

import ast
import re
from functools import cache
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
WEBAPP = sorted((ROOT / "webapp").rglob("*.py"))
DEMO = sorted((ROOT / "demo_precinct").rglob("*.py"))
TESTS = sorted((ROOT / "tests").rglob("*.py"))
TEXTS = {".py", ".md", ".toml", ".html", ".css", ".js", ".sql", ".svg", ".lock", ".txt", ".json", ""}
ABSENT_FROM_THE_CLONE = {
    ".git",
    ".venv",
    ".pytest_cache",
    ".hypothesis",
    "__pycache__",
    "build",
    "dist",
    "tapeseal.egg-info",
    "contact-sheet",
    "kept",
}

Function = ast.FunctionDef | ast.AsyncFunctionDef


def name(path: Path) -> str:
    """A path as a person would say it, from the top of the tree."""
    return path.relative_to(ROOT).as_posix()


@cache
def tree_of(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"))


@cache
def nodes_of(path: Path) -> tuple[ast.AST, ...]:
    """Every node of a file, in the order of `nodes_in`."""
    return tuple(nodes_in(tree_of(path)))


@cache
def functions_in(path: Path) -> tuple[Function, ...]:
    """Every function of a file, methods and inner ones too."""
    return tuple(node for node in nodes_of(path) if isinstance(node, Function))


def nodes_in(top: ast.AST) -> list[ast.AST]:
    """A node and every node inside it, in the order of `ast.walk` and in half its time; whether a name is read or written (`ctx`) is left out."""
    found = [top]
    for node in found:
        for field in node._fields:
            value = getattr(node, field, None)
            if isinstance(value, list):
                found += [one for one in value if isinstance(one, ast.AST)]
            elif isinstance(value, ast.AST) and field != "ctx":
                found.append(value)
    return found


def forget() -> None:
    """Give the trees back: some million nodes that every later test of the same process would carry along."""
    tree_of.cache_clear()
    nodes_of.cache_clear()
    functions_in.cache_clear()


@cache
def imports(path: Path) -> tuple[str, ...]:
    """Every module a file imports, at its top or inside a function; `from a import b` gives `a.b`. Beside a test, its own folder's files are left out."""
    found = []
    for node in nodes_of(path):
        if isinstance(node, ast.Import):
            found += [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0 or path.is_relative_to(ROOT / "tests"), (
                f"{name(path)} imports relatively: the arrows cannot be read"
            )
            found += [f"{node.module}.{alias.name}" for alias in node.names if node.level == 0]
    return tuple(found)


def room(module: str) -> str:
    """`webapp.gate.pins` -> `gate`; a module at the top of `webapp` -> its own name; anything else -> empty."""
    parts = module.split(".")
    return parts[1] if len(parts) > 1 and parts[0] == "webapp" else ""


def own_room(path: Path) -> str:
    parts = path.relative_to(ROOT).parts
    return parts[1] if len(parts) > 2 and parts[0] == "webapp" else ""


def own_sub_room(path: Path) -> str:
    """`webapp/precinct/day/hours.py` -> `day`; a module at the top of its room -> empty."""
    parts = path.relative_to(ROOT).parts
    return parts[2] if len(parts) > 3 and parts[0] == "webapp" else ""


def sub_room(module: str, above: str) -> str:
    """The sub-room of `above` that a module is in: `webapp.pages.desk.site.upkeep` in `pages.desk` -> `site`; a module at the top of it, or elsewhere -> empty."""
    inside = module.removeprefix(f"webapp.{above}.")
    return inside.partition(".")[0] if inside != module and "." in inside else ""


def module_of(path: Path) -> str:
    """`webapp/gate/pins.py` -> `webapp.gate.pins`; a package's `__init__.py` -> the package."""
    return ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__")


@cache
def modules() -> frozenset[str]:
    """Dotted names of every module of `webapp`."""
    return frozenset(
        ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__") for path in WEBAPP
    )


@cache
def edges(path: Path) -> tuple[str, ...]:
    """Modules of `webapp` that a file imports at its top or inside a function."""
    found = (module if module in modules() else module.rpartition(".")[0] for module in imports(path))
    return tuple(dict.fromkeys(module for module in found if module in modules()))


def inner_imports(path: Path) -> list[int]:
    """Lines of imports that are not at the top of the file."""
    top = set(map(id, tree_of(path).body))
    return [
        node.lineno for node in nodes_of(path) if isinstance(node, ast.Import | ast.ImportFrom) and id(node) not in top
    ]


def texts() -> list[Path]:
    """Every text file of the clone."""
    inside = (path for path in ROOT.rglob("*") if not ABSENT_FROM_THE_CLONE & set(path.relative_to(ROOT).parts))
    return sorted(path for path in inside if path.is_file() and path.suffix in TEXTS)


@cache
def functions_of_tests() -> frozenset[str]:
    """Names of every function in the files of tests."""
    return frozenset(
        found for path in TESTS for found in re.findall(r"^ *def (\w+)", path.read_text(encoding="utf-8"), re.MULTILINE)
    )
