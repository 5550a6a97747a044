"""`python3 tests [--all] [--county] [pytest's own words]`: every test on a fresh machine with Python alone, the fast ones first, a few files at a time.

`--all` runs every case of each matrix and the tests marked `nightly`, at the real cost of a PIN (a quarter of an hour more). `--county` rehearses every place of both counties of open results instead of a few of each.
"""

import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))

from demo_precinct.bootstrap import ready  # noqa: E402 - the folder above must be found first

ready()

BROWSERS = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome")
MEMORY_DISK = Path("/dev/shm")  # on Linux: files in memory
ROOMY = 8_000_000_000  # bytes free there; a run writes about 2 GB and leaves 0.6 GB until it ends
FAST_FIRST = (
    "house",
    "people",
    "place",
    "checklist",
    "balance",
    "board",
    "canvass",
    "merging",
    "deck",
    "archive",
    "day",
    "plausibility",
    "record",
    "stick",
    "drills",
    "gate",
    "packet",
    "nights",
    "fuzz",
    "serving",
    "office",
    "paper",
    "pages",
    "rehearsal",
    "browser",
)


def browser() -> None:
    """Find a browser for the browser tests, or get one where the system lets us; else say in one sentence what to install."""
    if any(map(shutil.which, BROWSERS)) or _own_browser():
        return
    if shutil.which("apt-get") and hasattr(os, "geteuid") and os.geteuid() == 0:
        print("Installing chromium for the browser tests.", flush=True)
        quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
        subprocess.run(["apt-get", "update"], **quiet)
        subprocess.run(
            ["apt-get", "install", "-y", "chromium", "chromium-headless-shell", "libnss3-tools"], **quiet
        )  # the second costs less a page, the third trusts a certificate
    if not any(map(shutil.which, BROWSERS)):
        subprocess.run(
            [sys.executable, "-m", "playwright", "install", "chromium"],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
    if not any(map(shutil.which, BROWSERS)) and not _own_browser():
        print(
            "No browser was found, so the browser tests are left out: install the package chromium (or run `playwright install chromium`) to run them.",
            flush=True,
        )


def _own_browser() -> bool:
    """Whether Playwright has a browser of its own."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as started:
        return Path(started.chromium.executable_path).exists()


def main(words: list[str]) -> int:
    if "--county" in words:
        words.remove("--county")
        os.environ["TAPESEAL_COUNTY"] = "1"
    if "--all" in words:
        words.remove("--all")
        os.environ["TAPESEAL_ALL"] = "1"
    browser()
    os.chdir(ROOT)
    named = any(not word.startswith("-") and (ROOT / word).exists() for word in words)
    folders = [] if named else [f"tests/{name}" for name in _in_order()]
    side_by_side = (
        []
        if named or any(word.startswith("-n") for word in words)
        else ["-n", str(_processes()), "--dist", "loadfile", "--no-loadscope-reorder"]
    )
    command = [sys.executable, "-m", "pytest", *folders, *side_by_side, *words]
    with _temporary() as folder:
        if side_by_side:
            _prepared(folders, _environment(folder))
        return subprocess.run(command, env=_environment(folder)).returncode


def _prepared(folders: list[str], environment: dict[str, str]) -> None:
    """In a fresh clone: what pytest makes of each file's asserts is made once and kept beside it, each half by one process, or every process of the run
    would make all of it."""
    if any((ROOT / "tests" / "house" / "__pycache__").glob("*-pytest-*.pyc")):
        return
    quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL, "env": environment}
    look = [sys.executable, "-m", "pytest", "--collect-only", "-qq"]
    for half in [subprocess.Popen([*look, *folders[at::2]], **quiet) for at in (0, 1)]:
        half.wait()


def _processes() -> int:
    """Four on two cores: a test waits for a browser, a laptop, a second signature or a clock for about half of its time."""
    return min(4, (os.cpu_count() or 1) + 2)


@contextmanager
def _temporary() -> Iterator[Path | None]:
    """A folder in memory for what tests write, taken away at the end; None where the system has none or it is small, or where TMPDIR names another."""
    if "TMPDIR" in os.environ or not MEMORY_DISK.is_dir() or shutil.disk_usage(MEMORY_DISK).free < ROOMY:
        yield None
        return
    with tempfile.TemporaryDirectory(prefix="tapeseal-", dir=MEMORY_DISK, ignore_cleanup_errors=True) as folder:
        yield Path(folder)


def _environment(temporary: Path | None) -> dict[str, str]:
    """Of this process, with this folder for what is temporary, and what Python compiles is kept: a run starts some hundred processes, and each would
    compile the product anew."""
    here = {key: value for key, value in os.environ.items() if key != "PYTHONDONTWRITEBYTECODE"}
    return here | ({"TMPDIR": str(temporary)} if temporary else {})


def _in_order() -> list[str]:
    """Folders of tests, the fast ones first; a folder nobody ordered comes last."""
    have = [
        folder.name
        for folder in sorted((ROOT / "tests").iterdir())
        if folder.is_dir() and any(folder.glob("test_*.py"))
    ]
    return [name for name in FAST_FIRST if name in have] + [name for name in have if name not in FAST_FIRST]


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
