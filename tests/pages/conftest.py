"""The day, played once; `scene("voting")` is a server on a copy of it."""

import copy
import os
import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from tests.once import once, once_a_run
from tests.pages.scene import Playbook, Scene, StoredDay


@pytest.fixture(scope="session")
def playbook(request, tmp_path_factory):
    """Where several processes run tests, one of them plays the whole day for all; else it is played as far as tests ask."""
    if "PYTEST_XDIST_WORKER" in os.environ:
        return once(request.config, "day", lambda: once_a_run(tmp_path_factory, "day", StoredDay.played))
    return once(request.config, "day", lambda: Playbook(tmp_path_factory.mktemp("day")), Playbook.close)


@contextmanager
def scenes(playbook: Playbook, folder: Path) -> Iterator[Callable[[str], Scene]]:
    """A function: the moment -> a Scene that is being served, its folder inside this one. All are stopped at the end."""
    made = []

    def at(moment: str) -> Scene:
        kept, answers, now = playbook.at(moment)
        home = folder / f"place{len(made)}"
        shutil.copytree(kept, home)
        answers = copy.deepcopy(answers)
        made.append(
            Scene(home, playbook.place, playbook.codes, answers.truth, answers, now, playbook.folder / "office").start()
        )
        return made[-1]

    yield at
    for one in made:
        one.stop()


@pytest.fixture
def scene(playbook, tmp_path):
    """A function: the moment -> a Scene that is being served. Stopped when the test is over."""
    with scenes(playbook, tmp_path) as at:
        yield at


@pytest.fixture(scope="module")
def shared_scene(playbook, tmp_path_factory):
    """As `scene`, but served until the file's tests are over: for tests that only read, or that go on from each other's state."""
    with scenes(playbook, tmp_path_factory.mktemp("shared")) as at:
        yield at
