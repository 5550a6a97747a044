"""The tree as its own tests look at it: which modules there are, what each imports, which texts lie beside them."""

import ast
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


def name(path: Path) -> str:
    """A path as a person would say it, from the top of the tree."""
    return path.relative_to(ROOT).as_posix()


@cache
def tree_of(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"))


@cache
def imports(path: Path) -> tuple[str, ...]:
    """Every module a file imports, at its top or inside a function; `from a import b` gives `a.b`. Beside a test, its own folder's files are left out."""
    found = []
    for node in ast.walk(tree_of(path)):
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


def texts() -> list[Path]:
    """Every text file of the clone."""
    inside = (path for path in ROOT.rglob("*") if not ABSENT_FROM_THE_CLONE & set(path.relative_to(ROOT).parts))
    return sorted(path for path in inside if path.is_file() and path.suffix in TEXTS)
