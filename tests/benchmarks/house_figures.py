"""The size of the house in figures: lines of modules and functions, folders, docstrings, annotations, type errors, circles of imports, copies, tests to code.

python tests/benchmarks/house_figures.py
"""

import ast
import re
import subprocess
import sys
from collections import Counter
from collections.abc import Iterable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.house.tree import DEMO, ROOT, TESTS, WEBAPP, edges, module_of, nodes_of, tree_of  # noqa: E402

COPY = 6  # lines alike, at least
Function = ast.FunctionDef | ast.AsyncFunctionDef


def spread(numbers: Iterable[int]) -> str:
    """Median, 90th per cent and largest."""
    found = sorted(numbers)
    return f"{found[len(found) // 2]} / {found[len(found) * 9 // 10]} / {found[-1]}"


def lines(path: Path) -> int:
    return path.read_text(encoding="utf-8").count("\n")


def functions(paths: Iterable[Path]) -> list[Function]:
    return [node for path in paths for node in nodes_of(path) if isinstance(node, Function)]


def length(function: Function) -> int:
    return (function.end_lineno or function.lineno) - function.lineno + 1


def share(part: int, whole: int) -> str:
    return f"{part} of {whole}, {100 * part / whole:.1f} %"


def documented(paths: Iterable[Path]) -> tuple[str, ...]:
    """Modules, classes, public functions and methods with a docstring."""
    paths = list(paths)
    modules = [tree_of(path) for path in paths if path.stat().st_size]
    classes = [node for path in paths for node in nodes_of(path) if isinstance(node, ast.ClassDef)]
    public = [one for one in functions(paths) if not one.name.startswith("_")]
    return tuple(
        share(sum(bool(ast.get_docstring(one)) for one in some), len(some)) for some in (modules, classes, public)
    )


def annotated(paths: Iterable[Path]) -> tuple[str, str]:
    """Functions that say what they return, arguments that say what they are."""
    found = functions(paths)
    arguments = [
        one
        for function in found
        for one in (*function.args.posonlyargs, *function.args.args, *function.args.kwonlyargs)
        if one.arg not in ("self", "cls")
    ]
    return (
        share(sum(one.returns is not None for one in found), len(found)),
        share(sum(one.annotation is not None for one in arguments), len(arguments)),
    )


def type_errors() -> str:
    done = subprocess.run(
        [sys.executable, "-m", "mypy", "webapp", "demo_precinct"], cwd=ROOT, capture_output=True, text=True
    )
    found = re.search(r"Found (\d+) error", done.stdout)
    return found[1] if found else "0" if done.returncode == 0 else done.stderr.strip()


def circles() -> int:
    """Modules that are met again while their own imports are being walked."""
    graph, walked, found = {module_of(path): edges(path) for path in WEBAPP}, dict[str, bool](), 0

    def walk(module: str) -> None:
        nonlocal found
        if module in walked:
            found += walked[module]
            return
        walked[module] = True
        for other in graph.get(module, ()):
            walk(other)
        walked[module] = False

    for module in graph:
        walk(module)
    return found


def copies(paths: Iterable[Path]) -> int:
    """Runs of lines that stand in two places, with no import and no blank line in them; each run counts once."""
    seen: dict[tuple[str, ...], tuple[int, int]] = {}
    found, inside = 0, set[tuple[int, int]]()
    for file, path in enumerate(paths):
        text = [line.strip() for line in path.read_text(encoding="utf-8").splitlines()]
        text = [line for line in text if line and not line.startswith(("import ", "from ", "#", "@"))]
        for at in range(len(text) - COPY + 1):
            run = tuple(text[at : at + COPY])
            if sum(len(line) > 3 for line in run) < COPY:
                continue
            if run in seen and seen[run][0] != file:
                found += (file, at - 1) not in inside
                inside.add((file, at))
            seen.setdefault(run, (file, at))
    return found


def main() -> None:
    rooms = Counter(path.parent.relative_to(ROOT).as_posix() for path in WEBAPP)
    modules, classes, public = documented([*WEBAPP, *DEMO])
    returns, arguments = annotated([*WEBAPP, *DEMO])
    code, tests = sum(map(lines, [*WEBAPP, *DEMO])), sum(map(lines, TESTS))
    room, most = rooms.most_common(1)[0]
    for name, said in (
        ("module lines, median / 90th / largest", spread(lines(path) for path in WEBAPP if path.stat().st_size)),
        ("of the demo", spread(lines(path) for path in DEMO if path.stat().st_size)),
        ("function lines, median / 90th / largest", spread(map(length, functions(WEBAPP)))),
        ("of the demo", spread(map(length, functions(DEMO)))),
        ("folders deep", max(len(path.relative_to(ROOT).parts) - 1 for path in WEBAPP)),
        ("modules in the fullest room", f"{most} in {room}"),
        ("modules with a docstring", modules),
        ("classes with a docstring", classes),
        ("public functions with a docstring", public),
        ("functions that say what they return", returns),
        ("arguments that say what they are", arguments),
        ("type errors", type_errors()),
        ("circles of imports", circles()),
        (f"copies of {COPY} lines and more between modules", copies(WEBAPP)),
        ("lines of tests to lines of code", f"{tests:,} : {code:,} = {tests / code:.2f}"),
        ("DEVELOPERS.md, bytes", f"{(ROOT / 'DEVELOPERS.md').stat().st_size:,}"),
        ("longest README of a room, lines", max(map(lines, (ROOT / "webapp").rglob("README.md")))),
    ):
        print(f"{name:52}{said}")


if __name__ == "__main__":
    main()
