"""What a run makes once, for each of its processes or for all of them, however many folders of tests lean on it: a played day, a rehearsed night."""

import os
import pickle
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import pytest

Made = TypeVar("Made")
PATIENCE = 300.0  # seconds
_MADE = pytest.StashKey[dict[str, Any]]()


def once(
    config: pytest.Config, name: str, make: Callable[[], Made], close: Callable[[Made], None] | None = None
) -> Made:
    """What `make` gave when this name was first asked for; closed when the run ends."""
    made = config.stash.setdefault(_MADE, {})
    if name not in made:
        made[name] = make()
        if close:
            config.add_cleanup(lambda: close(made[name]))
    return made[name]


def once_a_run(factory: pytest.TempPathFactory, name: str, make: Callable[[Path], Made]) -> Made:
    """What `make` gave for a new folder: one process of the run makes it, the others wait. Nobody changes what lies there; it is copied first."""
    base = factory.getbasetemp()
    home = (base.parent if "PYTEST_XDIST_WORKER" in os.environ else base) / f"once-{name}"
    made_already, failed = home / "made", home / "failed"
    try:
        home.mkdir()
    except FileExistsError:
        end = time.monotonic() + PATIENCE
        while not made_already.exists():
            assert not failed.exists() and time.monotonic() < end, f"the other process did not make the {name}"
            time.sleep(0.1)
        return pickle.loads(made_already.read_bytes())
    try:
        made = make(home / "it")
        (home / "making").write_bytes(pickle.dumps(made))
    except BaseException:
        failed.touch()
        raise
    (home / "making").rename(made_already)
    return made
