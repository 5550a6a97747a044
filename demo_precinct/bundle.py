"""`python3 demo_precinct --bundle DIR`: everything that a laptop without internet needs, in one folder for a stick.

The folder holds the project, the wheels of its libraries for Windows, macOS and Linux (the versions of requirements.lock, each held against its
hash when it is fetched and again when it is installed), a script to start with for each system, and a page that says what to do. Python itself
is not in it. In such a folder `bootstrap.py` installs from `wheels/` and asks no network.
"""

import hashlib
import importlib.metadata
import re
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).resolve().parents[1]
PROJECT = ("README.md", "DEVELOPERS.md", "pyproject.toml", "requirements.lock", "webapp", "static", "demo_precinct")
PYTHONS = ("3.11", "3.12", "3.13")
NEEDED = "requirements.txt"  # in wheels/: what is installed there, with hashes
BUILDS = ("setuptools",)  # what installs the project itself


@dataclass(frozen=True, slots=True)
class System:
    """One kind of laptop: what it is called, and how the package index names it (PEP 508 markers, platform tags)."""

    name: str
    markers: dict[str, str]
    tags: tuple[str, ...]


SYSTEMS = (
    System(
        "Windows",
        {"platform_system": "Windows", "sys_platform": "win32", "os_name": "nt", "platform_machine": "AMD64"},
        ("win_amd64",),
    ),
    System(
        "macOS, Apple processor",
        {"platform_system": "Darwin", "sys_platform": "darwin", "os_name": "posix", "platform_machine": "arm64"},
        ("macosx_14_0_arm64",),
    ),
    System(
        "macOS, Intel processor",
        {"platform_system": "Darwin", "sys_platform": "darwin", "os_name": "posix", "platform_machine": "x86_64"},
        ("macosx_14_0_x86_64",),
    ),
    System(
        "Linux",
        {"platform_system": "Linux", "sys_platform": "linux", "os_name": "posix", "platform_machine": "x86_64"},
        (
            "manylinux_2_28_x86_64",
            "manylinux_2_27_x86_64",
            "manylinux_2_17_x86_64",
            "manylinux2014_x86_64",
            "manylinux1_x86_64",
        ),
    ),
)


def needed(system: System, python: str, extras: Iterable[str] = ()) -> frozenset[str]:
    """Canonical names of all libraries that the project needs on this system with this Python, those of its libraries included."""
    where = system.markers | {
        "python_version": python,
        "python_full_version": f"{python}.0",
        "implementation_name": "cpython",
        "platform_python_implementation": "CPython",
    }
    found: set[str] = set()
    asked = [("tapeseal", frozenset(extras))]
    while asked:
        name, of = asked.pop()
        for one in _requires(name):
            if one.marker and not any(one.marker.evaluate({**where, "extra": extra}) for extra in ("", *of)):
                continue
            if canonicalize_name(one.name) not in found:
                found.add(canonicalize_name(one.name))
                asked.append((one.name, frozenset(one.extras)))
    return frozenset(found - {"pip"})


@cache
def _requires(name: str) -> Sequence[Requirement]:
    try:
        return tuple(map(Requirement, importlib.metadata.requires(name) or ()))
    except importlib.metadata.PackageNotFoundError:
        return ()  # one of another system, not installed here; it is named in the lock file or the bundle is refused


def locked() -> dict[str, str]:
    """Canonical name -> its lines in requirements.lock, hashes included."""
    text = (ROOT / "requirements.lock").read_text(encoding="utf-8")
    parts = re.findall(r"^[^\s#].*(?:\n[ \t]+.*)*", text, re.M)
    return {canonicalize_name(Requirement(part.split("\\")[0].split("--hash")[0]).name): part for part in parts}


Fetch = Callable[[Path, System, str, Path], None]


def collect(
    folder: Path, fetch: Fetch, systems: Sequence[System] = SYSTEMS, pythons: Sequence[str] = PYTHONS
) -> list[str]:
    """Fill the new or empty `folder`; returns what was collected and what is not to be had, a line each. Raises ValueError with a sentence where
    nothing can be. `fetch(asked, system, python, wheels)` puts what the file `asked` names into `wheels`, or raises ValueError."""
    if folder.exists() and any(folder.iterdir()):
        raise ValueError(f"{folder} is not empty. Give a new folder.")
    lock = locked()
    names = sorted({name for system in systems for python in pythons for name in needed(system, python)} | set(BUILDS))
    if lacking := [name for name in names if name not in lock]:
        raise ValueError(f"requirements.lock does not name {', '.join(lacking)}.")
    wheels = folder / "wheels"
    wheels.mkdir(parents=True)
    (wheels / NEEDED).write_text("\n".join(lock[name] for name in names) + "\n", encoding="utf-8", newline="\n")
    whole, missing = _fetched(wheels, fetch, lock, systems, pythons)
    if not whole:
        raise ValueError(f"No system is complete. {missing[0]}")
    for name in PROJECT:
        _copy(ROOT / name, folder / name)
    for name, text in scripts().items():
        (folder / name).write_bytes(text.encode())
        (folder / name).chmod(0o755)
    (folder / "READ-ME-FIRST.txt").write_text(page(whole, missing), encoding="utf-8", newline="\r\n")
    _sums(folder)
    count = f"{len(names)} libraries, {len(list(wheels.glob('*.whl')))} wheels."
    return [count, *(f"Complete: {one}." for one in whole), *(f"Not complete: {one}" for one in missing)]


def _fetched(
    wheels: Path, fetch: Fetch, lock: dict[str, str], systems: Sequence[System], pythons: Sequence[str]
) -> tuple[list[str], list[str]]:
    """Which systems and Pythons are complete; which are not, with why."""
    whole, missing = [], []
    for system in systems:
        for python in pythons:
            asked = wheels / "asked.txt"
            parts = [_unmarked(lock[name]) for name in sorted(needed(system, python) | set(BUILDS))]
            asked.write_text("\n".join(parts) + "\n", encoding="utf-8")
            try:
                fetch(asked, system, python, wheels)
                whole.append(f"{system.name}, Python {python}")
            except ValueError as wrong:
                missing.append(f"{system.name}, Python {python}: {wrong}")
            asked.unlink()
    return whole, missing


def _sums(folder: Path) -> None:
    """SHA256SUMS over every file of the folder."""
    files = sorted(path for path in folder.rglob("*") if path.is_file())
    lines = [
        f"{hashlib.sha256(path.read_bytes()).hexdigest()}  {path.relative_to(folder).as_posix()}" for path in files
    ]
    (folder / "SHA256SUMS").write_text("\n".join(lines) + "\n", encoding="utf-8", newline="\n")


def _unmarked(part: str) -> str:
    """The lines of one library without its marker: the marker speaks of the system that fetches, not of the one that is fetched for."""
    head, _, hashes = part.partition(" \\\n")
    return f"{head.partition(' ; ')[0]} \\\n{hashes}"


def _copy(source: Path, target: Path) -> None:
    if source.is_dir():
        shutil.copytree(source, target, ignore=shutil.ignore_patterns("__pycache__", "*.pyc", "*.egg-info"))
    else:
        shutil.copyfile(source, target)


def download(asked: Path, system: System, python: str, wheels: Path) -> None:
    """Fetch what `asked` names for this system and Python, each against its hash. Raises ValueError where something is not to be had."""
    tags = [word for tag in system.tags for word in ("--platform", tag)]
    print(f"Fetching for {system.name}, Python {python}.", flush=True)
    command = [
        sys.executable,
        "-m",
        "pip",
        "download",
        "--quiet",
        "--disable-pip-version-check",
        "--no-deps",
        "--require-hashes",
    ]
    done = subprocess.run(
        [
            *command,
            "--only-binary=:all:",
            "--implementation",
            "cp",
            "--python-version",
            python,
            *tags,
            "--dest",
            str(wheels),
            "-r",
            str(asked),
        ],
        capture_output=True,
        text=True,
    )
    if done.returncode:
        said = [line for line in done.stderr.splitlines() if line.startswith("ERROR")]
        raise ValueError(said[-1].removeprefix("ERROR: ")[:300] if said else "the wheels could not be fetched.")


def scripts() -> dict[str, str]:
    """File name -> what a double click runs."""
    shell = '#!/bin/sh\ncd "$(dirname "$0")" || exit 1\nexec python3 demo_precinct "$@"\n'
    windows = "@echo off\r\ncd /d %~dp0\r\npy -3 demo_precinct %*\r\npause\r\n"
    return {"start-windows.bat": windows, "start-macos.command": shell, "start-linux.sh": shell}


def page(whole: Sequence[str], missing: Sequence[str]) -> str:
    """READ-ME-FIRST.txt."""
    here = "\n".join(f"   {one}" for one in whole)
    not_here = "".join(f"\n   {one}" for one in missing)
    not_complete = f"\nNot complete, do not use this folder there:{not_here}" if missing else ""
    return f"""Tape & Seal, for a laptop without internet

1. Copy this whole folder from the stick to the laptop. Do not run it on the stick.
2. The laptop needs Python in one of the versions below, 64 bit. To see what it has, type in a terminal: python3 --version (on Windows: py -3 --version).
   Python is not in this folder. Get it from python.org before the day, with internet.
3. Start the demo, practice data only:
   Windows: double-click start-windows.bat
   macOS: right-click start-macos.command, then Open. The first time macOS asks whether you trust it.
   Linux: sh start-linux.sh
   The first start takes a minute: it installs the libraries from the folder wheels, each held against its hash. No network is used.
4. It prints two addresses. Open the first one in the browser of this laptop. Ctrl-C in the terminal ends the demo.
5. For a real election, after step 3 was done once: README.md, "A real election". Where it says tapeseal, type
   .venv/bin/tapeseal (on Windows: .venv\\Scripts\\tapeseal).

The libraries are here for:
{here}{not_complete}

To check that nothing changed on the way: sha256sum -c SHA256SUMS (macOS: shasum -a 256 -c SHA256SUMS).
The start on Windows and macOS was not tried by those who made this folder; on Linux it was. Try it on your laptops before the day.
"""


def main(words: Sequence[str]) -> int:
    """0 when the folder is complete, 2 with a sentence when it is not."""
    if len(words) != 1:
        print("Say which folder the bundle goes into: python3 demo_precinct --bundle DIR", file=sys.stderr)
        return 2
    try:
        print(*collect(Path(words[0]), download), sep="\n")
    except (ValueError, OSError) as wrong:
        print(wrong, file=sys.stderr)
        return 2
    print(f"{words[0]} is complete. Read READ-ME-FIRST.txt in it.")
    return 0
