"""What ships: every library named with bounds and no other, a lock file without addresses, every file of `static/` known, and only words of the product."""

import re
import sys
import tomllib
from fnmatch import fnmatch

import pytest

from tests.house.tree import DEMO, ROOT, TESTS, WEBAPP, imports, name, texts

PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
LIBRARIES = PROJECT["project"]["dependencies"]
OF_THE_TESTS = PROJECT["project"]["optional-dependencies"]["test"]
LOCK = (ROOT / "requirements.lock").read_text(encoding="utf-8").replace(" \\\n", "")
LOCKED = [line.partition(" ")[0] for line in LOCK.splitlines()]
CALLED = {
    "PIL": "pillow",
    "argon2": "argon2-cffi",
    "axe_playwright_python": "axe-playwright-python",
    "flask_wtf": "flask-wtf",
    "fontTools": "fonttools",
    "fpdf": "fpdf2",
    "itsdangerous": "flask",
    "jinja2": "flask",
    "markupsafe": "flask",
    "werkzeug": "flask",
    "sqlite_utils": "sqlite-utils",
    "zxingcpp": "zxing-cpp",
    "xdist": "pytest-xdist",
}
"""Where a library is imported under another name than it is installed by; the parts of Flask come with it."""

NOT_IMPORTED = {
    "tzdata": "time zones for a laptop without them",
    "ruff": "run by tests/house/test_style.py",
    "mypy": "run by tests/house/test_style.py",
}
OWN = {"webapp", "demo_precinct", "tests", "static", "code_grid"}  # code_grid: the decoder is started by its path
STATIC = {
    "await_admission.js",
    "live.js",
    "offline.js",
    "camera.js",
    "cycling_code.js",
    "desk_reach.js",
    "held_entries.js",
    "held_codes.js",
    "icon-192.png",
    "icon-512.png",
    "icon-maskable-192.png",
    "icon-maskable-512.png",
    "ledger.css",
    "list_rows.js",
    "mark.svg",
    "outbox.js",
    "page.js",
    "page_drafts.js",
    "capability_probe.js",
    "qr.js",
    "tablet_memory.js",
    "refresh.js",
    "refused_entries.js",
    "store.js",
    "worker.js",
    "pictures/balance.png",
    "pictures/intake.png",
    "pictures/now.png",
    "pictures/signed-by-two.png",
    "type/OFL.txt",
    "type/bold.ttf",
    "type/regular.ttf",
    "type/text-ext.woff2",
    "type/text.woff2",
}
ELSEWHERE = re.compile(
    "|".join(
        (
            r"/wo" + r"rk/",
            r"/ro" + r"ot/",
            r"/ho" + r"me/\w",
            r"(?<![\w.])/tm" + r"p/",
            r"\btran" + r"script",
            r"\bseed doc" + r"ument",
            r"\bsub-?ag" + r"ent",
        )
    ),
    re.IGNORECASE,
)
ONLY_A_MACHINE = re.compile(r"\b(invalid|oops|successfully)\b", re.IGNORECASE)


def installed_by(line: str) -> str:
    return re.split(r"[<>=\[; ]", line)[0].strip().lower().replace("_", "-")


def used(paths) -> set[str]:
    """The libraries these files import, by the name they are installed by."""
    tops = {module.split(".")[0] for path in paths for module in imports(path)} - set(sys.stdlib_module_names) - OWN
    return {CALLED.get(top, top).lower().replace("_", "-") for top in tops}


@pytest.mark.parametrize("line", LIBRARIES + OF_THE_TESTS)
def test_each_library_has_a_lower_and_an_upper_bound(line):
    assert re.search(r">=\d", line) and (re.search(r"<\d", line) or installed_by(line) == "tzdata"), (
        "tzdata is a calendar, not a version: it has no upper bound"
    )


def test_each_library_imported_is_named_and_each_named_is_imported():
    product, tests = set(map(installed_by, LIBRARIES)), set(map(installed_by, OF_THE_TESTS))
    local = {path.stem for path in TESTS} | {path.parent.name for path in TESTS}
    assert used(WEBAPP + DEMO) - product == set()
    assert product - used(WEBAPP + DEMO) - set(NOT_IMPORTED) == set()
    assert used(TESTS) - product - tests - local == set()
    assert tests - used(TESTS) - set(NOT_IMPORTED) == set()


def test_the_lock_file_pins_every_library_with_hashes_and_holds_no_address():
    pinned = re.compile(r"[A-Za-z0-9_.-]+==[0-9A-Za-z.]+( ; sys_platform == \"win32\")?( +--hash=sha256:[0-9a-f]{64})+")
    assert [line for line in LOCK.splitlines() if not pinned.fullmatch(line)] == []
    assert set(map(installed_by, LIBRARIES + OF_THE_TESTS)) - set(map(installed_by, LOCKED)) == set()
    assert "tapeseal" not in map(installed_by, LOCKED)
    assert "setuptools" in map(installed_by, LOCKED), "what builds the project is held to a hash, too"
    bootstrap = (ROOT / "demo_precinct" / "bootstrap.py").read_text(encoding="utf-8")
    assert "--require-hashes" in bootstrap and "--no-build-isolation" in bootstrap


def test_every_file_of_static_is_known_here_and_named_for_builders():
    found = {
        path.relative_to(ROOT / "static").as_posix()
        for path in (ROOT / "static").rglob("*")
        if path.is_file() and path.suffix not in (".py", ".pyc", ".md")
    }
    assert found == STATIC
    told = (ROOT / "webapp" / "pages" / "README.md").read_text(encoding="utf-8")
    assert [file for file in sorted(STATIC) if f"`{file}`" not in told] == []


def test_every_file_the_product_reads_is_packed_with_it():
    packed = PROJECT["tool"]["setuptools"]["package-data"]
    for package in ("webapp", "demo_precinct", "static"):
        here = [
            path.relative_to(ROOT / package).as_posix()
            for path in (ROOT / package).rglob("*")
            if path.is_file() and path.suffix not in (".py", ".pyc", ".md")
        ]
        assert [
            path for path in here if not any(fnmatch(path, pattern.replace("**/", "*")) for pattern in packed[package])
        ] == []


def test_no_text_speaks_of_anything_but_the_product():
    assert {
        name(path): found for path in texts() if (found := ELSEWHERE.findall(path.read_text(encoding="utf-8")))
    } == {}


def test_no_page_says_what_only_a_machine_would():
    pages = [*(ROOT / "webapp").rglob("*.html"), *(ROOT / "webapp").rglob("*.toml")]
    # of write-ins "invalid" is the trade's own figure
    own = re.compile(r'aria-invalid|:invalid|name = "invalid"')
    wrong = {
        name(path): found
        for path in pages
        if (found := ONLY_A_MACHINE.findall(own.sub("", path.read_text(encoding="utf-8"))))
    }
    assert wrong == {}
