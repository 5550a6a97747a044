"""A fresh machine with Python alone: make the project's own environment beside it, once, and go on inside. Standard library only."""

import hashlib
import os
import subprocess
import sys
import venv
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
HOME = ROOT / ".venv"
BUNDLED = ROOT / "wheels" / "requirements.txt"
OLDEST = (3, 11)


def python() -> Path:
    """The interpreter of the environment."""
    return HOME / ("Scripts/python.exe" if os.name == "nt" else "bin/python")


def ready() -> None:
    """Go on only inside an environment that holds what the lock file names; make or mend it first where it does not."""
    if sys.version_info < OLDEST:
        sys.exit(
            f"Tape & Seal needs Python {OLDEST[0]}.{OLDEST[1]} or newer; this is {sys.version.split()[0]}. Install a newer Python and run the same command with it."
        )
    wanted = _wanted()
    stamp = HOME / "installed-for"
    if not python().exists() or not stamp.exists() or stamp.read_text() != wanted:
        _install()
        stamp.write_text(wanted)
    if Path(sys.prefix).resolve() != HOME.resolve():
        _go_on_inside()


def _wanted() -> str:
    """What the environment was made for: changes with the project file, the lock file and the Python."""
    text = (ROOT / "pyproject.toml").read_bytes() + _lock().read_bytes()
    return hashlib.sha256(text + sys.version.encode()).hexdigest()


def _lock() -> Path:
    """What is installed: in a bundle its own list, else requirements.lock."""
    return BUNDLED if BUNDLED.exists() else ROOT / "requirements.lock"


def _install() -> None:
    print("Making the environment in .venv; this takes a minute, once.", file=sys.stderr, flush=True)
    try:
        if not python().exists():
            venv.create(HOME, with_pip=True)
        pip = [str(python()), "-m", "pip", "install", "--quiet", "--disable-pip-version-check"]
        if BUNDLED.exists():  # a folder for a laptop without internet: see bundle.py
            pip += ["--no-index", "--find-links", str(BUNDLED.parent)]
        subprocess.run([*pip, "--require-hashes", "-r", str(_lock())], check=True)
        # What builds the project itself is in the lock file too: nothing is fetched here that no hash was held against.
        subprocess.run([*pip, "--no-deps", "--no-build-isolation", "--editable", str(ROOT)], check=True)
    except (subprocess.CalledProcessError, OSError) as wrong:
        sys.exit(
            f"The environment could not be made ({wrong}). Look whether this computer reaches the Python package index and whether {HOME.name} may be written, then run the command again."
        )


def _go_on_inside() -> None:
    """The same command again, by the environment's own interpreter."""
    command = [str(python()), *sys.argv]
    if os.name == "nt":
        sys.exit(subprocess.run(command).returncode)
    os.execv(command[0], command)
