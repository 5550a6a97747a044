"""A fresh machine with Python alone: make the project's own environment beside it, once, and go on inside. Standard library only."""

import hashlib
import importlib.util
import os
import re
import subprocess
import sys
import tempfile
import venv
from collections.abc import Sequence
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
    libraries = re.findall(r"^[^\s#].*(?:\n[ \t]+.*)*", _lock().read_text(encoding="utf-8"), re.M)
    newer_pip = [one for one in libraries if one.startswith("pip==")]
    others = [one for one in libraries if not one.startswith("pip==")]
    carried = _carried_pip() if newer_pip else None
    try:
        if not python().exists():
            venv.create(HOME, with_pip=carried is None)
        # A newer pip first: the one that comes with Python 3.11 takes ten seconds of a processor more to choose among a library's versions.
        _put_in([newer_pip], carried)
        _put_in([others[::2], others[1::2]])
        # What builds the project itself is in the lock file too: nothing is fetched here that no hash was held against.
        subprocess.run([*_pip(), "--no-build-isolation", "--editable", str(ROOT)], check=True)
    except (subprocess.CalledProcessError, OSError) as wrong:
        sys.exit(
            f"The environment could not be made ({wrong}). Look whether this computer reaches the Python package index and whether {HOME.name} may be written, then run the command again."
        )


def _carried_pip() -> Path | None:
    """The pip that Python carries for new environments, run as it lies there; None where a system keeps it elsewhere."""
    ensurepip = importlib.util.find_spec("ensurepip")
    lying = Path(ensurepip.origin).parent.glob("_bundled/pip-*.whl") if ensurepip and ensurepip.origin else ()
    return next((wheel / "pip" for wheel in lying), None)


def _pip(carried: Path | None = None) -> list[str]:
    """The command that installs, without what it depends on: the lock file names all of that. Python compiles what it imports; pip would compile
    everything."""
    by = [str(carried)] if carried else ["-m", "pip"]
    command = [str(python()), *by, "install", "--quiet", "--disable-pip-version-check", "--no-compile", "--no-deps"]
    if BUNDLED.exists():  # a folder for a laptop without internet: see bundle.py
        command += ["--no-index", "--find-links", str(BUNDLED.parent)]
    return command


def _put_in(parts: Sequence[Sequence[str]], carried: Path | None = None) -> None:
    """Install each part of the lock file, all parts at once: half of the time goes by waiting for the package index. Raises CalledProcessError."""
    with tempfile.TemporaryDirectory() as folder:
        started = []
        for at, libraries in enumerate(parts):
            listed = Path(folder) / f"{at}.txt"
            listed.write_text("\n".join(libraries) + "\n", encoding="utf-8")
            if libraries:
                started.append(subprocess.Popen([*_pip(carried), "--require-hashes", "-r", str(listed)]))
        ended = [(one, one.wait()) for one in started]
    for one, code in ended:
        if code:
            raise subprocess.CalledProcessError(code, one.args)


def _go_on_inside() -> None:
    """The same command again, by the environment's own interpreter."""
    command = [str(python()), *sys.argv]
    if os.name == "nt":
        sys.exit(subprocess.run(command).returncode)
    os.execv(command[0], command)
