"""Writes webapp/pages/PAGES.md: each module with pages, its addresses, and its own first line. Run with `python tests/house/pages_page.py`."""

import ast
from pathlib import Path

PAGES = Path(__file__).resolve().parents[2] / "webapp" / "pages"
FILE = PAGES / "PAGES.md"
HEAD = """# Every page, by room

Written by `python tests/house/pages_page.py` from the modules themselves; a test compares. `+` marks an address that also takes a form.

| module | addresses | what it is |
|---|---|---|
"""


def addresses(module: ast.Module) -> list[str]:
    """The addresses that a module's blueprint answers, in order; `+` behind one that takes a form."""
    found: dict[str, set[str]] = {}
    for node in ast.walk(module):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            for one in node.decorator_list:
                if (
                    isinstance(one, ast.Call)
                    and isinstance(one.func, ast.Attribute)
                    and one.func.attr in ("get", "post", "route")
                ):
                    if one.args and isinstance(one.args[0], ast.Constant) and str(one.args[0].value).startswith("/"):
                        found.setdefault(str(one.args[0].value), set()).add(one.func.attr)
    return [address + ("+" if "get" in how and "post" in how else "") for address, how in found.items()]


def page() -> str:
    """The whole file."""
    rows = []
    for path in sorted(PAGES.glob("*/**/*.py")):
        module = ast.parse(path.read_text(encoding="utf-8"))
        if found := addresses(module):
            says = (ast.get_docstring(module) or "").partition("\n")[0].replace("|", "\\|")
            rows.append(f"| `{path.relative_to(PAGES).as_posix()}` | `{'  '.join(found)}` | {says} |\n")
    return HEAD + "".join(rows)


if __name__ == "__main__":
    FILE.write_text(page(), encoding="utf-8")
