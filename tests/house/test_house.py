"""The house's own habits: arrows downward only, small modules, every command and word where it belongs."""

import ast
import re
import tomllib
from pathlib import Path

import pytest

from webapp import commands

ROOT = Path(__file__).resolve().parents[2]
MODULES = sorted((ROOT / "webapp").rglob("*.py")) + sorted((ROOT / "demo_precinct").rglob("*.py"))
LEVELS = {"record": 0, "precinct": 1, "board": 2, "deck": 2, "packet": 3, "gate": 4, "paper": 4, "office": 5, "pages": 6, "commands": 6}
PURE = ("precinct", "packet", "board", "deck")
IMPURE = {"flask", "sqlite3", "sqlite_utils", "socket", "subprocess", "threading", "time", "os", "requests", "http"}
BELOW_ALL = {"webapp", "webapp.settings", "webapp.serving", "webapp.bridge", "webapp.door"}


def room_of(module: str) -> str:
    parts = module.split(".")
    return parts[1] if len(parts) > 1 and parts[0] == "webapp" and parts[1] in LEVELS else ""


def imports(path: Path) -> list[str]:
    found = []
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found += [name.name for name in node.names]
        elif isinstance(node, ast.ImportFrom) and node.module:
            found += [node.module, *(f"{node.module}.{name.name}" for name in node.names)]
    return found


def own(path: Path) -> str:
    return room_of(".".join(path.relative_to(ROOT).with_suffix("").parts))


@pytest.mark.parametrize("path", [p for p in MODULES if own(p)], ids=lambda p: str(p.relative_to(ROOT)))
def test_arrows_point_downward_only(path):
    room = own(path)
    upward = [name for name in imports(path) if room_of(name) and LEVELS[room_of(name)] > LEVELS[room]]
    assert upward == []
    if room == "packet":                                # the one look below the rules: bytes, and who signed
        assert all(name.startswith(("webapp.record.cbor", "webapp.record.entry", "webapp.record")) for name in imports(path) if room_of(name) == "record")


@pytest.mark.parametrize("path", [p for p in MODULES if own(p) in PURE], ids=lambda p: str(p.relative_to(ROOT)))
def test_rules_know_no_web_no_store_and_no_clock(path):
    assert [name for name in imports(path) if name.split(".")[0] in IMPURE] == []


def test_only_the_record_room_opens_a_record():
    openers = [p for p in MODULES if own(p) not in ("record", "gate", "office") and "sqlite3" in imports(p)]
    assert [p.name for p in openers if p.parts[-2] != "demo_precinct"] == []


@pytest.mark.parametrize("path", MODULES, ids=lambda p: str(p.relative_to(ROOT)))
def test_modules_and_functions_stay_small(path):
    text = path.read_text(encoding="utf-8")
    assert text.count("\n") <= 300
    long = [(n.name, n.end_lineno - n.lineno + 1) for n in ast.walk(ast.parse(text)) if isinstance(n, ast.FunctionDef | ast.AsyncFunctionDef) and n.end_lineno - n.lineno >= 60]
    assert long == []


def test_each_command_is_named_for_its_users_and_its_builders():
    import importlib
    import pkgutil

    names = [m.NAME for found in pkgutil.iter_modules(commands.__path__) if hasattr(m := importlib.import_module(f"webapp.commands.{found.name}"), "NAME")]
    readme, developers = (ROOT / "README.md").read_text(), (ROOT / "DEVELOPERS.md").read_text()
    assert len(names) >= 8
    assert [name for name in names if f"`{name} " not in readme and f"`tapeseal {name}" not in readme] == []
    assert [name for name in names if name not in developers] == []


def test_dependencies_have_a_lower_and_an_upper_bound_and_the_lock_file_no_address():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    for line in [*project["dependencies"], *project["optional-dependencies"]["test"]]:
        assert ">=" in line and ("<" in line.replace(">=", "") or line.startswith("tzdata")), line
    lock = (ROOT / "requirements.lock").read_text()
    assert "http" not in lock and "@" not in lock and "file:" not in lock
    locked = {line.split("==")[0].lower().replace("_", "-") for line in lock.splitlines()}
    wanted = {re.split(r"[<>=]", line)[0].strip().lower().replace("_", "-") for line in [*project["dependencies"], *project["optional-dependencies"]["test"]]}
    assert wanted - locked == set()


def test_no_text_says_what_only_a_machine_would():
    banned = re.compile(r"\b(invalid|oops|successfully)\b", re.IGNORECASE)
    for path in [*(ROOT / "webapp" / "pages" / "templates").rglob("*.html"), *(ROOT / "webapp" / "precinct" / "steps").glob("*.toml")]:
        words = re.sub(r'aria-invalid|:invalid|name = "invalid"', "", path.read_text(encoding="utf-8"))      # of write-ins "invalid" is the trade's own figure
        assert not banned.search(words), path.name
